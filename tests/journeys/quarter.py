"""The demo's quarter: what the bank booked on the boatyard's account from October to December 2026, and why.

`demo/statement-2026-q4.xml` and `.csv` are written from here (`python tests/journeys/quarter.py`); a test holds them
to it. `WRONG` is what is wrong with them, by cheque number, when the book stands as `lived` leaves it.
"""

import csv
import io
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
if __name__ == "__main__":
    sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from bank.camt import Entry, Part, Statement, message  # noqa: E402
from journeys.firm import DEMO, Firm  # noqa: E402

from cheque.book import stops  # noqa: E402
from cheque.book.book import open_book  # noqa: E402

ACCOUNT = "000417293355"
OPENING = 2_500_000
#: number -> (kinds of exception)
WRONG = {
    100299: "never issued",
    100468: "stale",
    100503: "voided",
    100505: "stopped",
    100506: "amount",
    100507: "amount",
    100508: "twice",
    100509: "early",
    100510: "payee",
    100511: "taken back",
    100527: "advice",
    100531: "in doubt",
    100540: "on hand",
    100541: "spoiled",
    100542: "missing",
    100995: "destroyed",
}
#: what names a cheque and pays none of ours, by a word of what the bank says
ODD = {"10O5I2": "unreadable", "7733": "credit"}
#: cheques still out when the quarter ends
OUT = ("100472", "100474", "100511", "100526", "100530")


def payments() -> dict[int, tuple[int, str]]:
    """Number -> minor units and payee, of all that the boatyard issued in the quarter and before."""
    found: dict[int, tuple[int, str]] = {}
    for name in ("opening-2026-10.csv", "payday-2026-11-27.csv"):
        for row in csv.DictReader(io.StringIO((DEMO / name).read_text("utf-8"))):
            found[int(row["number"])] = (_minor(row["amount"]), row["payee"])
    rows = list(csv.DictReader(io.StringIO((DEMO / "payday-with-advice.csv").read_text("utf-8"))))
    found.update({100525 + place: (_minor(row["amount"]), row["payee"]) for place, row in enumerate(rows)})
    found[100531] = found[100503]
    return found


def _minor(text: str) -> int:
    whole, _, part = text.partition(".")
    return int(whole) * 100 + int(part)


def _text(minor: int) -> str:
    return f"{'-' if minor < 0 else ''}{abs(minor) // 100}.{abs(minor) % 100:02}"


def entries() -> tuple[Entry, ...]:
    """What the bank booked, in its order."""
    issued = payments()
    booked: list[tuple[str, int, int, str, bool]] = []

    def paid(day: str, number: int, minor: int = 0, payee: str = "", *, back: bool = False) -> None:
        amount = minor or issued[number][0]
        booked.append((day, number, amount if back else -amount, payee, back))

    paid("2026-10-05", 100471)
    paid("2026-10-19", 100468)
    paid("2026-11-25", 100509)
    for number in (100501, 100502, 100503, 100504, 100505):
        paid("2026-12-01", number)
    paid("2026-12-01", 100506, 89_769)  # 897.96 with two digits exchanged
    paid("2026-12-01", 100507, 102_944)  # 1024.44 with one digit misread
    paid("2026-12-02", 100508)
    paid("2026-12-02", 100510, payee="T. Underkeel")
    paid("2026-12-02", 100511)
    for number in range(100512, 100525):
        paid("2026-12-03", number, payee=issued[number][1].upper())
    paid("2026-12-04", 100511, back=True)
    paid("2026-12-07", 100299, 20_000)
    paid("2026-12-08", 100525)
    paid("2026-12-08", 100527, 5_000)
    paid("2026-12-08", 100528)
    paid("2026-12-09", 100508)
    paid("2026-12-10", 100531)
    for number, minor in ((100540, 99_500), (100541, 1_000), (100542, 2_000), (100995, 3_000)):
        paid("2026-12-14", number, minor)
    made = [
        Entry(_text(amount), day, (Part(str(number), payee=payee),), reversal=back, reference=f"TSB{place:04}")
        for place, (day, number, amount, payee, back) in enumerate(booked, 1)
    ]
    made += [
        Entry("3120.00", "2026-10-12", about="Deposit", reference="TSB0901"),
        Entry("-12.50", "2026-12-15", (Part("10O5I2"),), reference="TSB0902"),
        Entry("85.00", "2026-12-16", (Part("7733"),), about="Cheque paid in", reference="TSB0903"),
        Entry("-18.00", "2026-12-31", about="Quarterly account fee", reference="TSB0904"),
        Entry("6.12", "2026-12-31", about="Interest", reference="TSB0905"),
    ]
    return tuple(sorted(made, key=lambda entry: entry.booked))


def statement() -> Statement:
    """The quarter's statement."""
    made = entries()
    closing = OPENING + sum(_minor(e.amount.lstrip("-")) * (-1 if e.amount.startswith("-") else 1) for e in made)
    return Statement(
        made,
        name="TSB-2026-Q4",
        account=ACCOUNT,
        opening=_text(OPENING),
        closing=_text(closing),
        first="2026-10-01",
        last="2026-12-31",
        summary=len(made),
    )


def as_csv() -> str:
    """The same as the bank's CSV, with a running balance."""
    out, balance = io.StringIO(), OPENING
    lines = csv.writer(out, lineterminator="\n")
    lines.writerow(["Date", "Cheque no.", "Paid out", "Paid in", "Kind", "Payee", "Text", "Balance"])
    for entry in entries():
        minor = _minor(entry.amount.lstrip("-"))
        out_of = entry.amount.startswith("-")
        balance += -minor if out_of else minor
        part = entry.parts[0] if entry.parts else Part()
        sides = (_text(minor), "") if out_of else ("", _text(minor))
        kind = "returned" if entry.reversal else ""
        lines.writerow([entry.booked, part.cheque, *sides, kind, part.payee, entry.about, _text(balance)])
    return out.getvalue()


def lived(firm: Firm) -> None:
    """The quarter at the boatyard: an opening list, two paydays, and what went wrong with some cheques."""
    firm.paid()
    (firm.folder / "opening.csv").write_bytes((DEMO / "opening-2026-10.csv").read_bytes())
    firm.run("book", "opening", "opening.csv")
    firm.run("void", "100503", "--reason", "lost in the post", "--paper", "not-in-hand")
    firm.run("batch", "accept", firm.register("payday-with-advice.csv"), "--form", "payroll-us", *TOTALS)
    firm.print(3, 100525)
    firm.run("confirm", "3", "--good-count", "6")
    firm.run("reprint", "100503", "--without-stop", "known to have burnt")
    firm.print(4, 100531)  # and nobody looks at the paper
    with open_book(firm.folder / "book") as book:
        stops.confirm(book, account="main", number=100505, what=stops.Confirmed("Tidewrack Savings", "2026-11-30"))
    firm.run("spoil", "100541", "--reason", "torn")
    firm.run("missing", "100542", "--reason", "not in the box")
    firm.run("stock", "destroy", "100990-101000", "--witness", "Ay Li", "--reason", "old address")


TOTALS = ("--control-total", "3016.07", "--item-count", "6")


if __name__ == "__main__":
    (DEMO / "statement-2026-q4.xml").write_bytes(message(8, [statement()]))
    (DEMO / "statement-2026-q4.csv").write_text(as_csv(), "utf-8")
