"""What is still owed when a cheque is void: a voided cheque is no payment, and voiding a wage does not cancel it.

Behind every voided cheque stands a debt, until its payment is printed again, the bank has paid it all the same, or
somebody says, with a reason, that it is not owed or was paid otherwise. Saying nothing leaves it owed.
"""

from collections.abc import Iterator
from typing import NamedTuple

from cheque.book import cleared, stock
from cheque.book.apply.owed import DISPOSITIONS as DISPOSITIONS
from cheque.book.apply.owed import SETTLED as SETTLED
from cheque.book.book import Book, Change, Reader
from cheque.book.state import WASTE
from cheque.errors import BookRefused, UsageRefused
from cheque.tongue import tr


class Debt(NamedTuple):
    """What stands behind a voided or missing cheque whose payment is on no good form and was not paid by the bank.

    `amount` in minor units; `date` is the cheque's own, ISO 8601; `disposition` "" when nobody decided; `waits`: the
    batch in which the payment waits to be printed again, 0 when in none; `custody` and `stop` as the number has them.
    """

    account: str
    number: int
    stock: int
    state: str
    batch: int
    item: int
    payee: str
    amount: int
    date: str
    reference: str
    currency: str
    custody: str
    stop: str
    why: str
    disposition: str
    reason: str
    waits: int

    @property
    def settled(self) -> bool:
        """Whether nothing is to be paid any more."""
        return self.disposition in SETTLED


_SQL = f"""SELECT n.account, n.number, n.stock, n.state, n.batch, n.item, c.payee, c.amount, c.date, c.reference,
    b.currency, n.custody, n.stop, n.reason, coalesce(d.disposition, ''), coalesce(d.reason, ''),
    coalesce((SELECT max(w.batch) FROM claim w JOIN batch wb ON wb.id = w.batch WHERE w.origin_batch = n.origin_batch
        AND w.origin_item = n.origin_item AND w.origin_batch <> w.batch AND w.batch > n.batch AND w.pulled = ''
        AND wb.state = 'accepted'), 0)
    FROM number n JOIN claim c ON c.batch = n.batch AND c.item = n.item JOIN batch b ON b.id = n.batch
    LEFT JOIN disposition d ON d.account = n.account AND d.number = n.number
    WHERE n.{WASTE} AND n.state IN ('voided', 'missing')
    AND n.role = 'cheque' AND (n.state = 'voided' OR n.sent > 0)
    AND NOT EXISTS (SELECT 1 FROM number m WHERE m.origin_batch = n.origin_batch AND m.origin_item = n.origin_item
        AND m.role <> 'continuation'
        AND (m.state IN ('reserved', 'sent', 'printed') OR m.state IN ('voided', 'missing') AND m.taken > n.taken))
    AND NOT EXISTS (SELECT 1 FROM number m JOIN cleared p ON p.account = m.account AND p.number = m.number
        WHERE m.origin_batch = n.origin_batch AND m.origin_item = n.origin_item)"""


def every(reader: Reader, *, account: str = "", batch: int = 0) -> Iterator[Debt]:
    """What is behind voided and missing cheques, the settled too, by account and number.

    A payment that was printed again and voided again is there once, with its latest number.
    """
    # "|| ''": by the index of forms that are no good cheque, and not through all the account's
    sql = f"{_SQL} AND n.account || '' = ?{' AND n.batch = ?' if batch else ''} ORDER BY n.number"
    names = [account] if account else [row[0] for row in reader.rows("SELECT DISTINCT account FROM stock ORDER BY 1")]
    for name in names:
        for row in reader.rows(sql, name, *([batch] if batch else [])):
            yield Debt(*row)


def judged(disposition: str) -> str:
    """A disposition. UsageRefused when it is none."""
    if disposition not in DISPOSITIONS:
        raise UsageRefused(
            tr(
                "found {disposition!r}; wanted one of {dispositions}.",
                disposition=disposition,
                dispositions=", ".join(DISPOSITIONS),
            )
        )
    return disposition


def append(change: Change, account: str, number: int, disposition: str, reason: str) -> None:
    """Say what becomes of the debt, within a change that has looked at everything else."""
    body = {"account": account, "number": number, "disposition": disposition, "reason": reason}
    change.append("cheque.disposed", body)


def dispose(book: Book, *, account: str, number: int, disposition: str, reason: str) -> Debt:
    """Say what becomes of the debt behind a voided cheque; it may be said anew. Gives it as it was before.

    BookRefused when there is none: the cheque is not void, was printed again, or the bank paid it.
    """
    judged(disposition)
    reason = stock.said(reason, tr("why? A debt is decided for a reason: give it with --reason."))
    with book.change() as change:
        found = _debt(book, account, number)
        if found.waits and disposition in SETTLED:
            raise BookRefused(
                tr(
                    "the payment of number {called} waits to be printed again as batch {waits}: `cheque batch "
                    "withdraw {waits}`, or pull it there, first, or it is paid twice.",
                    called=_called(book, account, number),
                    waits=found.waits,
                )
            )
        append(change, account, number, disposition, reason)
    return found


def bar(reader: Reader, account: str, number: int, name: str) -> None:
    """Refuse to print again what is not owed any more. `name`: the number as people call it."""
    row = reader.row("SELECT disposition, reason FROM disposition WHERE account = ? AND number = ?", account, number)
    if row and row[0] in SETTLED:
        raise BookRefused(
            tr(
                "the payment of number {name} is {disposition} ({reason}): it is not printed again. If that is wrong, "
                "`cheque disposition {account}:{number} reissue --reason …` says so first.",
                name=name,
                disposition=tr(row[0]),
                reason=row[1],
                account=account,
                number=number,
            )
        )


def _debt(reader: Reader, account: str, number: int) -> Debt:
    """The debt behind one voided cheque; BookRefused, saying why, when there is none."""
    name = _called(reader, account, number)
    row = reader.row(f"{_SQL} AND n.account = ? AND n.number = ?", account, number)
    if row is not None and row[3] == "voided":
        return Debt(*row)
    found = reader.row(
        "SELECT state, role, origin_batch, origin_item FROM number WHERE account = ? AND number = ?", account, number
    )
    if found is None or found[0] != "voided":
        raise BookRefused(
            tr(
                "number {name} is {found}: only a voided cheque has a debt to be decided.",
                name=name,
                found=tr(found[0] if found else "on hand"),
            )
        )
    if found[1] != "cheque":
        raise BookRefused(tr("number {name} is an advice, which pays nothing: nothing is owed on it.", name=name))
    paid = cleared.of_payment(reader, found[2], found[3])
    if paid is not None:
        raise BookRefused(
            tr(
                "the payment of number {name} was paid by the bank on {booked}, on number {called}: nothing is "
                "owed any more.",
                name=name,
                booked=paid.booked,
                called=_called(reader, paid.account, paid.number),
            )
        )
    raise BookRefused(
        tr("the payment of number {name} was printed again on another form: look at that one.", name=name)
    )


def _called(reader: Reader, account: str, number: int) -> str:
    return tr("{number} of {account}", number=stock.range_of(reader, account, number).text(number), account=account)
