"""Laying out payments, as a ratio to num2words alone spelling the same whole numbers.

    .venv/bin/python tests/bench/bench_layout.py [--rounds 200]

The payments are the boatyard's payday, on the shipped payroll form. layout: all of it but the wording, which is
looked up in a table made before. with wording: as it is done for every payment. spelled: num2words alone. Times are
the best of five, in microseconds a payment. A ratio of layout to spelled above 2 ends with exit status 1.
"""

import argparse
import sys
import time
from collections.abc import Callable
from pathlib import Path
from unittest import mock

from num2words import num2words

from cheque import layout, library, wording
from cheque.payment import Payment
from cheque.register import Reading, read_register

RATIO = 2
REPEATS = 5
REGISTER = Path(__file__).parents[2] / "demo" / "payday-2026-11-27.csv"
DRAWER = layout.Drawer(
    "Quillmere Boatyard, Inc.",
    ("1 Slipway Lane", "Quillmere, QM 00411"),
    "Quillmere Harbour Bank",
    "******4321",
    "USD",
    "en_US",
    two_signatures_over=500_000,
)


def payday() -> list[Payment]:
    """The payments of the boatyard's payday."""
    with REGISTER.open("rb") as file:
        return [one for one in read_register(file, Reading(REGISTER.name, "USD")) if isinstance(one, Payment)]


def best(run: Callable[[], object], each: int) -> float:
    """Microseconds for each of so many, the best of a few."""
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return min(times) / each * 1e6


def main() -> int:
    """Measure, print, and say by the exit status whether the ratio holds."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=200)
    rounds = parser.parse_args().rounds
    form, payments = library.load("payroll-us"), payday()
    known = {minor: wording.word(minor, "USD", "en_US") for minor in (1, *(p.amount for p in payments))}

    def lay_out() -> None:
        for _ in range(rounds):
            for payment in payments:
                layout.lay_out(payment, form, DRAWER)

    def spell() -> None:
        for _ in range(rounds):
            for payment in payments:
                num2words(payment.amount // 100)

    each = rounds * len(payments)
    marks = sum(len(layout.lay_out(p, form, DRAWER)[0].marks) for p in payments) / len(payments)
    lines = sum(len(p.stub) for p in payments) / len(payments)
    layout.compiled.cache_clear()
    with mock.patch.object(wording, "word", lambda minor, *_, **__: known[minor]):
        alone = best(lay_out, each)
    layout.compiled.cache_clear()
    whole, spelled = best(lay_out, each), best(spell, each)
    print(f"{len(payments)} payments, {lines:.1f} stub lines and {marks:.1f} marks each")
    print(f"layout        {alone:6.1f} us  {alone / spelled:.2f} of spelled")
    print(f"with wording  {whole:6.1f} us  {whole / spelled:.2f} of spelled")
    print(f"spelled       {spelled:6.1f} us")
    return int(alone / spelled > RATIO)


if __name__ == "__main__":
    sys.exit(main())
