"""Makes a fixed-width payroll report of any number of lines, the same one every time, and the map that lays it out.

    python tests/bench/make_report.py 1000000 > payday.prn

A payment is eight lines: the payee, the address, two earnings, four deductions. One line at a time, so that a million
lines take no memory. The people and their pay are those of `make_register.py`.
"""

import csv
import sys
from collections.abc import Iterator

from make_register import lines as csv_lines

LINES_A_PAYMENT = 8
MAP = """
kind = "fixed-width"
encoding = "utf-8"
[[record]]
what = "header"
when = [{ at = 1, is = "H" }]
fields.date = { at = 2, pattern = "YYYYMMDD" }
[[record]]
what = "payment"
when = [{ at = 1, is = "P" }]
fields.employee = { at = 2, picture = "9(8)" }
fields.payee = { at = 10, width = 40 }
fields.amount = { at = 50, picture = "S9(9)V99" }
fields.reference = { at = 61, width = 12 }
fields.number = { at = 73, picture = "9(8)" }
fields.identity = { at = 81, width = 4 }
fields.department = { at = 85, width = 12 }
[[record]]
what = "stub"
when = [{ at = 1, is = "A" }]
fields.address1 = { at = 2, width = 35 }
fields.address2 = { at = 37, width = 35 }
[[record]]
what = "stub"
when = [{ at = 1, is = "E" }]
fields.earning1 = { at = 2, width = 20 }
fields.earning1_hours = { at = 22, picture = "9(3)V99" }
fields.earning1_rate = { at = 27, picture = "9(5)V99" }
fields.earning1_amount = { at = 34, picture = "S9(7)V99" }
fields.earning1_to_date = { at = 43, picture = "S9(9)V99" }
[[record]]
what = "stub"
when = [{ at = 1, is = "D" }]
fields.deduction1 = { at = 2, width = 20 }
fields.deduction1_amount = { at = 34, picture = "S9(7)V99" }
fields.deduction1_to_date = { at = 43, picture = "S9(9)V99" }
[[record]]
what = "trailer"
when = [{ at = 1, is = "T" }]
fields.item_count = { at = 2, picture = "9(8)" }
fields.total = { at = 10, picture = "S9(11)V99" }
"""
_PUNCHED = "{ABCDEFGHI"


def signed(text: str, width: int) -> str:
    """A plain amount of hundredths, overpunched."""
    digits = text.replace(".", "").rjust(width, "0")
    return digits[:-1] + _PUNCHED[int(digits[-1])]


def lines(count: int) -> Iterator[str]:
    """A header, `count` lines of payments (a multiple of eight), and a trailer, each ending in a line feed."""
    yield "H20261127\n"
    total = 0
    payments = count // LINES_A_PAYMENT
    for row in csv.DictReader(csv_lines(payments)):
        total += int(row["amount"].replace(".", ""))
        yield (
            f"P{row['employee']:0>8}{row['payee']:40}{signed(row['amount'], 11)}{row['reference']:12}"
            f"{row['number']:0>8}{row['identity']:4}{row['department']:12}\n"
        )
        yield f"A{row['address1']:35}{row['address2']:35}\n"
        for number in (1, 2):
            text = row[f"earning{number}"] or "Holiday"
            figures = [row[f"earning{number}_{part}"] or "0" for part in ("hours", "rate", "amount", "to_date")]
            hours, rate = (figure.replace(".", "") for figure in figures[:2])
            yield f"E{text:20}{hours:0>5}{rate:0>7}{signed(figures[2], 9)}{signed(figures[3], 11)}\n"
        for number in range(1, 5):
            amount, to_date = row[f"deduction{number}_amount"], row[f"deduction{number}_to_date"]
            yield f"D{row[f'deduction{number}']:20}{'':12}{signed(amount, 9)}{signed(to_date, 11)}\n"
    yield f"T{payments:08d}{signed(str(total), 13)}\n"


if __name__ == "__main__":
    sys.stdout.reconfigure(encoding="utf-8", newline="\n")  # type: ignore[union-attr]
    sys.stdout.writelines(lines(int(sys.argv[1])))
