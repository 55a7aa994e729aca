"""`cheque book`: the record proved whole, and copied safely; what was out before it was begun."""

import click

from cheque.book import verify as verifying
from cheque.cli.bookplace import here_command, move_command, restore_command
from cheque.cli.bookroles import roles_command
from cheque.cli.desk import answer, answer_json, json_option, no_such_file, opened, say
from cheque.cli.openings import opening_command
from cheque.errors import UsageRefused
from cheque.tongue import tr


@click.group("book")
def book_command() -> None:
    """Prove the record whole; copy it safely; start with cheques already out."""


@book_command.command("verify")
@click.option("--digest", default=None, help="The digest that a control report printed, or its first characters.")
@json_option
@click.pass_context
def verify(ctx: click.Context, digest: str | None, as_json: bool) -> None:
    """Recompute the chain of events, rebuild the tables from it, and compare.

    With --digest from the paper in the binder, it also proves that nothing which that paper shows has gone.
    """
    if digest is not None and not digest.strip():
        raise UsageRefused(tr("found --digest with nothing in it, which proves nothing; wanted the one on the paper."))
    with opened() as (_, book):
        faults = verifying.verify(book, digest=digest or "")
        head = book.head if not faults else None
    if as_json:
        answer_json(
            {
                "whole": not faults,
                "events": head.seq if head else 0,
                "digest": head.digest if head else "",
                "faults": [str(fault) for fault in faults],
            }
        )
    elif head:
        answer(
            tr(
                "The book is whole: {seq} events, the latest of {at}, digest {digest}.",
                seq=head.seq,
                at=head.at,
                digest=head.digest,
            )
        )
    else:
        for fault in faults:
            answer(str(fault))
        say(tr("The book is not whole. Keep the file as it is, and restore a backup beside it."))
    ctx.exit(1 if faults else 0)


@book_command.command("backup")
@click.argument("file")
def backup(file: str) -> None:
    """Copy the book to FILE while others work; the copy is proved whole before this ends."""
    from cheque.book.story import backup as copy

    path = no_such_file(file)
    with opened() as (_, book):
        copy(book, path)
    say(
        tr("The book is copied to {path}, and the copy is whole. Keep it where a fire here cannot reach it.", path=path)
    )


for _command in (move_command, restore_command, here_command, opening_command, roles_command):
    book_command.add_command(_command)
