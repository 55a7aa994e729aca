"""The reconciliation statement that an accountant expects: the bank's balance and the ledger's, brought to agree.

    balance per bank                        balance per ledger
    + deposits in transit                   + what the bank credited and the ledger lacks (interest, deposits)
    - cheques outstanding                   - what the bank charged and the ledger lacks (fees)
    ± what the bank is to put right
    = adjusted balance                      = adjusted balance

The cheques outstanding, and what is to be put right, come from the book: of each number, what the bank paid in all
against what the book has as rightly paid (nought unless it is a good cheque, dated on or before the day). A difference
is told to the minor unit, with what would explain it. Source: general accounting and auditing practice.
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from cheque.book.book import Reader
from cheque.book.state import WASTE
from cheque.book.statements import Item
from cheque.control import exchanged, slipped
from cheque.money import digits, plain
from cheque.tongue import tr

#: lines of one kind that are told one by one
LISTED = 500
_FEW = 5


class Keyed(NamedTuple):
    """An item keyed in: its day, minor units (less than 0 when it leaves the account), and what it is."""

    day: str
    amount: int
    note: str


class Outstanding(NamedTuple):
    """A cheque that the bank had not paid by the day; its number as preprinted."""

    number: str
    date: str
    payee: str
    amount: int


class Wrong(NamedTuple):
    """A number on which the bank paid otherwise than the book has it: paid in all, and rightly by the day.

    `date`: the cheque's own, ISO 8601, or "" when the number carries no payment.
    """

    number: str
    paid: int
    rightly: int
    state: str
    date: str = ""

    @property
    def to_put_right(self) -> int:
        """What the bank is to give back; less than 0 when it has yet to take it."""
        return self.paid - self.rightly


class Since(NamedTuple):
    """What the book entered after the end of the day, of cheques dated on or before it.

    `voided`: the first few of those voided since, and `voided_items`, `voided_amount` of all; `printed_items`,
    `printed_amount`: good ones that were only printed since. A ledger kept by the day lacks both.
    """

    voided: tuple[Outstanding, ...] = ()
    voided_items: int = 0
    voided_amount: int = 0
    printed_items: int = 0
    printed_amount: int = 0


class Sheet(NamedTuple):
    """Both sides of the statement at the end of a day. `bank`, `ledger`: None where not known.

    `cheques`, `wrongs`: up to LISTED of them; `cheques_out`, `outstanding` and `wrong`, `to_put_right`: how many and
    how much of all. `to_enter`: what the bank has and the ledger lacks. `since`: what the book entered after the day.
    """

    day: str
    currency: str
    bank: int | None
    ledger: int | None
    deposits: tuple[Keyed, ...]
    cheques: tuple[Outstanding, ...]
    cheques_out: int
    outstanding: int
    wrongs: tuple[Wrong, ...]
    wrong: int
    to_put_right: int
    to_enter: tuple[Keyed, ...]
    explanations: tuple[str, ...] = ()
    since: Since = Since()

    @property
    def adjusted_bank(self) -> int | None:
        """The bank's balance as it will be when all of it has gone through."""
        if self.bank is None:
            return None
        return self.bank + sum(one.amount for one in self.deposits) - self.outstanding + self.to_put_right

    @property
    def adjusted_ledger(self) -> int | None:
        """The ledger's balance when what the bank has and it lacks is entered."""
        return None if self.ledger is None else self.ledger + sum(one.amount for one in self.to_enter)

    @property
    def difference(self) -> int | None:
        """Bank less ledger, adjusted; None when one of them is not known."""
        if self.adjusted_bank is None or self.adjusted_ledger is None:
            return None
        return self.adjusted_bank - self.adjusted_ledger


_NET = """(SELECT coalesce(sum(CASE WHEN i.amount < 0 THEN 1 ELSE -1 END), 0) FROM bank_item i
    WHERE i.account = n.account AND i.number = n.number AND i.booked <= ?)"""
_OUT = f"""FROM number n JOIN claim c ON c.batch = n.batch AND c.item = n.item JOIN stock s ON s.id = n.stock
    WHERE n.account = ? AND n.state = 'printed' AND n.role = 'cheque' AND c.date <= ? AND {_NET} <= 0"""
_RIGHTLY = """CASE WHEN n.state = 'printed' AND n.role = 'cheque' AND c.date <= ?
    AND sum(CASE WHEN i.amount < 0 THEN 1 ELSE -1 END) > 0 THEN c.amount ELSE 0 END"""
_WRONG = f"""SELECT number, digits, paid, rightly, state, dated FROM (
    SELECT i.number AS number, coalesce(s.digits, 0) AS digits,
    -sum(i.amount) AS paid, {_RIGHTLY} AS rightly, coalesce(n.state, '') AS state, coalesce(c.date, '') AS dated
    FROM bank_item i LEFT JOIN number n ON n.account = i.account AND n.number = i.number
    LEFT JOIN claim c ON c.batch = n.batch AND c.item = n.item AND n.batch > 0
    LEFT JOIN stock s ON s.id = n.stock
    WHERE i.account = ? AND i.number > 0 AND i.booked <= ?
    GROUP BY i.number, s.digits, n.state, n.role, c.date, c.amount) AS each_number
    WHERE paid <> rightly ORDER BY number"""


_SINCE = """FROM number n JOIN claim c ON c.batch = n.batch AND c.item = n.item JOIN stock s ON s.id = n.stock
    JOIN event e ON e.seq = {seq} WHERE n.account = ? AND n.state = ? AND n.role = 'cheque' AND {seq} > ?
    AND c.date <= ? AND e.kind <> 'opening.entered' AND NOT EXISTS (SELECT 1 FROM cleared p WHERE p.account = n.account
    AND p.number = n.number)"""


def since(reader: Reader, account: str, day: str, moment: str) -> Since:
    """What the book entered after the end of a day. `moment`: that end, as the book writes times (UTC)."""
    last = reader.value("SELECT seq FROM event WHERE at <= ? ORDER BY seq DESC LIMIT 1", moment) or 0
    count, total = "SELECT count(*), coalesce(sum(c.amount), 0) ", (account, "voided", last, day)
    voided = f"{_SINCE.format(seq='n.seq')} AND n.{WASTE}"
    few = f"SELECT n.number, s.digits, c.date, c.payee, c.amount {voided} ORDER BY n.number LIMIT {_FEW}"
    printed = _SINCE.format(seq="n.taken")
    return Since(
        tuple(Outstanding(str(row[0]).zfill(row[1]), *row[2:]) for row in reader.rows(few, *total)),
        *(reader.row(count + voided, *total) or (0, 0)),
        *(reader.row(count + printed, account, "printed", last, day) or (0, 0)),
    )


def sheet(
    reader: Reader,
    account: str,
    currency: str,
    day: str,
    *,
    bank: int | None,
    ledger: int | None,
    deposits: Sequence[Keyed] = (),
    to_enter: Sequence[Keyed] = (),
    others: Sequence[Item] = (),
    moment: str = "",
) -> Sheet:
    """The reconciliation of an account at the end of a day. `others`: items of the bank's to look for a reason in.

    `moment`: the end of the day as the book writes times (UTC), to tell what was entered since; "": not told.
    """
    count, money = reader.row(f"SELECT count(*), coalesce(sum(c.amount), 0) {_OUT}", account, day, day) or (0, 0)
    listed = f"SELECT n.number, s.digits, c.date, c.payee, c.amount {_OUT} ORDER BY n.number LIMIT {LISTED}"
    wrongs: list[Wrong] = []
    wrong = right = 0
    for row in reader.rows(_WRONG, day, account, day):
        one = Wrong(str(row[0]).zfill(row[1]), *row[2:])
        wrong, right = wrong + 1, right + one.to_put_right
        if len(wrongs) < LISTED:
            wrongs.append(one)
    made = Sheet(
        day,
        currency,
        bank,
        ledger,
        tuple(deposits),
        tuple(Outstanding(str(row[0]).zfill(row[1]), *row[2:]) for row in reader.rows(listed, account, day, day)),
        count,
        money,
        tuple(wrongs),
        wrong,
        right,
        tuple(to_enter),
    )
    after = since(reader, account, day, moment) if moment else Since()
    return made._replace(explanations=tuple(_explain(reader, account, made, others)), since=after)


def _explain(reader: Reader, account: str, made: Sheet, others: Sequence[Item]) -> Iterator[str]:
    """What would explain a difference: an amount left out or counted twice, a sign, digits exchanged."""
    off = made.difference
    if not off or made.ledger is None:
        return

    def money(minor: int) -> str:
        return plain(minor, made.currency)

    meant = made.ledger + off
    if exchanged(made.ledger, meant, digits(made.currency) + 1):
        yield tr(
            "The ledger balance may have two digits exchanged: {amount} for {amount2}.",
            amount=money(made.ledger),
            amount2=money(meant),
        )
    elif slipped(made.ledger, meant):
        yield tr(
            "The ledger balance may have its decimal point slipped: {amount} for {amount2}.",
            amount=money(made.ledger),
            amount2=money(meant),
        )
    equal = list(_named(reader, account, made, others, abs(off)))
    if equal:
        yield tr(
            "The difference is the same as {few}: it may be left out, or be there twice, on one side.", few=_few(equal)
        )
    half = list(_named(reader, account, made, others, abs(off) // 2)) if off % 2 == 0 else []
    if half:
        yield tr("The difference is twice {few}, which may have been taken with the wrong sign.", few=_few(half))
    if off % 9 == 0 and not exchanged(made.ledger, meant, digits(made.currency) + 1):
        yield tr("The difference divides by nine, which suggests two digits exchanged in an amount of the ledger.")


def _few(names: list[str]) -> str:
    rest = len(names) - _FEW
    return "; ".join(names[:_FEW]) + (tr("; and {rest} more", rest=rest) if rest > 0 else "")


def _named(reader: Reader, account: str, made: Sheet, others: Sequence[Item], amount: int) -> Iterator[str]:
    """What has exactly an amount: keyed items, items of the bank's, and cheques."""
    for one in (*made.deposits, *made.to_enter):
        if abs(one.amount) == amount:
            yield tr("{note} of {day}", note=one.note or tr("an item keyed in"), day=one.day)
    for item in others:
        if abs(item.amount) == amount and not any(
            (one.day, one.amount) == (item.booked, item.amount) for one in made.to_enter
        ):
            yield tr(
                "what the bank booked on {booked} ({about})",
                booked=item.booked,
                about=item.about[:60] or tr("without a word"),
            )
    for number, payee in reader.rows(
        "SELECT n.number, c.payee FROM claim c JOIN number n ON n.batch = c.batch AND n.item = c.item "
        "WHERE c.amount = ? AND n.account = ? AND n.state IN ('printed', 'voided') ORDER BY n.number LIMIT 20",
        amount,
        account,
    ):
        yield tr("cheque {number}, {payee}", number=number, payee=payee)
