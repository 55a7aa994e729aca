"""The bank's answer to requests to stop cheques: held against what was asked, and entered where the two agree."""

from datetime import date
from pathlib import Path
from typing import NamedTuple

from cheque.bank import camt109
from cheque.book import notices, stops
from cheque.book.book import Book
from cheque.errors import InputRefused
from cheque.money import plain
from cheque.settings import Settings
from cheque.settings_bank import lapse_of
from cheque.tongue import tr


class Verdict(NamedTuple):
    """What became of one answer. `odd`: it does not agree with what was asked, and was not entered."""

    number: str
    verdict: str
    entered: bool = False
    odd: bool = False


def enter(book: Book, settings: Settings, path: Path) -> list[Verdict]:
    """Enter a camt.109. InputRefused, and nothing entered, when it is not a whole and sound message."""
    try:
        with path.open("rb") as stream:
            header, answers = camt109.read(stream, path.name)
    except OSError as error:
        raise InputRefused(tr("{path} cannot be read: {strerror}.", path=path, strerror=error.strerror)) from None
    if date.fromisoformat(header.day) > date.today():
        raise InputRefused(
            tr("{path} is of {day}, which is yet to come: nothing of it is entered.", path=path, day=header.day)
        )
    with book.change():
        return [_one(book, settings, header, answer) for answer in answers]


def _one(book: Book, settings: Settings, header: camt109.Header, answer: camt109.Answer) -> Verdict:
    if not (answer.number.isascii() and answer.number.isdigit() and len(answer.number) <= 18):
        return Verdict(ascii(answer.number), tr("no number of ours"), odd=True)
    number = int(answer.number)
    known = [stop for stop in stops.waiting(book, number) if _is_of(settings, stop.account, answer.account)]
    if len(known) > 1:
        names = tr(" and ").join(stop.account for stop in known)
        return Verdict(
            answer.number, tr("asked for on {names}, and the answer does not say which", names=names), odd=True
        )
    if not known:
        return _not_waiting(book, settings, number, answer)
    account = known[0].account
    called = f"{account}:{answer.number}"
    asked = notices.to_stop(book, account, number)
    theirs = (answer.amount, answer.currency, answer.date)
    if theirs != (asked.amount, asked.currency, asked.date):
        was = tr(
            "{amount} {currency} of {date}",
            amount=plain(answer.amount, answer.currency),
            currency=answer.currency,
            date=answer.date,
        )
        ours = tr(
            "{amount} {currency} of {date}",
            amount=plain(asked.amount, asked.currency),
            currency=asked.currency,
            date=asked.date,
        )
        return Verdict(
            called,
            tr("the bank answers of {was}; asked was {ours}: ask it which cheque it stopped", was=was, ours=ours),
            odd=True,
        )
    by = tr("the bank, {name}", name=header.name)
    if answer.status == "accepted":
        owner = settings.accounts.get(account)
        lapses = lapse_of(owner.country, owner.stop, header.day)[0] if owner else ""
        what = stops.Confirmed(by, header.day, lapses=lapses)
        stops.confirm(book, account=account, number=number, what=what)
        return Verdict(called, f"stopped{(tr(', until {lapses}', lapses=lapses) if lapses else '')}", entered=True)
    if answer.status == "rejected":
        told = answer.told if answer.told.isprintable() else ascii(answer.told)
        stops.refuse(book, account=account, number=number, by=by, on=header.day, told=told)
        return Verdict(
            called, tr("NOT STOPPED, it can be paid{it}", it=f": {told}" if told else ""), entered=True, odd=True
        )
    return Verdict(called, tr("status {status!a}, which decides nothing: ask the bank", status=answer.status), odd=True)


def _is_of(settings: Settings, account: str, named: str) -> bool:
    """Whether an account may be the one that an answer names: it is when it names none."""
    if not named or account not in settings.accounts:
        return True
    return _bare(settings.accounts[account].number) == _bare(named)


def _bare(text: str) -> str:
    return "".join(c for c in text if c.isalnum()).upper()


def _not_waiting(book: Book, settings: Settings, number: int, answer: camt109.Answer) -> Verdict:
    """An answer that nothing waits for: heard before, or to a question that was never asked."""
    state = {"accepted": "confirmed", "rejected": "refused"}.get(answer.status, "")
    for stop in stops.of_number(book, number):
        if stop.state == state and _is_of(settings, stop.account, answer.account):
            return Verdict(f"{stop.account}:{answer.number}", tr("in the book already"))
    return Verdict(answer.number, tr("the bank was not asked to stop it, as far as the book knows"), odd=True)
