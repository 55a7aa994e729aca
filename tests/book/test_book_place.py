"""A book has a private place on this machine, and is there whole or not at all."""

import os
import sqlite3
import stat
import tempfile
from pathlib import Path

import pytest
from book.children import SOMEBODY, in_a_child
from book.quillmere import Clock, again, begin, printed, refused

from cheque.book import place as places
from cheque.book.book import FILE, create, open_book
from cheque.book.stock import receive
from cheque.errors import BookRefused, InputRefused


def modes(place: Path) -> dict[str, int]:
    return {path.name: stat.S_IMODE(path.lstat().st_mode) for path in (place, *place.iterdir())}


@pytest.mark.parametrize("umask", [0o000, 0o022, 0o077, 0o277])
def test_only_its_owner_can_open_a_book_whatever_the_umask(tmp_path: Path, umask: int) -> None:
    def look() -> str:
        with create(tmp_path / "book") as book:
            receive(book, account="main", form="payroll-us", first="1", last="9")
            return str(sorted(modes(book.place).items()))

    assert in_a_child(look, umask=umask) == str(
        [
            ("book", 0o700),
            (FILE, 0o600),
            (f"{FILE}-shm", 0o600),
            (f"{FILE}-wal", 0o600),
            ("locks", 0o700),
            ("registers", 0o700),
            ("where", 0o600),
        ]
    )


def test_a_book_is_begun_with_one_event_that_has_its_identity_and_format(tmp_path: Path) -> None:
    with begin(tmp_path, identity="quillmere-1") as book:
        assert book.identity == "quillmere-1"
        assert (book.head.seq, book.head.kind, book.head.who, book.head.station) == (
            1,
            "book.begun",
            "clerk",
            "counter",
        )
        assert book.head.data == {"book": "quillmere-1", "format": 1}
        assert book.head.at == "2026-11-27T09:00:01.000Z"


def test_two_books_have_two_identities(tmp_path: Path) -> None:
    with create(tmp_path / "one") as one, create(tmp_path / "other") as other:
        assert one.identity != other.identity


def test_who_did_it_is_the_operating_systems_word_and_no_variables(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import pwd

    for name in ("LOGNAME", "USER", "LNAME", "USERNAME"):
        monkeypatch.setenv(name, "somebody-else")
    with create(tmp_path / "book") as book:
        assert book.head.who == pwd.getpwuid(os.getuid()).pw_name
        assert book.head.station == os.uname().nodename


def test_a_machine_with_an_odd_name_is_called_by_its_bytes(tmp_path: Path) -> None:
    with create(tmp_path / "book", who="clerk", station="z\udce4hler") as book:
        assert book.head.station == "z\\udce4hler"


def test_a_user_the_system_has_no_name_for_is_called_by_number(monkeypatch: pytest.MonkeyPatch) -> None:
    from cheque.book.book import login

    monkeypatch.setattr(os, "getuid", lambda: 4_294_000_000)
    assert login() == "user 4294000000"


def test_a_second_book_is_not_begun_over_the_first(tmp_path: Path) -> None:
    with begin(tmp_path) as book:
        identity = book.identity
    with refused(BookRefused, "holds a book already", "another place in the settings"):
        begin(tmp_path)
    with open_book(tmp_path / "book") as book:
        assert book.identity == identity


def test_a_book_is_not_begun_in_a_folder_of_other_things(tmp_path: Path) -> None:
    (tmp_path / "book").mkdir(mode=0o755)
    (tmp_path / "book" / "letters.txt").write_text("Dear Ada")
    with refused(InputRefused, "is not empty (letters.txt is in it)", "a folder of its own"):
        begin(tmp_path)
    assert modes(tmp_path / "book")["book"] == 0o755  # and nothing of it was changed


def test_an_empty_folder_is_taken_and_made_private(tmp_path: Path) -> None:
    (tmp_path / "book").mkdir(mode=0o755)
    with begin(tmp_path) as book:
        assert modes(book.place)["book"] == 0o700


def test_a_file_where_the_folder_should_be_is_refused(tmp_path: Path) -> None:
    (tmp_path / "book").write_text("")
    with refused(BookRefused, "is not a folder"):
        begin(tmp_path)
    with refused(BookRefused, "is not a folder"):
        open_book(tmp_path / "book")


def test_a_folder_that_is_a_link_is_refused_because_a_link_can_be_turned(tmp_path: Path) -> None:
    begin(tmp_path).close()
    (tmp_path / "link").symlink_to(tmp_path / "book")
    with refused(BookRefused, "is a link to", "can be turned to another book", "Name the folder itself"):
        open_book(tmp_path / "link")
    (tmp_path / "empty").mkdir()
    (tmp_path / "other-link").symlink_to(tmp_path / "empty")
    with refused(BookRefused, "is a link to"):
        create(tmp_path / "other-link")


def test_a_book_file_that_is_a_link_is_refused(tmp_path: Path) -> None:
    begin(tmp_path).close()
    (tmp_path / "book" / FILE).rename(tmp_path / "elsewhere.sqlite")
    (tmp_path / "book" / FILE).symlink_to(tmp_path / "elsewhere.sqlite")
    with refused(BookRefused, "is no file of its own"):
        open_book(tmp_path / "book")


def test_a_pipe_or_a_folder_in_the_place_of_the_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "book").mkdir(mode=0o700)
    os.mkfifo(tmp_path / "book" / FILE)
    with refused(BookRefused, "is no file of its own"):
        open_book(tmp_path / "book")
    (tmp_path / "book" / FILE).unlink()
    (tmp_path / "book" / FILE).mkdir()
    with refused(BookRefused, "is no file of its own"):
        open_book(tmp_path / "book")


def test_where_there_is_no_book_the_message_says_how_one_is_begun(tmp_path: Path) -> None:
    with refused(BookRefused, "there is no book at", "`cheque setup` begins one"):
        open_book(tmp_path / "book")
    (tmp_path / "book").mkdir(mode=0o700)
    with refused(BookRefused, "there is no book at"):
        open_book(tmp_path / "book")


def test_a_book_that_others_can_open_is_refused_until_that_is_looked_into(tmp_path: Path) -> None:
    begin(tmp_path).close()
    (tmp_path / "book").chmod(0o750)
    with refused(BookRefused, "others than its owner can open", "chmod 700"):
        open_book(tmp_path / "book")
    (tmp_path / "book").chmod(0o700)
    open_book(tmp_path / "book").close()


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can be somebody else")
def test_somebody_elses_book_is_refused() -> None:
    with tempfile.TemporaryDirectory() as name:
        Path(name).chmod(0o711)  # which pytest's own folders are not
        begin(Path(name)).close()
        (Path(name) / "book").chmod(0o777)

        def look() -> str:
            with refused(BookRefused, "belongs to somebody else"):
                open_book(Path(name) / "book")
            return "refused"

        assert in_a_child(look, user=SOMEBODY) == "refused"


def test_a_place_that_cannot_be_written_is_refused_with_why(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with refused(InputRefused, "a book cannot be made at", "Not a directory", "Choose another place"):
        create(tmp_path / "file" / "book")


def test_the_folders_beside_a_restored_book_are_made_again(tmp_path: Path) -> None:
    with begin(tmp_path) as book:
        for name in places.FOLDERS:
            (book.place / name).rmdir()
        again(book).close()
        assert modes(book.place)["registers"] == modes(book.place)["locks"] == 0o700


def test_a_book_whose_folders_cannot_be_made_again_is_refused(tmp_path: Path) -> None:
    with begin(tmp_path) as book:
        (book.place / "locks").rmdir()
        (book.place / "locks").write_text("")
        with refused(BookRefused, "the book at", "cannot be used: File exists"):
            again(book)


def test_a_place_that_cannot_be_looked_into_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    begin(tmp_path).close()

    def failing(path: Path) -> os.stat_result:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(Path, "lstat", failing)
    with refused(BookRefused, "the book at", "cannot be opened: Input/output error"):
        open_book(tmp_path / "book")


def test_a_book_cut_off_while_it_was_begun_is_none_and_can_be_begun_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A power cut between making the file and its first event leaves no book, and nothing in the way of one."""
    (tmp_path / "book").mkdir(mode=0o700)
    left = tmp_path / "book" / f"{places.BEGINNING}0"
    sqlite3.connect(left).close()
    left.write_bytes(b"")
    with refused(BookRefused, "there is no book at"):
        open_book(tmp_path / "book")
    with begin(tmp_path) as book:
        assert book.head.seq == 1
        assert not list(book.place.glob(f"{places.BEGINNING}*"))


def test_a_book_begun_by_two_at_once_is_begun_by_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    prepare = places.prepare

    def meanwhile(place: Path) -> None:
        prepare(place)
        monkeypatch.setattr(places, "prepare", prepare)
        create(place, who="the other", clock=Clock()).close()

    monkeypatch.setattr(places, "prepare", meanwhile)
    with refused(BookRefused, "holds a book already"):
        begin(tmp_path)
    with open_book(tmp_path / "book") as book:
        assert book.head.who == "the other"
        assert sorted(p.name for p in book.place.iterdir() if "sqlite-" not in p.name) == sorted(
            [FILE, *places.FOLDERS, *places.SMALL]
        )


def test_a_book_that_lost_its_contents_is_never_taken_for_a_new_one(tmp_path: Path) -> None:
    book, _, _ = printed(tmp_path)
    book.close()
    (book.place / FILE).write_bytes(b"")
    with refused(BookRefused, "is not a book, or has lost what made it one", "restore a backup"):
        open_book(book.place)
    assert b"book.begun" not in (book.place / FILE).read_bytes()


def test_another_programs_database_is_not_a_book(tmp_path: Path) -> None:
    (tmp_path / "book").mkdir(mode=0o700)
    other = sqlite3.connect(tmp_path / "book" / FILE)
    other.execute("CREATE TABLE event (seq INTEGER PRIMARY KEY, note TEXT)")
    other.close()
    with refused(BookRefused, "is not a book"):
        open_book(tmp_path / "book")


MOUNTS = """\
22 1 252:1 / / rw,relatime shared:1 - ext4 /dev/vda1 rw
40 22 0:41 / /home rw,relatime shared:2 - nfs4 server:/home rw,addr=192.0.2.1
41 40 252:2 / /home/clerk/local\\040disk rw,relatime - xfs /dev/vdb1 rw
a line of another kind
"""


@pytest.mark.parametrize(
    ("place", "kind"),
    [
        ("/srv/book", "ext4"),
        ("/home/clerk/book", "nfs4"),
        ("/home/clerk/local disk/book", "xfs"),
        ("/homestead/book", "ext4"),
    ],
)
def test_the_kernel_says_what_file_system_a_place_is_on(tmp_path: Path, place: str, kind: str) -> None:
    """The layout of mountinfo is that of proc(5)."""
    (tmp_path / "mountinfo").write_text(MOUNTS)
    assert places.file_system(Path(place), str(tmp_path / "mountinfo")) == kind


def test_a_book_on_another_machines_disk_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    begin(tmp_path).close()
    monkeypatch.setattr(places, "file_system", lambda place, mounts="": "nfs4")
    with refused(BookRefused, "is on another machine (nfs4)", "a disk of this machine"):
        open_book(tmp_path / "book")
    with refused(BookRefused, "is on another machine"):
        create(tmp_path / "other")


def test_where_the_kernel_does_not_say_the_place_is_taken(tmp_path: Path) -> None:
    assert places.file_system(tmp_path, str(tmp_path / "no such file")) == ""
