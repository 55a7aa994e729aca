"""What every command needs at hand: settings, the book, numbers and ranges as people write them, asking, JSON."""

import json
import os
import re
import shutil
import sys
import tempfile
import textwrap
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO, TypeVar

import click

from cheque.errors import BookRefused, InputRefused, UsageRefused
from cheque.tongue import tr, yes_or_no

if TYPE_CHECKING:  # `cheque words` has no book: not a third of its start may go into importing one
    from cheque.book.book import Book, Reader
    from cheque.settings import Settings

T = TypeVar("T")
json_option = click.option("--json", "as_json", is_flag=True, help="The answer as JSON.")
_NUMBER = re.compile(r"(?:(?P<account>[A-Za-z0-9_-]+):)?(?P<first>\d{1,18})(?:-(?P<last>\d{1,18}))?")


#: the settings of the command in hand once they were read, for the log
_used: "list[tuple[Settings, bool]]" = []


def settings() -> "Settings":
    """The settings of this call."""
    from cheque import settings as settings_file

    root = click.get_current_context().find_root()
    found = settings_file.load(settings_file.find(root.obj["settings"]))
    _used[:] = [(found, root.obj.get("verbose", False))]
    return found


def command_ended(command: str, begun: float, status: int, refused: str) -> None:
    """Put the command that ended into the station's log, and with --verbose say what was used."""
    if not _used:
        return
    ((found, verbose),) = _used
    _used.clear()
    took = time.time() - begun
    if found.book.is_dir():
        from cheque import log
        from cheque.book.book import login

        secrets = [text for account in found.accounts.values() for text in (account.number, account.routing)]
        moment = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(begun))
        first = log.masked(refused.partition("\n")[0], secrets)
        log.write(found.book, f"{moment} {login()} {command} {status} {took:.3f} {first}".rstrip())
    if verbose:
        book = tr("a server") if found.server else str(found.book)
        say(
            tr(
                "settings: {source}; book: {book}; log: {book2}; {took:.2f} s, exit status {status}",
                source=found.source,
                book=book,
                book2=found.book / tr("log"),
                took=took,
                status=status,
            )
        )


@contextmanager
def opened() -> "Iterator[tuple[Settings, Book]]":
    """The settings, and the book they name, open."""
    from cheque import crew
    from cheque.book.book import open_book

    crew.workers()  # refused now, and not in the midst of a run
    found = settings()
    person = _person()
    with open_book(found.book, server=found.server, who=person) as book:
        if person and book.who != person:
            raise UsageRefused(tr("this book is under roles, and you are {who} there: leave --as out.", who=book.who))
        if book.moved_to:
            say(tr("Note: this book has moved to {moved_to}; what follows is as it was then.", moved_to=book.moved_to))
        elif book.elsewhere:
            say(tr("Note: the book is not where it was last used; before anything is written, see `cheque book here`."))
        yield found, book


def _person() -> str:
    """Who is at the keys, where several share one login: the name given with --as, and the login beside it."""
    given: str = click.get_current_context().find_root().obj.get("person", "").strip()
    if not given:
        return ""
    if not given.isprintable() or len(given) > 40 or set(given) & set("()"):
        raise UsageRefused(tr("found --as {given!a}; wanted a name of up to 40 letters.", given=given))
    from cheque.book.book import login

    return f"{given} ({login()})"


def wrapped(line: str, width: int, indent: str = "") -> str:
    """One line of talk, broken between words where it is wider than `width`; what follows is set in a little."""
    begin = indent + line[: len(line) - len(line.lstrip())]
    if len(indent) + len(line) <= width:
        return indent + line if line else ""
    return textwrap.fill(
        line.strip(),
        width,
        initial_indent=begin,
        subsequent_indent=begin + "  " if begin.strip() == "" and begin != indent else begin,
        break_long_words=False,
        break_on_hyphens=False,
    )


def say(text: str = "", *, always: bool = False) -> None:
    """Talk: to standard error; on a terminal broken between words, at most 100 columns wide. With --quiet, none.

    always: a refusal, said even so. A terminal that has gone, or a pipe that nobody reads, hears nothing; what was to
    be done is done all the same.
    """
    if not always and _quiet():
        return
    with suppress(OSError, ValueError):
        click.echo(_fitted(text), err=True)


def _quiet() -> bool:
    context = click.get_current_context(silent=True)
    told = context.find_root().obj if context else None
    return bool(told and told.get("quiet"))


def _fitted(text: str) -> str:
    """Talk as it is shown: on a terminal broken between words."""
    if not sys.stderr.isatty():
        return text
    width = max(20, min(shutil.get_terminal_size((80, 24)).columns, 100))
    return "\n".join(wrapped(line, width) for line in text.split("\n"))


def answer(text: str = "") -> None:
    """An answer: to standard output."""
    click.echo(text)


def answer_bare(text: str) -> None:
    """An answer that only a script wants: not on a terminal, where the talk has said it already."""
    if sys.stdout is not None and not sys.stdout.isatty():
        click.echo(text)


def answer_json(value: Any) -> None:
    """An answer as JSON."""
    click.echo(json.dumps(value, ensure_ascii=False, indent=2))


def interactive() -> bool:
    """Whether there is a person to ask."""
    try:
        return sys.stdin.isatty()
    except (AttributeError, ValueError):  # standard input was closed before the command began
        return False


def ask(option: str, question: str, convert: Callable[[str], T]) -> T:
    """Ask at the terminal until the answer can be read; without one, exit 2 naming the option."""
    if not interactive():
        raise UsageRefused(
            tr("an answer is missing: {question} Give it with {option}.", question=question, option=option)
        )
    while True:
        try:
            return convert(_line(question))
        except UnicodeDecodeError:
            say(tr("  That cannot be read as text. Type it again."))
        except ValueError as error:
            say(f"  {error}")


def _line(question: str) -> str:
    """One line typed after a question. The question is talk, so that an answer piped elsewhere stays clean."""
    try:
        sys.stderr.write(_fitted(question) + " ")
        sys.stderr.flush()
        text = sys.stdin.readline()
    except (KeyboardInterrupt, OSError):
        text = ""
    if not text:  # Ctrl-C, or the end of input: Ctrl-D
        say()
        raise click.Abort
    return text.strip()


def ask_yes(option: str, question: str) -> bool:
    """A yes or no, typed out; without a terminal, exit 2 naming the option."""

    def convert(text: str) -> bool:
        said = yes_or_no(text)
        if said is None:
            raise ValueError(tr("Type yes or no."))
        return said

    return ask(option, tr("{question} (yes/no)", question=question), convert)


def number_range(reader: "Reader", text: str) -> tuple[str, int, int]:
    """NUMBER, account:NUMBER or a range of them, as (account, first, last)."""
    match = _NUMBER.fullmatch(text.strip())
    if not match:
        raise UsageRefused(
            tr("found {text!r}; wanted a number such as 100501, main:100501 or 100501-100504.", text=text)
        )
    first = int(match["first"])
    last = int(match["last"]) if match["last"] else first
    if last < first:
        raise UsageRefused(tr("found {text!r}; wanted the lower number first.", text=text))
    if last - first > 1_000_000:
        raise UsageRefused(tr("found {text!r}, over a million numbers; wanted a shorter range.", text=text))
    if match["account"]:
        return match["account"], first, last
    from cheque.book import stock

    accounts = stock.holders(reader, first)
    if not accounts:
        raise BookRefused(tr("{first} is on no stock in the book. `cheque stock list` shows what is.", first=first))
    if len(accounts) > 1:
        raise UsageRefused(
            tr(
                "{first} is a number of {accounts}: write {accounts2}:{text}.",
                first=first,
                accounts=tr(" and of ").join(accounts),
                accounts2=accounts[0],
                text=text,
            )
        )
    return accounts[0], first, last


def one_number(reader: "Reader", text: str) -> tuple[str, int]:
    """One number, as (account, number)."""
    account, first, last = number_range(reader, text)
    if first != last:
        raise UsageRefused(tr("found the range {text!r}; wanted one number.", text=text))
    return account, first


def whole(text: str) -> int:
    """A whole number as it is typed. ValueError when it is none, or longer than any number of the trade."""
    if not (text.isascii() and text.isdigit() and len(text) <= 18):
        raise ValueError(tr("Type a whole number, in digits."))
    return int(text)


def some_words(text: str) -> str:
    """A reason as it is typed. ValueError when nothing was."""
    if not text.strip():
        raise ValueError(tr("Say it in a word or two."))
    return text.strip()


def batch_number(text: str) -> int:
    """A batch as people write it."""
    if not text.isascii() or not text.isdigit() or len(text) > 9:
        raise UsageRefused(tr("found {text!r}; wanted a batch's number, as `cheque batch list` shows it.", text=text))
    return int(text)


def no_such_file(path: str) -> Path:
    """A path that a command will make: refused when something is there."""
    found = Path(path)
    if found.exists():
        raise InputRefused(
            tr("{path} is there already: nothing is written over. Name another file, or move it away.", path=path)
        )
    return found


@contextmanager
def private_file(path: Path) -> Iterator[BinaryIO]:
    """A new file that only its owner can read, there under its name when it is whole, or not at all."""
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".cheque-")
    except OSError as error:
        raise InputRefused(
            tr("{path} cannot be written: {strerror}. Name another place.", path=path, strerror=error.strerror)
        ) from None
    try:
        with os.fdopen(handle, "wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, path)
    except OSError as error:
        os.unlink(name)
        raise InputRefused(
            tr("{path} cannot be written: {strerror}. Name another place.", path=path, strerror=error.strerror)
        ) from None
    except BaseException:
        os.unlink(name)
        raise


def private_write(path: Path, data: bytes) -> None:
    """Write a whole file that only its owner can read."""
    with private_file(path) as file:
        file.write(data)


def columns(rows: Iterable[Sequence[str]], right: frozenset[int] = frozenset(), gap: str = "  ") -> str:
    """Rows as text in columns; the columns in `right` stand to the right."""
    kept = [list(row) for row in rows]
    if not kept:
        return ""
    widths = [max(len(row[c]) for row in kept) for c in range(len(kept[0]))]
    return "\n".join(
        gap.join(cell.rjust(widths[c]) if c in right else cell.ljust(widths[c]) for c, cell in enumerate(row)).rstrip()
        for row in kept
    )
