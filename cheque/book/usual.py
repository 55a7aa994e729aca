"""What is not as it was last payday: new payees, payees that are gone, amounts far from usual.

Questions for the person who approves, not faults: each has an honest explanation more often than not. How far is
far is our own choice, said wherever it is used: half as much again as the middle one of a payee's last twelve
amounts, or half of it.
"""

from typing import NamedTuple

from cheque.book.book import Reader
from cheque.tongue import mark

#: so many of a payee's latest amounts are looked at
LATEST = 12
RULE = mark("at least half as much again as usual, or at most half: the middle one of the payee's last twelve amounts")


class Usual(NamedTuple):
    """What a payee was paid before: how many times (at most twelve are counted) and the middle amount."""

    times: int
    middle: int

    def far(self, amount: int) -> str:
        """How an amount differs when it is far from usual ("more", "less"), else ""."""
        if not self.times or not self.middle:
            return ""
        if 2 * amount >= 3 * self.middle:
            return "more"
        return "less" if 2 * amount <= self.middle else ""


def usual(reader: Reader, account: str, payee: str, *, before: int) -> Usual:
    """A payee's latest amounts on an account in batches older than `before`; pulled and reprinted ones left out."""
    amounts = sorted(
        row[0]
        for row in reader.rows(
            "SELECT c.amount FROM claim c JOIN batch b ON b.id = c.batch WHERE c.fresh IN (0, 1, 2) "
            "AND c.payee = ? AND c.account = ? AND c.batch < ? "
            "AND c.batch = c.origin_batch AND c.pulled = '' AND c.role = 'cheque' "
            "AND b.state = 'accepted' ORDER BY c.batch DESC, c.item DESC LIMIT ?",
            payee,
            account,
            before,
            LATEST,
        )
    )
    return Usual(len(amounts), amounts[len(amounts) // 2] if amounts else 0)


def paid_before(reader: Reader, account: str, *, before: int) -> bool:
    """Whether an account has any accepted batch older than `before`: else every payee would be new."""
    return bool(
        reader.row("SELECT 1 FROM batch WHERE id < ? AND account = ? AND state = 'accepted' LIMIT 1", before, account)
    )


def last_payday(reader: Reader, account: str, form: str, *, before: int) -> int:
    """The latest accepted batch of the same account and form that is older and no reprint; 0 when there is none."""
    return int(
        reader.value(
            "SELECT coalesce(max(id), 0) FROM batch WHERE id < ? AND account = ? AND form = ? "
            "AND state = 'accepted' AND replaces = 0",
            before,
            account,
            form,
        )
    )


def gone(reader: Reader, batch: int, last: int) -> list[str]:
    """Payees of the batch `last` that have no payment in `batch`, by name."""
    return [
        row[0]
        for row in reader.rows(
            "SELECT DISTINCT c.payee FROM claim c WHERE c.batch = ? AND c.pulled = '' AND NOT EXISTS "
            "(SELECT 1 FROM claim n WHERE n.fresh IN (0, 1, 2) AND n.payee = c.payee AND n.batch = ? "
            "AND n.pulled = '') ORDER BY c.payee",
            last,
            batch,
        )
    ]
