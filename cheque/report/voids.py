"""Forms that are no good cheques: voided, spoiled and missing; why, where the paper is, what replaced them.

A voided cheque out of hand can still be presented: the report says whether the bank confirmed a stop. A stop
lapses (United States: six months, fourteen days if only spoken, UCC § 4-403(b)), so the day is shown.
"""

from collections.abc import Iterator

from cheque.book import stops
from cheque.book.book import Reader
from cheque.book.state import LIVE, State
from cheque.payment import Role
from cheque.reconcile.written import Preprinted, Written, written
from cheque.report.page import Cell, Column, Group, Kind, Money, Place, Report, Row, Table, Total, line_of
from cheque.report.parts import account_facts, accounts_of, counted, firm, money_of
from cheque.report.standing import event, number_events
from cheque.report.when import When, local_day
from cheque.settings import Settings
from cheque.tongue import mark, tr

COLUMNS = (
    Column("number", "Number", Kind.NUMBER),
    Column("on", "On", Kind.DATE),
    Column("payee", "Payee"),
    Column("amount", "Amount", Kind.MONEY),
    Column("reason", "Reason"),
    Column("paper", "Paper", place=Place.BELOW),
    Column("stop", "Stop", place=Place.BELOW),
    Column("replaced_by", "Replaced by", place=Place.BELOW),
    Column("account", place=Place.DATA),
    Column("state", place=Place.DATA),
    Column("forms", place=Place.DATA, kind=Kind.COUNT),
    Column("batch", place=Place.DATA, kind=Kind.COUNT),
    Column("payment", place=Place.DATA, kind=Kind.COUNT),
)
_TITLES = {
    State.VOIDED: ("voided", mark("Voided: good cheques cancelled before they were paid"), mark("None was voided.")),
    State.SPOILED: ("spoiled", mark("Spoiled: forms used up without becoming good cheques"), mark("None was spoiled.")),
    State.MISSING: ("missing", mark("Missing: forms that ought to be there and are not"), mark("None is missing.")),
}


def build(reader: Reader, settings: Settings, when: When, *, batch: int = 0, account: str = "") -> Report:
    """The forms of a batch, of an account, or all of them that are voided, spoiled or missing."""
    forms = list(written(reader, states=tuple(_TITLES), batch=batch, account=account))
    accounts = accounts_of((form.account for form in forms), account, settings)
    telling = _Telling(reader, Preprinted(reader), stops.lapsed_by(reader, when.today.isoformat()))
    return Report(
        "voids",
        tr("Voided, spoiled and missing") + (tr(", batch {batch}", batch=batch) if batch else ""),
        firm(settings, accounts),
        when.as_of,
        when.read,
        facts=tuple(account_facts(settings, accounts)),
        tables=tuple(_table(state, [f for f in forms if f.state == state], telling) for state in _TITLES),
        notes=tuple(_notes(forms, telling)),
    )


def _table(state: State, forms: list[Written], telling: "_Telling") -> Table:
    key, title, empty = _TITLES[state]
    by_account: dict[str, list[Written]] = {}
    for form in forms:
        by_account.setdefault(form.account, []).append(form)
    groups = tuple(
        Group(tr("Account {name}", name=name) if len(by_account) > 1 else "", tuple(telling.rows(some)))
        for name, some in by_account.items()
    )
    money = sorted({form.currency for form in forms if form.currency}) if state is not State.SPOILED else []
    totals = [
        Total(
            counted(sum(1 for form in forms if form.currency == currency and form.role == Role.CHEQUE)),
            line_of(COLUMNS, {"amount": money_of((f for f in forms if f.currency == currency), currency)}),
        )
        for currency in money
    ]
    blank = sum(1 for form in forms if not form.batch)
    if blank:
        totals.append(Total(tr("{forms} that bore no payment", forms=counted(blank, "form")), line_of(COLUMNS, {})))
    return Table(key, title, COLUMNS, groups, tuple(totals), empty=empty)


def _notes(forms: list[Written], telling: "_Telling") -> Iterator[str]:
    needed = [telling.numbers.of(form) for form in forms if _may_be_paid(form)]
    if needed:
        yield tr(
            "No stop is confirmed for {needed}: voiding stops nothing, only the bank can.", needed=", ".join(needed)
        )
    past = [telling.numbers.of(form) for form in forms if (form.account, form.number) in telling.lapsed]
    if past:
        yield (
            tr(
                "The stop of {past} HAS LAPSED: the bank may pay it. Ask for a new one, and whether it was paid "
                "meanwhile.",
                past=", ".join(past),
            )
        )


def _may_be_paid(form: Written) -> bool:
    """Whether somebody may hold a cheque that is not good, with no stop confirmed."""
    if form.role != Role.CHEQUE:
        return False
    return form.stop in ("needed", "requested") or (form.state == State.MISSING and form.sent > 0 and not form.stop)


class _Telling:
    """Says what there is to say of a form."""

    def __init__(self, reader: Reader, numbers: Preprinted, lapsed: dict[tuple[str, int], str]) -> None:
        self.reader, self.numbers, self.lapsed = reader, numbers, lapsed

    def rows(self, forms: list[Written]) -> Iterator[Row]:
        """A row for each form; neighbours that bore no payment and went the same way share one."""
        for first, last in _stretches(forms):
            yield self._row(first, last)

    def _row(self, form: Written, last: int) -> Row:
        cells: dict[str, Cell] = {
            "number": self.numbers.stretch(form.stock, form.number, last),
            "on": local_day(event(self.reader, form.seq).at),
            "payee": form.payee,
            "amount": self._amount(form),
            "reason": form.reason,
            "paper": {State.VOIDED: form.custody, State.MISSING: tr("not found")}.get(State(form.state), ""),
            "stop": self._stop(form),
            "replaced_by": self._replaced(form),
            "account": form.account,
            "state": form.state,
            "forms": last - form.number + 1,
            "batch": form.batch or None,
            "payment": form.item or None,
        }
        return line_of(COLUMNS, cells)

    @staticmethod
    def _amount(form: Written) -> Money | None:
        """A spoiled form is no money; a missing one may have become some."""
        if form.amount is None or form.state == State.SPOILED or form.role == Role.CONTINUATION:
            return None
        return Money(form.amount, form.currency)

    def _stop(self, form: Written) -> str:
        if form.stop == "confirmed":
            kinds = ("stop.confirmed", "stop.renewed")
            told = list(number_events(self.reader, form.account, form.number, kinds))[-1].data
            on = tr(" on {on}", on=told["on"]) if told.get("on") else ""
            past = self.lapsed.get((form.account, form.number))
            if past:
                return tr("LAPSED after {past}; it was confirmed by {by}{on}", past=past, by=told["by"], on=on)
            return tr("confirmed by {by}{on}", by=told["by"], on=on) + (
                tr(", until {lapses}", lapses=told["lapses"]) if told.get("lapses") else ""
            )
        if form.stop == "overridden":
            told = list(number_events(self.reader, form.account, form.number, ("stop.overridden",)))[-1].data
            return tr("not confirmed; printed again all the same: {reason}", reason=told["reason"])
        if form.stop == "requested":
            return tr("asked for, NOT CONFIRMED")
        if _may_be_paid(form):
            return "NOT CONFIRMED"
        return ""

    def _replaced(self, form: Written) -> str:
        """The number that carries the payment now, or what it waits for."""
        if not form.batch or form.role == Role.CONTINUATION:
            return ""
        later = list(
            self.reader.rows(
                "SELECT number, stock, state, batch FROM number WHERE origin_batch = ? AND origin_item = ? "
                "AND NOT (account = ? AND number = ?) AND role <> 'continuation' ORDER BY taken",
                form.origin_batch,
                form.origin_item,
                form.account,
                form.number,
            )
        )
        for number, stock, state, batch in later:
            if state in LIVE:
                doubt = "" if state == State.PRINTED else f", {state}"
                return tr(
                    "{stock} (batch {batch}{doubt})", stock=self.numbers.text(stock, number), batch=batch, doubt=doubt
                )
        waiting = self.reader.value(
            "SELECT c.batch FROM claim c JOIN batch b ON b.id = c.batch WHERE c.origin_batch = ? AND "
            "c.origin_item = ? AND c.batch > ? AND c.pulled = '' AND b.state = 'accepted' "
            "ORDER BY c.batch DESC LIMIT 1",
            form.origin_batch,
            form.origin_item,
            form.batch,
        )
        if waiting:
            return tr("batch {waiting}, not printed yet", waiting=waiting)
        if form.state != State.VOIDED:
            return self._pulled(form) or tr("nothing yet")
        return self._pulled(form) or self._disposed(form) or tr("nothing: not printed again")

    def _disposed(self, form: Written) -> str:
        said = self.reader.row(
            "SELECT disposition, reason FROM disposition WHERE account = ? AND number = ?", form.account, form.number
        )
        return tr("nothing: {said} ({said2})", said=said[0], said2=said[1]) if said else ""

    def _pulled(self, form: Written) -> str:
        reason = self.reader.value("SELECT pulled FROM claim WHERE batch = ? AND item = ?", form.batch, form.item)
        return tr("nothing: the payment was pulled ({reason})", reason=reason) if reason else ""


def _stretches(forms: list[Written]) -> Iterator[tuple[Written, int]]:
    """The first form and the last number of each stretch."""
    first: Written | None = None
    last = 0
    for form in forms:
        if first is not None and _goes_on(first, last, form):
            last = form.number
            continue
        if first is not None:
            yield first, last
        first, last = form, form.number
    if first is not None:
        yield first, last


def _goes_on(first: Written, last: int, form: Written) -> bool:
    if first.batch or form.batch or form.number != last + 1:
        return False
    return (first.stock, first.reason, first.stop, first.seq) == (form.stock, form.reason, form.stop, form.seq)
