"""`cheque reconcile`: the numbers of a batch against the register and the stock; the bank's list against the book."""

from typing import Any

import click

from cheque import duties
from cheque.cli.desk import batch_number, opened, say
from cheque.cli.report import Output, as_of_option, how_options, standing
from cheque.tongue import counted, tr


@click.group("reconcile")
def reconcile_command() -> None:
    """Account for every number of a batch; hold the bank's statement against the book."""


@reconcile_command.command("numbers")
@click.argument("batch")
@as_of_option
@how_options
def numbers(batch: str, day: str | None, **how: Any) -> None:
    """Account for every number of BATCH, from the first to the last of its runs.

    What became of each, the payment it carries, the number that payroll expected; the register's total against
    the good cheques; what was received against what is accounted for. Exit 1 when something is not explained.
    """
    from cheque.reconcile.numbers import reconcile
    from cheque.report.reconciled import build

    output = Output(**how)
    with opened() as (settings, book), standing(book, day) as (reader, when):
        duties.reconciling_batch(settings, book, batch_number(batch))
        finding = reconcile(reader, batch_number(batch), when.today.isoformat())
        output.write(build(finding, settings, when))
    if not finding.agrees:
        click.get_current_context().exit(1)


@reconcile_command.command("bank")
@click.argument("statement", type=click.Path(dir_okay=False))
@click.option("--account", metavar="NAME", help="The account; may be left out when the settings have one.")
@click.option("--map", "map_file", metavar="FILE", help="The map (TOML) of a statement in CSV.")
@click.option("--opening-balance", metavar="AMOUNT", help="The opening balance, where the file gives none.")
@click.option("--closing-balance", metavar="AMOUNT", help="The closing balance, where the file gives none.")
@click.option("--ledger-balance", metavar="AMOUNT", help="The ledger's balance at the end of the statement's last day.")
@click.option(
    "--deposit",
    "deposits",
    multiple=True,
    metavar="ITEM",
    help='A deposit in transit, "2026-11-30 250.00 takings"; may be given again.',
)
@click.option(
    "--item",
    "items",
    multiple=True,
    metavar="ITEM",
    help='What the ledger has yet to enter, "2026-11-30 -15.00 fee"; may be given again.',
)
@click.option(
    "--to-enter",
    "words",
    multiple=True,
    metavar="WORD",
    help="Items of the statement that the ledger has yet to enter: those that say WORD, or all; may be given again.",
)
@how_options
def bank(statement: str, account: str | None, **how: Any) -> None:
    """Hold the bank's STATEMENT (camt.053, or CSV with a map) against the book.

    Each cheque that the bank paid is cleared in the book; whatever does not agree is told: another amount, a number
    never issued, a form on hand, spoiled or void, a stop, a second payment, a date too early or too old, a payee. Then
    the reconciliation of the bank's balance with the ledger's. Reading a statement again changes nothing.

    Exit 1 when something does not agree, 3 when the statement is refused (nothing changed then).
    """
    from cheque.cli.statements import OPTIONS, Keys, against, map_of, ours, pieces, statement_stream, wanted
    from cheque.reconcile.intake import take
    from cheque.report.bank import build
    from cheque.station import the_account

    told = {name: how.pop(name) for name in ("map_file", *OPTIONS)}
    output = Output(**how)
    with opened() as (settings, book):
        found = the_account(settings, account)
        duties.reconciling_account(settings, book, found.name)
        by = map_of(told.pop("map_file")) if told["map_file"] else None
        keys = Keys.of(found.currency, **{name: told[name] for name in OPTIONS})
        with statement_stream(statement) as (stream, name):
            read = pieces(stream, wanted(found, name), by)
            taken, notes = take(book, read, ours(found), name, opening=keys.opening, closing=keys.closing)
        for note in notes:
            say(tr("  note: {note}", note=note))
        new = sum(one.fresh for one in taken)
        say(
            tr("{items} entered.", items=counted(new, "item"))
            if new
            else tr("Nothing new: all of it was in the book already.")
        )
        with standing(book, None) as (reader, when):
            result = [against(reader, found, one, keys) for one in taken]
            output.write(build(result, settings, when, found.name, name))
    if not all(one.agrees for one in result):
        click.get_current_context().exit(1)
