"""Makes a payroll register of any length, the same one every time: invented people, stubs that foot.

    python tests/bench/make_register.py 10000 > payday.csv

One line at a time, so that a million lines take no memory. `lines(n)` is the same for a program.
"""

import sys
from collections.abc import Iterator

FIRST = ("Niamh", "Aurélie", "Björn", "Marisol", "Tobias", "Zoë", "Hamish", "Ingrid", "Esmé", "Jürgen", "Temi")
LAST = ("Underkeel", "Marlinspike", "Vandersloop", "Larkwater", "Tidewell", "Hamabune", "Rathgull", "Oakum")
DEPARTMENTS = ("Yard", "Joinery", "Sail loft", "Rigging", "Office")
HEADER = (
    "payee,amount,date,reference,number,employee,identity,department,address1,address2,period_from,period_to,"
    "earning1,earning1_hours,earning1_rate,earning1_amount,earning1_to_date,"
    "earning2,earning2_hours,earning2_rate,earning2_amount,earning2_to_date,"
    "deduction1,deduction1_amount,deduction1_to_date,deduction2,deduction2_amount,deduction2_to_date,"
    "deduction3,deduction3_amount,deduction3_to_date,deduction4,deduction4_amount,deduction4_to_date,"
    "employer1,employer1_amount,employer1_to_date\n"
)


def money(minor: int) -> str:
    """Hundredths as plain digits."""
    return f"{minor // 100}.{minor % 100:02d}"


def lines(count: int) -> Iterator[str]:
    """The header and `count` payments, each ending in a line feed."""
    yield HEADER
    for item in range(count):
        state = item * 2_654_435_761 % 2**32  # Knuth's multiplicative hash: scattered, and the same every time
        rate = 1_800 + state % 30_000  # so that hardly two amounts are the same, to the last place
        overtime = state // 7 % 4 * 2
        regular, extra = 40 * rate, overtime * rate * 3 // 2
        gross = regular + extra
        taken = [
            ("Income tax", gross * 11 // 100),
            ("Social insurance", gross * 765 // 10_000),
            ("Pension", gross * 4 // 100),
            ("Tool fund", 350 + item % 997),
        ]
        net = gross - sum(amount for _, amount in taken)
        name = f"{FIRST[state % len(FIRST)]} {LAST[state // 16 % len(LAST)]}-{item}"
        earned = f"Regular,40.00,{money(rate)},{money(regular)},{money(regular * 7)}"
        earned += (
            f",Overtime,{overtime}.00,{money(rate * 3 // 2)},{money(extra)},{money(extra * 9)}" if extra else ",,,,,"
        )
        deducted = ",".join(f"{text},{money(amount)},{money(amount * 7)}" for text, amount in taken)
        share = taken[2][1]
        yield (
            f"{name},{money(net)},2026-11-27,W48-{item},{100_501 + item},{2_000 + item},{state % 10_000:04d},"
            f"{DEPARTMENTS[state % 5]},{state % 98 + 1} Slipway Lane,"
            f'"Quillmere, QM 00416",2026-11-16,2026-11-22,{earned},{deducted},'
            f"Pension,{money(share)},{money(share * 7)}\n"
        )


if __name__ == "__main__":
    sys.stdout.reconfigure(encoding="utf-8", newline="\n")  # type: ignore[union-attr]
    sys.stdout.writelines(lines(int(sys.argv[1])))
