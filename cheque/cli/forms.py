"""`cheque spoil`, `missing`, `found`: what happens to numbered forms outside a run."""

import click

from cheque.book import stock
from cheque.cli.desk import number_range, opened, say
from cheque.tongue import tr

_REASON = click.option("--reason", required=True, help="Why, for the record.")


@click.command("spoil")
@click.argument("numbers")
@_REASON
def spoil_command(numbers: str, reason: str) -> None:
    """Enter forms on hand, NUMBERS, as spoiled: torn, misfed, used to line up the printer."""
    with opened() as (_, book):
        account, first, last = number_range(book, numbers)
        stock.spoil(book, account=account, first=first, last=last, reason=reason)
    say(tr("{forms} entered as spoiled. Deface them and keep them for the count.", forms=_forms(account, first, last)))


@click.command("missing")
@click.argument("numbers")
@_REASON
def missing_command(numbers: str, reason: str) -> None:
    """Enter forms NUMBERS that ought to be on hand and are not."""
    with opened() as (_, book):
        account, first, last = number_range(book, numbers)
        stock.missing(book, account=account, first=first, last=last, reason=reason)
    say(
        tr(
            "{forms} entered as missing. Tell the bank: a blank cheque can be filled in by anyone.",
            forms=_forms(account, first, last),
        )
    )


@click.command("found")
@click.argument("numbers")
@click.option("--spoiled", is_flag=True, help="Found, but not fit for use.")
@_REASON
def found_command(numbers: str, spoiled: bool, reason: str) -> None:
    """Enter missing forms NUMBERS that turned up, fit for use or --spoiled."""
    with opened() as (_, book):
        account, first, last = number_range(book, numbers)
        stock.found(book, account=account, first=first, last=last, spoiled=spoiled, reason=reason)
    say(
        tr(
            "{forms} entered as found, {more}.",
            forms=_forms(account, first, last),
            more=tr("spoiled") if spoiled else tr("on hand again"),
        )
    )


def _forms(account: str, first: int, last: int) -> str:
    return (
        f"{account}:{first}"
        if first == last
        else tr("{account}:{first} to {last}", account=account, first=first, last=last)
    )
