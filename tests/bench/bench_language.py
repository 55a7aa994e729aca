"""Encode, decode and digest a form, as a ratio to num2words spelling a number of seven digits.

    .venv/bin/python tests/bench/bench_language.py [--forms 2000]

The form is the shape of a payroll cheque with its stub: 63 marks, about 640 characters, the number twice. For each
language: straight, and shifted right by 1/60 in, as most printers are (plain text cannot shift). Best of five, all
in one process, so the ratio holds on a noisy machine. Each decoded form is first checked to be the page laid out.
"""

import argparse
import random
import time
from collections.abc import Callable

from cheque import prove
from cheque.language import NAMES, Look, Printer, get
from cheque.page import Mark, Page, Shift, Slot
from cheque.units import INCH

TENTH, SIXTH = INCH // 10, INCH // 6
STEPS = {"plain": SIXTH, "escp9": INCH // 72, "escp24": INCH // 180, "ppds": INCH // 72}
LOOK = Look(7 * INCH, SIXTH)
SLOTS = (Slot(70 * TENTH, 2 * SIXTH, TENTH, 0, 8), Slot(70 * TENTH, 24 * SIXTH, TENTH, 0, 8))


def page(item: int, some: random.Random) -> Page:
    """One payment's form."""
    placed: list[tuple[int, int, str]] = [
        (2, 1, "QUILLMERE BOATYARD COMPANY"),
        (60, 1, "PAY PERIOD"),
        (71, 1, "2026-01-16"),
        (2, 2, "12 Staithe Road"),
        (2, 4, "EARNINGS"),
        (25, 4, "HOURS"),
        (36, 4, "RATE"),
        (44, 4, "THIS PERIOD"),
        (62, 4, "YEAR TO DATE"),
    ]
    for line in range(5, 14):
        placed += [(2, line, f"Regular {line}"), (26, line, "40.00"), (35, line, f"{some.uniform(1, 30):6.2f}")]
        placed += [(45, line, f"{some.uniform(1, 3000):10.2f}"), (63, line, f"{some.uniform(1, 30000):11.2f}")]
    placed += [(2, 16, "NET PAY"), (44, 16, f"{some.uniform(1, 3000):10.2f}"), (62, 26, "16 January 2026")]
    placed += [(5, 29, f"J. Marlow {item}".ljust(40, "*")), (60, 29, f"***{some.uniform(1, 9999):9.2f}")]
    placed += [(5, 32, "One thousand two hundred thirty-four and 56/100 dollars".ljust(66, "*"))]
    placed += [(5, 34, f"J. Marlow {item}"), (5, 35, "1 Mill Lane"), (5, 36, "Quillmere")]
    return Page(tuple(Mark(x * TENTH, y * SIXTH, TENTH, 0, text) for x, y, text in placed), SLOTS)


def best(work: Callable[[], object], times: int) -> float:
    """Microseconds a form, the best of five."""
    spent = []
    for _ in range(5):
        begun = time.perf_counter()
        work()
        spent.append(time.perf_counter() - begun)
    return min(spent) / times * 1e6


def main() -> None:
    """Print the table."""
    from num2words import num2words

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--forms", type=int, default=2000)
    count = parser.parse_args().forms
    some = random.Random("forms")
    pages = [page(item, some) for item in range(count)]
    numbers = [str(1_000_000 + item) for item in range(count)]
    spell = best(lambda: [num2words(1_000_000 + 37 * item) for item in range(count)], count)
    print(f"num2words: {spell:.1f} µs a number; a form has {len(pages[0].marks)} marks")
    print("language  shift       bytes  encode  decode  digest     all   ratio   (µs a form)")
    for name in NAMES:
        language, printer = get(name), Printer(name, STEPS[name])
        for shift in (Shift(),) if name == "plain" else (Shift(), Shift(INCH // 60, INCH // 72 * (name != "escp24"))):
            laid = [
                tuple(m._replace(x=m.x + shift.right, y=m.y + shift.down) for m in p.numbered(n))
                for p, n in zip(pages, numbers, strict=True)
            ]
            sent = [language.encode(marks, LOOK, printer, LOOK.length) for marks in laid]
            read = [language.decode(data, printer) for data in sent]

            def digests(read: list = read, shift: Shift = shift) -> list[str]:  # type: ignore[type-arg]
                pairs = zip(read, numbers, strict=True)
                return [prove.digest_strikes(r, slots=SLOTS, number=n, shift=shift) for r, n in pairs]

            if digests() != [prove.laid_out_digest(p) for p in pages]:
                raise SystemExit(f"{name} does not strike the pages laid out")
            spent = (
                best(lambda: [language.encode(m, LOOK, printer, LOOK.length) for m in laid], count),  # noqa: B023
                best(lambda: [language.decode(data, printer) for data in sent], count),  # noqa: B023
                best(digests, count),
            )
            print(
                f"{name:8}  {'1/60 in' if shift.right else 'none':7}  {len(sent[0]):8,}"
                + "".join(f"{figure:8.1f}" for figure in (*spent, sum(spent)))
                + f"{sum(spent) / spell:8.2f}"
            )


if __name__ == "__main__":
    main()
