"""`cheque notice stopped`: ask the bank not to pay a cheque, and record what it answers."""

from datetime import date, timedelta
from pathlib import Path

import click

from cheque.bank.notice import REASONS
from cheque.bank.stoprules import not_allowed
from cheque.book import notices, stops
from cheque.book.book import Book
from cheque.cli.desk import one_number, opened, say
from cheque.errors import UsageRefused
from cheque.settings import Account, Settings
from cheque.settings_bank import lapse_of
from cheque.tongue import tr


@click.command("stopped")
@click.argument("number")
@click.option("--reason", type=click.Choice(list(REASONS)), help="Why the bank must not pay it.")
@click.option("--told", default="", metavar="TEXT", help="More of the reason, in words; wanted with --reason other.")
@click.option("--confirmed-by", default="", metavar="NAME", help="Who at the bank confirmed the stop.")
@click.option("--refused-by", default="", metavar="NAME", help="Who at the bank refused it; say why with --told.")
@click.option("--on", default="", metavar="DATE", help="When, as 2026-11-27; today unless given.")
@click.option("--spoken", is_flag=True, help="It was only confirmed by word of mouth.")
@click.option("--lapses", default="", metavar="DATE", help="The last day on which the stop holds, as the bank says.")
@click.option("--renew", is_flag=True, help="The bank confirmed that a stop goes on, or confirmed a spoken one.")
@click.option("--layout", default="", metavar="FILE", help="The layout; else the one that cheque.toml names.")
@click.option("--as", "as_", type=click.Choice(["text", "camt108"]), help="Text by a layout, or ISO 20022 camt.108.")
@click.option("-o", "--output", metavar="FILE", help="The file to write, which must not be there yet.")
@click.option("--again", default="", metavar="REASON", help="Ask a second time, and why.")
@click.option("--preview", is_flag=True, help="Show what would be written, and change nothing.")
def stopped_command(number: str, confirmed_by: str, refused_by: str, renew: bool, on: str, **given: str) -> None:
    """Ask the bank not to pay cheque NUMBER; or record what it answered.

    With --reason alone, the request to send to the bank is made. With --confirmed-by, the bank's answer is recorded:
    only that makes a stop. A stop lapses: renew it in time with --renew.
    """
    _agree(given, confirmed_by, refused_by, renew)
    day = _day(on)
    with opened() as (settings, book):
        account, which = one_number(book, number)
        owner = settings.account(account) if account in settings.accounts else None
        if refused_by:
            stops.refuse(book, account=account, number=which, by=refused_by, on=day, told=given["told"])
            say(
                tr(
                    "The bank refused to stop {account}:{which}: it can be paid. Ask why, and what else can be done.",
                    account=account,
                    which=which,
                )
            )
        elif renew:
            _renew(book, owner, account, which, confirmed_by, day, given["lapses"])
        elif confirmed_by:
            _confirm(book, owner, account, which, confirmed_by, day, given)
        else:
            _request(settings, book, account, which, given)


def _agree(given: dict[str, str], confirmed_by: str, refused_by: str, renew: bool) -> None:
    """Options that do not go together are refused."""
    if confirmed_by and refused_by:
        raise UsageRefused(tr("found --confirmed-by and --refused-by; wanted one of them."))
    if renew and not confirmed_by:
        raise UsageRefused(
            tr("an answer is missing: who at the bank renewed the stop? Give the name with --confirmed-by.")
        )
    if not (confirmed_by or refused_by or given["reason"]):
        raise UsageRefused(
            tr(
                "an answer is missing: give --reason to ask the bank for a stop, or --confirmed-by with the name "
                "of who at the bank confirmed it."
            )
        )
    if (given["spoken"] or given["lapses"]) and not confirmed_by:
        raise UsageRefused("--spoken and --lapses are of a stop that the bank confirmed: give --confirmed-by.")
    if given["spoken"] and renew:
        raise UsageRefused(tr("found --spoken with --renew: a stop is renewed in writing (UCC § 4-403(b))."))
    files = [f"--{name}" for name in ("layout", "output", "again", "preview") if given[name]]
    files += ["--as"] if given["as_"] else []
    if files and (confirmed_by or refused_by):
        raise UsageRefused(tr("found {files} with the bank's answer; it is for asking the bank.", files=files[0]))


def _day(on: str) -> str:
    """The day of the bank's answer."""
    try:
        day = date.fromisoformat(on) if on else date.today()
    except ValueError:
        raise UsageRefused(tr("found --on {on!r}; wanted a date such as 2026-11-27.", on=on)) from None
    if day > date.today():
        raise UsageRefused(
            tr("found --on {on}, which is yet to come; wanted the day on which the bank confirmed.", on=on)
        )
    if day < date.today() - timedelta(days=366):
        raise UsageRefused(tr("found --on {on}, over a year ago: a stop so old has lapsed. Ask the bank anew.", on=on))
    return day.isoformat()


def lapse_day(owner: Account | None, day: str, *, spoken: bool, given: str = "") -> tuple[str, str]:
    """The last day of a stop given on a day, or "", and how that is known: the bank's word, a setting, a statute."""
    if given:
        try:
            last = date.fromisoformat(given).isoformat()
        except ValueError:
            raise UsageRefused(tr("found --lapses {given!r}; wanted a date such as 2027-05-27.", given=given)) from None
        if last < day:
            raise UsageRefused(tr("found --lapses {given}, before {day}, the day of the stop.", given=given, day=day))
        return last, tr("as the bank says")
    if owner is None:
        return "", ""
    return lapse_of(owner.country, owner.stop, day, spoken=spoken)


def _allowed(owner: Account | None, reason: str) -> None:
    why_not = not_allowed(owner.country, reason) if owner else ""
    if why_not:
        raise UsageRefused(why_not)


def _confirm(
    book: Book, owner: Account | None, account: str, which: int, by: str, day: str, given: dict[str, str]
) -> None:
    asked = stops.get(book, account, which)
    reason = given["reason"] or (asked.reason if asked and asked.state == "requested" else "")
    _allowed(owner, reason)
    spoken = bool(given["spoken"])
    lapses, how = lapse_day(owner, day, spoken=spoken, given=given["lapses"])
    what = stops.Confirmed(by, day, spoken, lapses, given["reason"] or "", given["told"])
    stops.confirm(book, account=account, number=which, what=what)
    say(
        tr(
            "The stop of {account}:{which} is entered, confirmed by {by} on {day}.",
            account=account,
            which=which,
            by=by,
            day=day,
        )
    )
    if lapses and lapses < date.today().isoformat():
        say(
            tr(
                "IT HAS LAPSED, after {lapses} ({how}): it protects nothing. Ask the bank for a new one.",
                lapses=lapses,
                how=how,
            )
        )
    elif lapses:
        say(
            tr(
                "It holds until {lapses} ({how}); ask your bank, and renew it before: `cheque report stops` lists it.",
                lapses=lapses,
                how=how,
            )
        )
    else:
        say(tr("A stop lapses: ask your bank when, and give it with --lapses, or set lapses under [accounts.….stop]."))
    if spoken:
        say(tr("It is only spoken: ask for it in writing, and enter that with --renew."))


def _renew(book: Book, owner: Account | None, account: str, which: int, by: str, day: str, given: str) -> None:
    before = stops.get(book, account, which)
    # what was spoken and is now in writing began when it was spoken; a renewal begins anew
    start = before.on_day if before and before.spoken else day
    lapses, how = lapse_day(owner, start, spoken=False, given=given)
    if not lapses:
        raise UsageRefused(
            tr("an answer is missing: until when does the stop hold? Give the bank's word with --lapses.")
        )
    stops.renew(book, account=account, number=which, by=by, on=day, lapses=lapses)
    say(
        tr(
            "The stop of {account}:{which} is renewed, confirmed by {by} on {day}; it holds until {lapses} ({how}).",
            account=account,
            which=which,
            by=by,
            day=day,
            lapses=lapses,
            how=how,
        )
    )


def _request(settings: Settings, book: Book, account: str, which: int, given: dict[str, str]) -> None:
    from cheque import notify
    from cheque.cli.notice import tell_made

    owner, reason, told = settings.account(account), given["reason"], given["told"].strip()
    _allowed(owner, reason)
    if reason == "other" and not told:
        raise UsageRefused(tr("an answer is missing: why must it not be paid? --reason other wants words with --told."))
    if not told.isprintable():
        raise UsageRefused(
            tr("found --told {told!a}, with a character that is not printed; wanted plain text.", told=told)
        )
    again = notices.asked_again(given["again"])
    stops.check_request(book, account, which, again=bool(again))
    one = notices.to_stop(book, account, which)
    as_ = "camt" if given["as_"] == "camt108" else given["as_"] or ""
    way = notify.way_of(settings, [account], "stopped", given["layout"], as_)
    if given["preview"]:
        from cheque.cli.notice_preview import show_preview

        show_preview(way, notify.notice_of(book, settings, lambda: [one], [account], reason, told, hidden=True))
        return
    path = Path(given["output"]) if given["output"] else None
    made = notify.stop(book, settings, one, way, reason=reason, told=told, path=path, again=again)
    tell_made(made, False)
    say(
        tr(
            "Asking is not stopping: until the bank confirms it, {account}:{which} can be paid. Then: cheque "
            "notice stopped {account}:{which} --confirmed-by NAME",
            account=account,
            which=which,
        )
    )
