"""A payday of Quillmere Boatyard played straight on the book: no register file, no layout, no printer.

`Payday` does one step a method, on a clock of its own; `played` is a whole payday with everything in it that
the reports tell of: a payment pulled, a form spoiled, one voided and printed again, one written by hand.
"""

import hashlib
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cheque.book import batches, cheques, runs, stock
from cheque.book.book import Book, create
from cheque.book.runs import Seen
from cheque.pairs import Pairs
from cheque.payment import Payment, Role
from cheque.report.when import When
from cheque.settings import Account, Settings

FORM = "payroll-us"
#: who is paid, in the register's order
CREW = (
    ("Niamh O'Dunmarrow", 86379),
    ("Aurélie Thornquay-Baptiste", 67873),
    ("Björn Saltängen", 62728),
    ("Ay Li", 57511),
    ("Tobias Quenby", 91204),
    ("Maribel Oarsgate", 70188),
    ("Sef Underhallow", 48950),
    ("Wilhelmina Hawserstone of Upper Quillmere", 103345),
)
MAIN = Account(
    name="main",
    drawer="Quillmere Boatyard Company",
    address=("1 Slipway Lane", "Quillmere, QM 00401"),
    bank="Tidewrack Savings Bank",
    routing="123456780",
    number="000417293355",
    currency="USD",
    locale="en_US",
    substitute="",
    stale_after_days=180,
    two_signatures_over=None,
)
EUROS = MAIN._replace(name="quay", number="NQ4400081777", bank="Marsh & Lantern", currency="EUR", locale="en_GB")


NOON = datetime(2026, 11, 27, 12, tzinfo=UTC)


class Clock:
    """A clock that goes on a second at every look; noon, UTC, of a Friday to begin with."""

    def __init__(self, start: datetime = NOON) -> None:
        self.at = start

    def __call__(self) -> datetime:
        self.at += timedelta(seconds=1)
        return self.at

    def later(self, **gone: int) -> None:
        """Let some time go by."""
        self.at += timedelta(**gone)


def payment(item: int, payee: str, amount: int, **more: object) -> Payment:
    """A payment of the register of 27 November 2026; payroll expects the numbers from 100501 on."""
    given = {"date": "2026-11-27", "reference": f"W48-{2100 + item}", "expected": str(100500 + item)}
    return Payment(item, payee, amount, **{**given, "hash_value": 2100 + item, **more})  # type: ignore[arg-type]


def crew(count: int = len(CREW)) -> list[Payment]:
    """The first so many payments of the register."""
    return [payment(item, payee, amount) for item, (payee, amount) in enumerate(CREW[:count], 1)]


class Payday:
    """A book in a folder, and what is done on a payday."""

    def __init__(self, folder: Path, *, accounts: Iterable[Account] = (MAIN,), start: datetime = NOON) -> None:
        self.clock = Clock(start)
        self.book: Book = create(folder / "book", who="ines", station="payroom", clock=self.clock)
        self.book.store.execute("PRAGMA synchronous = OFF")  # what survives a power cut is tried elsewhere
        known = {account.name: account for account in accounts}
        self.settings = Settings(folder / "cheque.toml", folder / "book", known, {}, None)

    def when(self) -> When:
        """The moment at which a report is read."""
        return When(self.clock.at.astimezone())

    def receive(self, first: str = "100501", last: str = "100600", *, account: str = "main") -> None:
        """A box of forms."""
        stock.receive(self.book, account=account, form=FORM, first=first, last=last)

    def accept(self, payments: Iterable[Payment], *, account: str = "main", **given: int | str) -> int:
        """Accept payments as a batch, held against a slip that says the same unless `given` says otherwise."""
        listed = list(payments)
        currency = self.settings.accounts[account].currency
        pairs = Pairs(currency)
        for one in listed:
            pairs.add(one.payee, one.amount)
        total = sum(one.amount for one in listed if one.role is Role.CHEQUE)
        hashes = sum(one.hash_value or 0 for one in listed)
        with batches.accepting(self.book) as acceptance:
            for one in listed:
                acceptance.add(one)
            acceptance.finish(
                {
                    "account": account, "form": FORM, "form_digest": acceptance.keep_form("name = 'payroll-us'\n"),
                    "currency": currency, "items": len(listed), "total": total, "hash": hashes,
                    "hash_column": "employee", "source": "payday-2026-11-27.csv", "kind": "csvfile",
                    "register": hashlib.sha256(b"the register").hexdigest(), "pairs": pairs.digest(),
                    "given_item_count": len(listed), "given_control_total": total, "given_hash_total": hashes,
                    **given,
                }
            )  # fmt: skip
        return acceptance.batch

    def refuse(self, total: int, *, account: str = "main", source: str = "payday-2026-11-27.csv") -> None:
        """An attempt at accepting that was refused."""
        why = f"{source} does not agree with the slip, so it is not accepted.\n  The control total is wrong.\n  Ask."
        body = {"account": account, "source": source, "why": why, "faults": 0, "given_control_total": total}
        batches.refused(self.book, {**body, "given_item_count": 8, "register": "", "form": FORM})

    def proof(self, batch: int) -> str:
        """Prove a batch; gives the digest."""
        items = [one.item for one in batches.payments(self.book, batch)]
        digest = hashlib.sha256(f"proof of batch {batch}: {items}".encode()).hexdigest()
        batches.proved(self.book, batch, digest, [(item, f"{item:064d}") for item in items])
        return digest

    def run(self, batch: int, first: int, *, count: int = 0, printer: str = "payroom") -> int:
        """Print a batch (or so many forms of it) from a number on; nobody has looked yet. Gives the run."""
        proof = self.proof(batch)
        run, planned = runs.begin(
            self.book, batch=batch, printer=printer, address="file:payroom.prn", language="escp9",
            first=first, count=count, proof=proof,
        )  # fmt: skip
        for number, _ in planned:
            runs.sent(self.book, run, number, number, digest="0" * 64, length=100, k=0)
        runs.finished(self.book, run)
        return run

    def seen(
        self,
        run: int,
        *,
        spoiled: dict[int, str] | None = None,
        missing: dict[int, str] | None = None,
        blank: Iterable[int] = (),
    ) -> None:
        """Somebody looked: all the forms of a run are good but those told."""
        odd = {**(spoiled or {}), **(missing or {})}
        empty = tuple(blank)
        good = tuple(
            form.number for form in runs.forms(self.book, run) if form.number not in odd and form.number not in empty
        )
        runs.seen(self.book, run, Seen(good, spoiled or {}, missing or {}, empty), how="confirm")

    def print(self, batch: int, first: int, *, count: int = 0, printer: str = "payroom", **told: object) -> int:
        """Print and look."""
        run = self.run(batch, first, count=count, printer=printer)
        self.seen(run, **told)  # type: ignore[arg-type]
        return run

    def void(self, number: int, reason: str = "wrong hours", *, paper: str = "in hand") -> None:
        """Cancel a good cheque of the main account."""
        cheques.void(self.book, account="main", number=number, reason=reason, paper=paper)

    def reprint(self, number: int, on: int, *, without_stop: str = "") -> int:
        """Print a cheque's payment again, on another number; gives the batch of one."""
        source = cheques.reprint_source(self.book, "main", number)
        batch = cheques.accept_reprint(self.book, source, stop_override=without_stop)
        self.print(batch, on)
        return batch


def played(folder: Path, *, start: datetime = NOON) -> Payday:
    """A whole payday.

    Eight payments; one pulled; 100503 torn and its payment, with those after it, printed on; 100505 voided and
    printed again as batch 2 on 100509; 100502 handed over.
    """
    day = Payday(folder, start=start)
    day.receive()
    day.refuse(588187)
    batch = day.accept(crew())
    batches.pull(day.book, batch, 8, "paid by hand from petty cash")
    run = day.run(batch, 100501)
    day.seen(run, spoiled={100503: "torn at the perforation"}, blank=range(100504, 100508))
    day.print(batch, 100504)
    day.void(100505)
    day.reprint(100505, 100509)
    cheques.move(day.book, account="main", first=100502, last=100502, place="handed over", to="A. Thornquay-Baptiste")
    return day
