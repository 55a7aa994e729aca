"""What the bank booked on a cheque number, held against what the book has of that number. Pure: values in, values out.

One rule each, all of them in `RULES`; an item may break several. A payment that breaks none is paid as issued.
"""

import re
import unicodedata
from collections.abc import Callable, Iterator, Sequence
from datetime import date
from typing import NamedTuple

from cheque.book.state import State
from cheque.book.statements import Item
from cheque.control import exchanged, slipped
from cheque.money import digits, plain
from cheque.payment import Role
from cheque.tongue import mark, tr

#: letters of a payee that are enough, when the bank cuts names short
ENOUGH = 16


class Held(NamedTuple):
    """What the book has of a number. `state` is "" when it is on no stock.

    `stopped`: the day on which the bank confirmed a stop, or ""; `lapsed`: the last day on which that held, or "";
    `told`: why it is in its state. Amounts in minor
    units, days ISO 8601; all of the payment's "" and 0 when it carries none.
    """

    state: str
    role: str = ""
    amount: int = 0
    date: str = ""
    payee: str = ""
    stopped: str = ""
    told: str = ""
    lapsed: str = ""

    @property
    def good(self) -> bool:
        """Whether it is a good cheque, so that the ledger has its money as paid out."""
        return self.state == State.PRINTED and self.role == Role.CHEQUE


class Rules(NamedTuple):
    """What an account goes by."""

    currency: str
    stale_after_days: int


class Exception_(NamedTuple):  # noqa: N801  # the trade's word for what does not agree
    """One thing about an item that does not agree. `kind`: one of `KINDS`; `text`: for people."""

    kind: str
    text: str


class Case(NamedTuple):
    """An item that names a cheque, what the book has of it, and the earlier items that name it, by day."""

    item: Item
    held: Held
    earlier: Sequence[Item]
    rules: Rules

    def money(self, minor: int) -> str:
        """An amount for people."""
        return plain(minor, self.rules.currency)


#: kind -> its title in a report
KINDS = {
    "amount": mark("Paid with another amount"),
    "never issued": mark("Number never issued"),
    "on hand": mark("Form on hand, and paid"),
    "in doubt": mark("Form not yet confirmed as printed, and paid"),
    "spoiled": mark("Spoiled form, and paid"),
    "missing": mark("Missing form, and paid"),
    "destroyed": mark("Destroyed form, and paid"),
    "voided": mark("Void cheque, and paid"),
    "advice": mark("Advice, no cheque, and paid"),
    "stopped": mark("Stopped, and paid all the same"),
    "twice": mark("Paid twice"),
    "early": mark("Paid before its date"),
    "stale": mark("Paid stale"),
    "payee": mark("Paid to another payee"),
    "taken back": mark("Payment taken back"),
    "unreadable": mark("Cheque number that cannot be read"),
    "credit": mark("Credit that names a cheque"),
}
_STATES = {
    "": ("never issued", mark("a number that is on no stock of the book")),
    State.ON_HAND: ("on hand", mark("the form is in the box, by the book: look for it; its number may be forged")),
    State.RESERVED: ("in doubt", mark("the form waits for a run")),
    State.SENT: ("in doubt", mark("nobody has yet said what became of the form")),
    State.SPOILED: ("spoiled", mark("the form was spoiled")),
    State.MISSING: ("missing", mark("the form is missing")),
    State.DESTROYED: ("destroyed", mark("the form was destroyed")),
    State.VOIDED: ("voided", mark("the cheque is void")),
}


def judge(case: Case) -> list[Exception_]:
    """Everything about an item that does not agree; empty when it is paid as issued."""
    if case.item.amount > 0:
        return list(_taken_back(case))
    return [found for rule in RULES for found in rule(case)]


def _taken_back(case: Case) -> Iterator[Exception_]:
    if paid_before(case.earlier):
        yield Exception_("taken back", tr("{amount} given back: ask the bank why", amount=case.money(case.item.amount)))
    else:
        yield Exception_(
            "taken back",
            tr("{amount} given back, of a payment that no statement has", amount=case.money(case.item.amount)),
        )


def _state(case: Case) -> Iterator[Exception_]:
    if case.held.state in _STATES:
        kind, text = _STATES[case.held.state]
        yield Exception_(kind, tr(text) + (f" ({case.held.told})" if case.held.told else ""))
    elif case.held.role != Role.CHEQUE:
        yield Exception_("advice", tr("the form is an advice, which cannot be paid"))


def _amount(case: Case) -> Iterator[Exception_]:
    paid, issued = -case.item.amount, case.held.amount
    if case.held.state != State.PRINTED or case.held.role != Role.CHEQUE or paid == issued:
        return
    off = paid - issued
    figures = {"paid": case.money(paid), "issued": case.money(issued), "off": case.money(abs(off))}
    text = (
        tr("paid {paid}, issued for {issued}: {off} too much", **figures)
        if off > 0
        else tr("paid {paid}, issued for {issued}: {off} too little", **figures)
    )
    if exchanged(paid, issued, digits(case.rules.currency) + 1):
        text += tr("; two digits are exchanged")
    elif slipped(paid, issued):
        text += tr("; the decimal point has slipped")
    elif len(str(paid)) == len(str(issued)):
        places = [at for at, (a, b) in enumerate(zip(str(paid), str(issued), strict=True)) if a != b]
        if len(places) == 1:
            text += tr(
                "; one digit differs, {paid} for {issued}", paid=str(paid)[places[0]], issued=str(issued)[places[0]]
            )
    yield Exception_("amount", text)


def _stopped(case: Case) -> Iterator[Exception_]:
    if not case.held.stopped or (case.held.lapsed and case.item.booked > case.held.lapsed):
        return
    if case.held.stopped <= case.item.booked:
        yield Exception_(
            "stopped", tr("the bank confirmed on {stopped} that it would not pay it", stopped=case.held.stopped)
        )
    elif case.held.state == State.PRINTED:
        yield Exception_(
            "stopped", tr("the stop was confirmed on {stopped}, after it was paid", stopped=case.held.stopped)
        )


def _twice(case: Case) -> Iterator[Exception_]:
    before = paid_before(case.earlier)
    if before:
        yield Exception_(
            "twice", tr("paid before, on {booked}: {amount}", booked=before.booked, amount=case.money(-before.amount))
        )


def _early(case: Case) -> Iterator[Exception_]:
    if case.held.date and case.item.booked < case.held.date and case.held.good:
        yield Exception_("early", tr("it is dated {date}", date=case.held.date))


def _stale(case: Case) -> Iterator[Exception_]:
    if not (case.held.date and case.held.good):
        return
    age = (date.fromisoformat(case.item.booked) - date.fromisoformat(case.held.date)).days
    if age > case.rules.stale_after_days:
        days = tr("stale after {stale_after_days}", stale_after_days=case.rules.stale_after_days)
        yield Exception_(
            "stale", tr("{age} days after its date, {date}; {days}", age=age, date=case.held.date, days=days)
        )


def _payee(case: Case) -> Iterator[Exception_]:
    if case.item.payee and case.held.good and not same_payee(case.item.payee, case.held.payee):
        yield Exception_(
            "payee", tr("paid to {payee!r}, issued to {payee2!r}", payee=case.item.payee, payee2=case.held.payee)
        )


RULES: tuple[Callable[[Case], Iterator[Exception_]], ...] = (
    *(_state, _amount, _stopped, _twice),
    *(_early, _stale, _payee),
)


def other(item: Item) -> Iterator[Exception_]:
    """What is to be said of an item that pays no cheque of ours but speaks of one."""
    match = re.match(r"cheque number (.{1,35}?)(?:; |$)", item.about)
    if match and item.amount < 0:
        yield Exception_("unreadable", tr("the bank gives it as {match!r}", match=match[1]))
    elif match:
        yield Exception_(
            "credit", tr("it names {match!r}: is it a payment taken back, or a cheque paid in?", match=match[1])
        )


def in_order(items: Sequence[Item], issued: int) -> list[Item]:
    """The items of one number as they count: by day, paid before given back, the amount that was issued first."""
    return sorted(items, key=lambda i: (i.booked, i.amount > 0, -i.amount != issued, i.amount, i.nth))


def paid_before(earlier: Sequence[Item]) -> Item | None:
    """The first payment among earlier items that was not given back since, or None."""
    standing: list[Item] = []
    for item in earlier:
        if item.amount < 0:
            standing.append(item)
        elif standing:
            same = next((one for one in standing if one.amount == -item.amount), standing[-1])
            standing.remove(same)
    return standing[0] if standing else None


def same_payee(one: str, other: str) -> bool:
    """Whether two names are of one payee: capitals, marks, accents and blanks aside, or one cut short.

    >>> same_payee("ADA THWAITE", "Ada Thwaite"), same_payee("Zoe Muller", "Zoë Müller")
    (True, True)
    >>> same_payee("HALYARD AND SPAR CHANDL", "Halyard & Spar Chandlery"), same_payee("Ada", "Ada Thwaite")
    (True, False)
    """
    a, b = _letters(one), _letters(other)
    short, long = sorted((a, b), key=len)
    return a == b or (len(short) >= ENOUGH and long.startswith(short))


def _letters(name: str) -> str:
    plainly = unicodedata.normalize("NFKD", name.replace("&", " and ").casefold())
    return "".join(letter for letter in plainly if letter.isalnum())
