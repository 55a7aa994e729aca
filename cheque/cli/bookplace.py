"""`cheque book move`, `restore`, `here`: where the book is, and what that means for its numbers."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cheque.cli.desk import answer_json, ask, json_option, opened, say, settings
from cheque.errors import BookRefused, InputRefused, UsageRefused
from cheque.tongue import counted, tr

if TYPE_CHECKING:
    from cheque.book.moving import Place

_heads = click.option(
    "--next-number",
    "heads",
    multiple=True,
    metavar="ACCOUNT:NUMBER",
    help="The number now at the head of the printer, or on top of the box; once for each box.",
)
_digest = click.option("--digest", default="", help="The digest on the latest control report, or its first characters.")


@click.command("move")
@click.argument("source", metavar="FROM")
@click.argument("target", metavar="TO")
def move_command(source: str, target: str) -> None:
    """Carry the book from one place to another: from a folder to a server (postgresql://…), or back.

    Event by event, proved by its chain. Where it was it says so, and takes nothing more. Cut off, the same command
    goes on. The settings are yours to change then.
    """
    from cheque.book import moving

    arrived = moving.move(_place(source), _place(target), progress=_count)
    say(
        tr(
            "The book is at {target}: {seq} events, proved there. At {source} it takes nothing more; keep that.",
            target=target,
            seq=arrived.seq,
            source=source,
        )
    )
    say(tr('Now change cheque.toml of every station: under [book], place = "{target}"', target=target))


def _count(seq: int) -> None:
    """Say now and then how far a copy is."""
    if seq % 10_000 == 0:
        say(tr("{seq} events", seq=seq))


def _place(text: str) -> "Place":
    from cheque.book import url
    from cheque.book.moving import Place

    if not url.is_url(text):
        if "://" in text:
            raise InputRefused(
                tr(
                    "{partition}:// is no place for a book: wanted a folder or postgresql://….",
                    partition=text.partition("://")[0],
                )
            )
        if text.lower().startswith(("postgres:", "postgresql:", "postgres//", "postgresql//")):
            raise InputRefused(tr("found no URL: it begins with postgresql://."))
        return Place(Path(text).absolute())
    try:
        url.parse(text)
    except ValueError as error:
        raise InputRefused(tr("found {error}.", error=error)) from None
    from cheque import settings as settings_file

    found = settings_file.any_found(None)
    folder = found.parent if found else Path.cwd()
    return Place((folder / settings_file.STATION).absolute(), text)


@click.command("restore")
@click.argument("file")
@_heads
@_digest
@json_option
def restore_command(file: str, heads: tuple[str, ...], digest: str, as_json: bool) -> None:
    """Put the backup FILE back as the book, where the settings say, and note which numbers it knows nothing of.

    A backup does not know what was printed after it was made. The numbers below the one now at each head are to be
    accounted for before anything prints.
    """
    from cheque.book.book import is_there, open_book, open_copy
    from cheque.book.moving import Place
    from cheque.book.restoring import restore, restored_here

    found = settings()
    target = Place(found.book, found.server)
    if is_there(found.book, found.server):
        raise BookRefused(
            tr("{text} holds a book. Move that aside, whole, before a backup takes its place.", text=target.text)
        )
    if not Path(file).is_file():
        raise InputRefused(tr("there is no backup at {file}: no such file.", file=file))
    told = _numbers(heads)
    with open_copy(Path(file).absolute()) as copy:
        restore(copy, target, told)
    with open_book(found.book, server=found.server) as book:
        done = restored_here(book, told, digest=digest)
    _tell(done.gaps, done.known, target.text, as_json)


@click.command("here")
@click.option("--moved", is_flag=True, help="It was moved here, and nobody uses it where it was.")
@click.option("--restored", is_flag=True, help="It is a copy, or a backup put back.")
@click.option("--stays", is_flag=True, help="It was to move elsewhere, and never arrived there.")
@click.option("--unseen", is_flag=True, help="With --stays: where it was to go cannot be looked at, and never will be.")
@_heads
@_digest
@json_option
def here_command(
    moved: bool, restored: bool, stays: bool, unseen: bool, heads: tuple[str, ...], digest: str, as_json: bool
) -> None:
    """Say why the book is somewhere else than where it was last used: --moved, or --restored from a copy.

    Or that it --stays, a move having failed.
    """
    from cheque.book.restoring import moved_here, restored_here

    if stays:
        _stays(moved or restored, unseen)
        return
    if moved and restored:
        raise UsageRefused(tr("found both --moved and --restored; wanted one: if in doubt, it is --restored."))
    with opened() as (_, book):
        if not book.elsewhere and not restored:
            say(tr("The book is where it was last used: there is nothing to answer."))
            return
        if not moved and not restored:
            say(book.elsewhere)
            restored = ask("--moved or --restored", tr("Was it moved, or restored? (moved/restored)"), _which)
        if not restored:
            moved_here(book)
            say(tr("Entered: the book was moved here. Where it was, it must not be used any more."))
            return
        done = restored_here(book, _numbers(heads), digest=digest)
    _tell(done.gaps, done.known, book.server or str(book.place), as_json)


def _stays(more: bool, unseen: bool) -> None:
    """A move that failed is taken back."""
    from cheque.book import moving

    if more:
        raise UsageRefused(tr("found --stays with --moved or --restored; wanted one of them."))
    with opened() as (_, book):
        moving.stay(book, looked=not unseen)
    say(tr("Entered: the book stays here."))


def _which(text: str) -> bool:
    if text.lower() not in ("moved", "restored"):
        raise ValueError(tr("Type moved or restored."))
    return text.lower() == "restored"


def _numbers(heads: tuple[str, ...]) -> list[tuple[str, int]]:
    found = []
    for text in heads:
        account, _, number = text.rpartition(":")
        if not account or not (number.isascii() and number.isdigit() and len(number) <= 18):
            raise UsageRefused(
                tr("found --next-number {text!r}; wanted ACCOUNT:NUMBER, such as main:100531.", text=text)
            )
        found.append((account, int(number)))
    return found


def _tell(gaps: list[tuple[str, int, int]], known: bool | None, place: str, as_json: bool) -> None:
    if as_json:
        answer_json({"gaps": [list(gap) for gap in gaps], "paper_is_in_the_book": known})
    if known is False:
        say(tr("The book does not have the event that the paper shows: the copy is older than that paper."))
    elif known is None:
        say(tr("No digest from the paper was given: `cheque book verify --digest` tells whether the copy is older."))
    if not gaps:
        say(
            tr(
                "The book is at {place}. No number was used since the copy was made; proofs are to be made anew.",
                place=place,
            )
        )
        return
    forms = sum(last - first + 1 for _, first, last in gaps)
    told = ", ".join(f"{account}:{first}-{last}" for account, first, last in gaps)
    say(
        tr(
            "The book is at {place}. {forms} may have been used since the copy was made: {told}.",
            place=place,
            forms=counted(forms, "form"),
            told=told,
        )
    )
    say(
        tr(
            "Nothing prints before each is accounted for. One that bears a cheque: `cheque manual NUMBER "
            "--payment BATCH:ITEM --reason 'printed after the backup'` (accept its register first, if the "
            "book lacks it). One that does not: `cheque spoil` or `cheque missing`. A payment left waiting "
            "is paid again: look twice."
        )
    )
