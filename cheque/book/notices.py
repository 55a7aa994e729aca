"""What the bank was told, and what it has yet to be told: notices of cheques issued, void, and to be stopped.

A notice is made (a file), sent (by a person, in the bank's own way), and accepted or refused by the bank. A number
goes out once for each mark, with the payment that it bears, unless somebody asks for it again and says why. What a
refused notice told was not told.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import NamedTuple

from cheque.book import stock
from cheque.book.book import Book, Change, Reader
from cheque.book.move import ranges_of
from cheque.book.state import State
from cheque.errors import BookRefused, UsageRefused
from cheque.tongue import tr


class Made(NamedTuple):
    """A notice as the book has it. `state`: made, sent, accepted, refused; `by` and `on`: by whom, and on what day."""

    id: int
    what: str
    written: str
    name: str
    file: str
    items: int
    state: str
    by_whom: str
    on_day: str
    reason: str
    at: str
    seq: int


class Tell(NamedTuple):
    """One cheque that the bank is to be told of; `earlier` is the instruction that told of its issue, or ""."""

    mark: str
    account: str
    number: int
    digits: int
    batch: int
    item: int
    payee: str
    amount: int
    currency: str
    date: str
    reference: str
    earlier: str

    @property
    def text(self) -> str:
        """The number as it is preprinted."""
        return str(self.number).zfill(self.digits)


_COLUMNS = ", ".join(Made._fields)
#: the notices in which the bank was told of number `n` with the payment that it bears
_TOLD = """FROM notified t WHERE t.account = n.account AND t.number = n.number AND t.batch = n.batch
    AND t.item = n.item AND t.live = 1 AND t.mark"""
_EARLIER = f"""coalesce((SELECT max(m.name) FROM notice m WHERE m.id = (SELECT max(t.notice) {_TOLD} = 'issue')
    AND m.written = 'camt.107'), '')"""
_FORM = f"""n.account, n.number, s.digits, n.batch, n.item, c.payee, c.amount, b.currency, c.date, c.reference,
    {_EARLIER} FROM number n JOIN stock s ON s.id = n.stock JOIN claim c ON c.batch = n.batch AND c.item = n.item
    JOIN batch b ON b.id = n.batch WHERE n.role = 'cheque'"""
#: a good cheque, which is not stopped; and a void one that the bank thinks good, its paper in hand
_ISSUED = "n.state = 'printed' AND n.stop NOT IN ('confirmed', 'requested')"
_VOIDED = f"""n.state = 'voided' AND n.stop NOT IN ('confirmed', 'requested', 'needed')
    AND EXISTS (SELECT 1 {_TOLD} = 'issue')"""


def get(reader: Reader, notice: int) -> Made:
    """A notice by its number. BookRefused when there is none."""
    row = reader.row(f"SELECT {_COLUMNS} FROM notice WHERE id = ?", notice)
    if row is None:
        raise BookRefused(tr("there is no notice {notice}. `cheque notice list` shows those there are.", notice=notice))
    return Made(*row)


def every(reader: Reader) -> Iterator[Made]:
    """All notices, the oldest first."""
    return (Made(*row) for row in reader.rows(f"SELECT {_COLUMNS} FROM notice ORDER BY id"))


def to_tell(reader: Reader, some: Sequence[int], *, again: bool = False) -> Iterator[Tell]:
    """The cheques of batches that the bank has not been told of, by account and number, reprints of theirs included.

    Good ones as issued; those voided, their paper in hand, after the bank was told of them, as void. `again`: those
    that it has been told of as well.
    """
    marks = ", ".join("?" * len(some))
    parts = []
    for mark, which in (("issue", _ISSUED), ("void", _VOIDED)):
        new = "" if again else f"AND NOT EXISTS (SELECT 1 {_TOLD} = '{mark}')"
        parts.append(
            f"SELECT '{mark}', {_FORM} AND {which} {new} AND (n.batch IN ({marks}) OR n.origin_batch IN ({marks}))"
        )
    sql = f"{' UNION ALL '.join(parts)} ORDER BY 2, 3"
    return (Tell(*row) for row in reader.rows(sql, *some, *some, *some, *some))


def to_stop(reader: Reader, account: str, number: int) -> Tell:
    """A cheque as the bank is asked to stop it. BookRefused when the form bears no cheque."""
    row = reader.row(f"SELECT 'stop', {_FORM} AND n.account = ? AND n.number = ?", account, number)
    if row is None:
        box = stock.range_of(reader, account, number)
        raise BookRefused(
            tr(
                "number {number} of {account} bears no cheque: there is no amount to tell the bank. Ask it by "
                "telephone, and enter what it confirms with --confirmed-by.",
                number=box.text(number),
                account=account,
            )
        )
    return Tell(*row)


def told(reader: Reader, account: str, number: int, mark: str = "issue") -> int:
    """The latest notice by which the bank was told of a number with the payment it bears; 0 when by none."""
    found = reader.value(
        "SELECT max(x.notice) FROM number n JOIN notified x ON x.account = n.account AND x.number = n.number "
        "AND x.batch = n.batch AND x.item = n.item AND x.live = 1 AND x.mark = ? "
        "WHERE n.account = ? AND n.number = ?",
        mark,
        account,
        number,
    )
    return int(found or 0)


def told_otherwise(reader: Reader, one: Tell) -> bool:
    """Whether the bank was told of this number with another payment (the cheques were renumbered since)."""
    return bool(
        reader.value(
            "SELECT 1 FROM notified WHERE account = ? AND number = ? AND mark = 'issue' AND live = 1 "
            "AND NOT (batch = ? AND item = ?) LIMIT 1",
            one.account,
            one.number,
            one.batch,
            one.item,
        )
    )


def next_id(reader: Reader) -> int:
    """The number that the next notice will have."""
    return int(reader.value("SELECT max(id) FROM notice") or 0) + 1


def name_of(reader: Reader, notice: int) -> str:
    """A notice's name, unlike that of any other book's: the beginning of the book's identity, and its number."""
    return f"{reader.identity[:8].upper()}-{notice:06d}"


class Telling:
    """Gathers what a notice tells of, in order, as ranges and totals: for the event."""

    def __init__(self) -> None:
        self.items = 0
        self._numbers: dict[tuple[str, str], list[int]] = {}
        self._totals: dict[str, int] = {}

    def add(self, one: Tell) -> None:
        """One more."""
        self.items += 1
        self._totals[one.currency] = self._totals.get(one.currency, 0) + one.amount
        self._numbers.setdefault((one.account, one.mark), []).append(one.number)

    @property
    def numbers(self) -> list[list[str | int]]:
        """[account, mark, first, last] each."""
        return [
            [account, mark, first, last]
            for (account, mark), numbers in self._numbers.items()
            for first, last in ranges_of(numbers)
        ]

    @property
    def totals(self) -> list[list[str | int]]:
        """[currency, minor units] each."""
        return [[currency, total] for currency, total in self._totals.items()]


class File(NamedTuple):
    """The file of a notice: how it is written, its name, its SHA-256, and the text of the layout or ""."""

    written: str
    file: str
    digest: str
    layout: str = ""


def make(change: Change, notice: int, what: str, telling: Telling, file: File, again: str = "") -> None:
    """Enter a notice that was made; the caller has its file in place, in the same change."""
    change.append(
        "notice.made",
        {
            "notice": notice,
            "what": what,
            "written": file.written,
            "name": name_of(Reader(change.store), notice),
            "file": file.file,
            "digest": file.digest,
            "layout": change.keep(file.layout) if file.layout else "",
            "numbers": telling.numbers,
            "items": telling.items,
            "totals": telling.totals,
            "again": again,
        },
    )


def settle(book: Book, notice: int, state: str, *, by: str, on: str, reason: str = "") -> Made:
    """A notice was sent, accepted or refused: by whom, on what day (ISO 8601), and why when refused."""
    by = stock.said(by, tr("by whom? Give the name with --by."))
    on = date.fromisoformat(on).isoformat()
    body: dict[str, str | int] = {"notice": notice, "by": by, "on": on}
    if state == "refused":
        body["reason"] = stock.said(reason, tr("why did the bank refuse it? Give its words with --reason."))
    with book.change() as change:
        found = get(book, notice)
        allowed = ("made",) if state == "sent" else ("sent",)
        if found.state not in allowed:
            hint = tr(" Say first that it went out: `cheque notice sent`.") if found.state == "made" else ""
            raise BookRefused(
                tr(
                    "notice {notice} is {state}, so it cannot become {to}.{hint}",
                    notice=notice,
                    state=tr(found.state),
                    to=tr(state),
                    hint=hint,
                )
            )
        change.append(f"notice.{state}", body)
    return get(book, notice)


def of_stop(found: State) -> bool:
    """Whether a bank can be asked to stop a form in this state: only what left the box can be presented."""
    return found in (State.PRINTED, State.VOIDED, State.MISSING, State.SPOILED)


def untold(reader: Reader, account: str, numbers: Iterable[int]) -> tuple[list[int], dict[int, list[int]]]:
    """Of good cheques: those that no notice tells of; and by notice those whose notice is only made, not sent."""
    never: list[int] = []
    unsent: dict[int, list[int]] = {}
    for number in numbers:
        notice = told(reader, account, number)
        if not notice:
            never.append(number)
        elif get(reader, notice).state == "made":
            unsent.setdefault(notice, []).append(number)
    return never, unsent


def voided_since(reader: Reader, account: str, batch: int = 0) -> list[tuple[int, int, str]]:
    """Cheques voided after the bank was told of them, which it has not been told to refuse: (number, digits, stop)."""
    sql = (
        "SELECT n.number, s.digits, n.stop FROM notified x JOIN number n ON n.account = x.account "
        "AND n.number = x.number AND n.batch = x.batch AND n.item = x.item JOIN stock s ON s.id = n.stock "
        "WHERE n.account = ? AND n.state = 'voided' AND x.mark = 'issue' AND x.live = 1 "
        f"AND n.stop NOT IN ('confirmed', 'requested') AND NOT EXISTS (SELECT 1 {_TOLD} IN ('void', 'stop'))"
    )
    some = " AND n.batch = ?" if batch else ""
    rows = reader.rows(
        f"{sql}{some} GROUP BY n.number, s.digits, n.stop ORDER BY n.number", account, *([batch] * bool(batch))
    )
    return [(row[0], row[1], row[2]) for row in rows]


def asked_again(reason: str) -> str:
    """Why numbers go out again, or ""; UsageRefused when it is no plain text."""
    if reason and not reason.isprintable():
        raise UsageRefused(
            tr("found --again {reason!a}, with a character that is not printed; wanted plain text.", reason=reason)
        )
    return reason.strip()
