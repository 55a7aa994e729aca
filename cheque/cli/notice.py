"""`cheque notice`: what the bank confirmed."""

from datetime import date, timedelta

import click

from cheque.book import cheques
from cheque.cli.desk import one_number, opened, say
from cheque.errors import UsageRefused


@click.group("notice")
def notice_command() -> None:
    """Record what the bank confirmed."""


@notice_command.command("stopped")
@click.argument("number")
@click.option("--confirmed-by", required=True, metavar="NAME", help="Who at the bank confirmed the stop.")
@click.option("--on", default="", metavar="DATE", help="When, as 2026-11-27; today unless given.")
def stopped(number: str, confirmed_by: str, on: str) -> None:
    """Record that the bank confirmed it will not pay cheque NUMBER."""
    try:
        day = date.fromisoformat(on) if on else date.today()
    except ValueError:
        raise UsageRefused(f"found --on {on!r}; wanted a date such as 2026-11-27.") from None
    if day > date.today():
        raise UsageRefused(f"found --on {on}, which is yet to come; wanted the day on which the bank confirmed.")
    if day < date.today() - timedelta(days=366):
        raise UsageRefused(f"found --on {on}, over a year ago: a stop so old has lapsed. Ask the bank anew.")
    with opened() as (_, book):
        account, which = one_number(book, number)
        cheques.confirm_stop(book, account=account, number=which, by=confirmed_by, on=day.isoformat())
    say(
        f"The stop of {account}:{which} is entered, confirmed by {confirmed_by} on {day}. A stop lapses (in the "
        "United States after six months, UCC § 4-403): ask your bank when, and renew it."
    )
