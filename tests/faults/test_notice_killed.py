"""A kill while a notice to the bank is made: the book never counts as told what is in no file, and says what to do
with a file that it does not know."""

import os
import signal
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from journeys.firm import Firm

from cheque import notify
from cheque.book import notices


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A payday of 24 good cheques whose bank takes notices, made once."""
    firm = Firm(tmp_path_factory.mktemp("told")).set_up().paid()
    (firm.folder / "bank.toml").write_text(firm.run("notice", "example", "delimited").out)
    firm.change('# notice.layout = "bank-notice.toml"', 'notice.layout = "bank.toml"')
    return firm.folder


@pytest.fixture
def firm(made: Path, tmp_path: Path) -> Firm:
    """A copy of it."""
    return Firm(made).copy(tmp_path)


def killed(firm: Firm, arrange: Callable[[], None], *command: str) -> None:
    """Run a command in a child process that is killed where `arrange` says."""
    child = os.fork()
    if not child:
        arrange()
        os._exit(firm.run(*command, expect=None).status)
    assert os.WTERMSIG(os.waitpid(child, 0)[1]) == signal.SIGKILL


def die(*_: object, **__: object) -> None:
    """The machine stops here."""
    os.kill(os.getpid(), signal.SIGKILL)


def before_it_is_entered() -> None:
    """The file is there, the book has not got it yet."""
    notices.make = die  # type: ignore[assignment]


def while_it_is_written() -> None:
    """Some of the file is written."""
    write = notify._write

    def half(place: Path, data: Iterator[bytes]) -> str:
        def cut() -> Iterator[bytes]:
            yield next(data)
            die()

        return write(place, cut())

    notify._write = half


@pytest.mark.parametrize("command", [("issued", "1"), ("stopped", "100507", "--reason", "lost")])
def test_a_file_that_the_book_does_not_know_is_not_to_be_sent(firm: Firm, command: tuple[str, ...]) -> None:
    name = f"notice-1-{command[0]}.txt"
    killed(firm, before_it_is_entered, "notice", *command)
    assert (firm.folder / name).exists()
    firm.run("book", "verify")
    assert "No notice was made yet" in firm.run("notice", "list").err
    said = firm.run("notice", *command, expect=3).err
    assert f"{name} is there already" in said
    assert "the book knows of no notice in it" in said
    assert "Do not send it" in said
    (firm.folder / name).unlink()
    assert firm.run("notice", *command).out == "1\n"
    said = firm.run("notice", "issued", "1", "--again", "lost", "-o", name, expect=3).err
    assert f"{name} is there already: it is notice 1." in said


def test_half_a_file_never_has_the_name_of_a_notice(firm: Firm) -> None:
    killed(firm, while_it_is_written, "notice", "issued", "1")
    assert not (firm.folder / "notice-1-issued.txt").exists()
    (left,) = firm.folder.glob(".cheque-*")
    assert left.stat().st_mode & 0o077 == 0
    firm.run("book", "verify")
    assert firm.run("notice", "issued", "1").out == "1\n"
