"""Stops: those that lapsed or soon will, those asked for, refused, and in force; and cheques that want one.

A stop lapses (United States: after six months, after fourteen days when only spoken, UCC § 4-403(b); elsewhere as the
bank says). One that lapsed stops nothing: the bank may pay the cheque, unless it finds it stale.
"""

from collections.abc import Iterator
from datetime import date, timedelta

from cheque.book import stops
from cheque.book.book import Reader
from cheque.book.state import State
from cheque.book.stops import Stop
from cheque.reconcile.written import Preprinted, Written, within, written
from cheque.report.page import Cell, Column, Group, Kind, Money, Place, Report, Row, Table, line_of
from cheque.report.parts import account_facts, accounts_of, firm
from cheque.report.when import When
from cheque.settings import Settings
from cheque.settings_bank import WARN_DAYS
from cheque.tongue import mark, tr

COLUMNS = (
    Column("number", "Number", Kind.NUMBER),
    Column("payee", "Payee"),
    Column("amount", "Amount", Kind.MONEY),
    Column("until", "Holds until", Kind.DATE),
    Column("days", "Days", Kind.COUNT),
    Column("by", "By", place=Place.BELOW),
    Column("reason", "Reason", place=Place.BELOW),
    Column("account", place=Place.DATA),
    Column("on", place=Place.DATA, kind=Kind.DATE),
    Column("spoken", place=Place.DATA),
)
LAPSED, SOON, ASKED, REFUSED, WANTED, UNKNOWN, HOLDS = (
    mark("LAPSED: the bank may pay these"),
    mark("Lapse soon: renew them"),
    mark("Asked for, not confirmed: the bank may pay these"),
    mark("Refused by the bank"),
    mark("Void and out of hand, no stop asked for"),
    mark("Confirmed; until when is not known: ask your bank"),
    mark("In force"),
)
_ORDER = (LAPSED, SOON, ASKED, REFUSED, WANTED, UNKNOWN, HOLDS)


def build(reader: Reader, settings: Settings, when: When, *, account: str = "", days: int | None = None) -> Report:
    """Every stop, of one account or of all; `days`: how soon one lapses to be listed for renewal."""
    numbers = Preprinted(reader)
    today = when.today
    groups: dict[str, list[Row]] = {title: [] for title in _ORDER}
    names = []
    for stop in stops.every(reader, account=account):
        form = next(within(reader, stop.account, stop.number, stop.number), None)
        if form is not None:
            names.append(stop.account)
            groups[_group(stop, today, _warn(settings, stop.account, days))].append(_row(stop, form, today, numbers))
    known = {(stop.account, stop.number) for stop in stops.every(reader, account=account) if stop.state != "refused"}
    for form in written(reader, states=(State.VOIDED,), account=account):
        if form.stop == "needed" and (form.account, form.number) not in known:
            names.append(form.account)
            groups[WANTED].append(_row(None, form, today, numbers))
    accounts = accounts_of(sorted(set(names)), account, settings)
    return Report(
        "stops",
        tr("Stops at the bank"),
        firm(settings, accounts),
        when.as_of,
        when.read,
        facts=tuple(account_facts(settings, accounts)),
        tables=(
            Table(
                "stops",
                "",
                COLUMNS,
                tuple(Group(title, tuple(rows)) for title, rows in groups.items() if rows),
                empty=tr("No cheque is stopped, nor was a stop asked for."),
            ),
        ),
        notes=tuple(_notes(groups)),
    )


def _warn(settings: Settings, account: str, days: int | None) -> int:
    if days is not None:
        return days
    return settings.accounts[account].stop.warn_days if account in settings.accounts else WARN_DAYS


def _group(stop: Stop, today: date, warn: int) -> str:
    if stop.state == "requested":
        return ASKED
    if stop.state == "refused":
        return REFUSED
    if not stop.lapses:
        return UNKNOWN
    if not stop.holds(today.isoformat()):
        return LAPSED
    return SOON if stop.lapses <= (today + timedelta(days=warn)).isoformat() else HOLDS


def _row(stop: Stop | None, form: Written, today: date, numbers: Preprinted) -> Row:
    cells: dict[str, Cell] = {
        "number": numbers.of(form),
        "payee": form.payee,
        "amount": None if form.amount is None else Money(form.amount, form.currency),
        "account": form.account,
    }
    if stop is not None:
        until = date.fromisoformat(stop.lapses) if stop.lapses else None
        who = (
            f"{stop.by_whom}, " if stop.by_whom else tr("notice {notice}, ", notice=stop.notice) if stop.notice else ""
        )
        cells |= {
            "until": stop.lapses,
            "days": (until - today).days if until else None,
            "by": f"{who}{stop.on_day}{(tr(', only spoken') if stop.spoken else '')}",
            "reason": ": ".join(part for part in (stop.reason, stop.told) if part),
            "on": stop.on_day,
            "spoken": "yes" if stop.spoken else "no",
        }
    return line_of(COLUMNS, cells)


def _notes(groups: dict[str, list[Row]]) -> Iterator[str]:
    if groups[LAPSED]:
        yield tr("A lapsed stop is not renewed: ask for a new one, and whether the cheque was paid meanwhile.")
    if groups[SOON]:
        yield tr("Renew in writing, while the stop holds: cheque notice stopped NUMBER --renew --confirmed-by NAME.")
    if groups[ASKED] or groups[WANTED]:
        yield tr("Only what the bank confirmed is stopped.")
