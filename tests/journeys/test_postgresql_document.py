"""What docs/postgresql.md says of moving a book and putting a backup back, done through the command line."""

from pathlib import Path

import pytest
from book.server import shared
from journeys.firm import Firm


@pytest.fixture
def yard(tmp_path: Path) -> Firm:
    """The boatyard, its payday accepted, its book in a folder."""
    (tmp_path / "yard").mkdir()
    firm = Firm(tmp_path / "yard").set_up()
    firm.accept()
    return firm


def to(yard: Firm, place: str) -> None:
    """The place of the book in the settings."""
    settings = yard.folder / "cheque.toml"
    lines = [
        f'place = "{place}"' if line.startswith("place = ") else line for line in settings.read_text().splitlines()
    ]
    settings.write_text("\n".join(lines) + "\n")


def test_a_book_goes_to_a_server_and_back_in_the_midst_of_a_payday(yard: Firm) -> None:
    url = shared().url()
    yard.print(1, 100501, "--count", "10")
    said = yard.run("book", "move", "book", url)
    assert f'place = "{url}"' in said.err
    assert f"this book has moved to {url}" in yard.run("stock", "list").err
    assert "nothing more is written here" in yard.run("confirm", "1", "--good-count", "10", expect=5).err
    to(yard, url)
    yard.run("confirm", "1", "--good-count", "10")
    yard.print(1, 100511)
    yard.run("confirm", "1", "--good-count", "14")
    yard.run("reconcile", "numbers", "1")
    yard.run("book", "move", url, "home")
    to(yard, "home")
    assert yard.state(100524) == "printed"
    yard.run("book", "verify")
    yard.run("void", "100503", "--paper", "in-hand", "--reason", "wrong hours")
    assert list((yard.folder / "home" / "registers").iterdir())


@pytest.mark.parametrize("on_server", [False, True])
def test_a_backup_is_put_back_and_every_number_up_to_the_head_accounted_for(yard: Firm, on_server: bool) -> None:
    place = shared().url() if on_server else "book"
    if on_server:
        yard.run("book", "move", "book", place)
        to(yard, place)
    yard.run("book", "backup", "copy.sqlite")
    yard.print(1, 100501, "--count", "3")
    yard.run("confirm", "1", "--good-count", "3")
    digest = yard.run("book", "verify", "--json").json["digest"]
    to(yard, shared().url() if on_server else "book-again")
    assert "which number is at the head" in yard.run("book", "restore", "copy.sqlite", expect=2).err
    said = yard.run("book", "restore", "copy.sqlite", "--next-number", "main:100505", "--digest", digest[:12], "--json")
    assert said.json == {"gaps": [["main", 100501, 100504]], "paper_is_in_the_book": False}
    assert "4 forms may have been used" in said.err
    for item, number in enumerate(("100501", "100502", "100503"), 1):
        yard.print(1, 100505, expect=5)
        yard.run("manual", number, "--payment", f"1:{item}", "--reason", "printed after the backup")
    assert "main:100504-100504" in yard.print(1, 100505, expect=5).err
    yard.run("spoil", "100504", "--reason", "torn")
    yard.print(1, 100505)
    yard.run("confirm", "1", "--good-count", "21")
    yard.run("reconcile", "numbers", "1")
    yard.run("book", "verify")
    assert "holds a book" in yard.run("book", "restore", "copy.sqlite", expect=5).err


def test_a_copied_folder_asks_and_is_answered(yard: Firm) -> None:
    (yard.folder / "book").rename(yard.folder / "moved")
    to(yard, "moved")
    assert "see `cheque book here`" in yard.run("stock", "list").err
    said = yard.run("spoil", "100999", "--reason", "torn", expect=2).err
    assert "was last used at" in said
    assert "`cheque book here --moved`" in said
    assert "--moved or --restored" in yard.run("book", "here", expect=2).err
    yard.run("book", "here", "--moved", "--restored", expect=2)
    yard.run("book", "here", "--moved")
    yard.run("spoil", "100999", "--reason", "torn")
    assert "nothing to answer" in yard.run("book", "here").err
    yard.run("book", "here", "--restored", "--next-number", "100501", expect=2)
    yard.run("book", "here", "--restored", "--next-number", "main:100501")
    yard.print(1, 100501)


def test_a_move_whose_server_is_gone_for_good_is_taken_back(yard: Firm, monkeypatch: pytest.MonkeyPatch) -> None:
    from cheque.book import moving

    class Cut(BaseException):
        pass

    def cut(*_: object) -> None:
        raise Cut

    url = shared().url()
    with monkeypatch.context() as patched:
        patched.setattr(moving, "copy", cut)
        with pytest.raises(Cut):
            yard.run("book", "move", "book", url)
    yard.run("spoil", "100999", "--reason", "torn", expect=5)
    yard.run("book", "here", "--stays", "--moved", expect=2)
    yard.run("book", "here", "--stays")
    yard.run("spoil", "100999", "--reason", "torn")
    yard.run("book", "here", "--stays", "--unseen", expect=5)


@pytest.mark.parametrize(
    ("source", "target", "status", "words"),
    [
        ("nowhere", "other", 5, "there is no book at"),
        ("book", "book", 3, "are the same place"),
        ("book", "postgresql://clerk:sesame@h/d", 3, "a password in the URL"),
        ("book", "mysql://h/d", 3, "is no place for a book"),
        ("book", "cheque.toml", 5, "is not a folder"),
    ],
)
def test_a_move_that_cannot_be_is_refused(yard: Firm, source: str, target: str, status: int, words: str) -> None:
    said = yard.run("book", "move", source, target, expect=status)
    assert words in said.err
    assert "sesame" not in said.err
    yard.run("spoil", "100999", "--reason", "torn")  # and the book is where it was


def test_a_backup_that_is_not_there_or_no_backup_is_refused(yard: Firm) -> None:
    to(yard, "other")
    assert "no such file" in yard.run("book", "restore", "copy.sqlite", expect=3).err
    yard.run("book", "restore", "cheque.toml", "--next-number", "main:100501", expect=5)
    assert not (yard.folder / "other" / "book.sqlite").exists()
