"""Encode, decode and digest a form, as a ratio to num2words spelling a number of seven digits.

    .venv/bin/python tests/bench/bench_language.py [--forms 1000] [--rounds 9]

The form is the shape of a payroll cheque with its stub: 63 marks, about 640 characters, the number twice. For each
language: straight, and shifted right by 1/60 in, as most printers are (plain text cannot shift). Time of the
processor, the best of several rounds of all, in one process, so that the ratio holds on a noisy machine. Each
decoded form is first checked to be the page laid out.
"""

import argparse
import random
import time
from collections.abc import Callable
from functools import partial
from typing import Any

from cheque import prove
from cheque.language import NAMES, Look, Printer, Strikes, get
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


def digests(read: list[Strikes], numbers: list[str], shift: Shift) -> list[str]:
    """The digest of every form, as the check before sending takes it."""
    return [prove.digest_strikes(r, slots=SLOTS, number=n, shift=shift) for r, n in zip(read, numbers, strict=True)]


def works(pages: list[Page], numbers: list[str]) -> dict[tuple[str, str, int, str], Callable[[], object]]:
    """What is timed, by language, shift, bytes of a form, and step; each form checked beforehand."""
    found: dict[tuple[str, str, int, str], Callable[[], object]] = {}
    right = [prove.laid_out_digest(p) for p in pages]
    for name in NAMES:
        language, printer = get(name), Printer(name, STEPS[name])
        for shift in (Shift(),) if name == "plain" else (Shift(), Shift(INCH // 60, 0)):
            laid = [
                tuple(m._replace(x=m.x + shift.right) for m in p.numbered(n))
                for p, n in zip(pages, numbers, strict=True)
            ]
            sent = [language.encode(marks, LOOK, printer, LOOK.length) for marks in laid]
            read = [language.decode(data, printer) for data in sent]
            if digests(read, numbers, shift) != right:
                raise SystemExit(f"{name} does not strike the pages laid out")
            key = (name, "1/60 in" if shift.right else "none", len(sent[0]))
            found[*key, "encode"] = partial(
                each, lambda m, lg=language, p=printer: lg.encode(m, LOOK, p, LOOK.length), laid
            )
            found[*key, "decode"] = partial(each, lambda data, lg=language, p=printer: lg.decode(data, p), sent)
            found[*key, "digest"] = partial(digests, read, numbers, shift)
    return found


def each(work: Callable[[Any], object], items: list[Any]) -> None:
    """One after another."""
    for item in items:
        work(item)


def main() -> None:
    """Print the table."""
    from num2words import num2words

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--forms", type=int, default=1000)
    parser.add_argument("--rounds", type=int, default=9)
    chosen = parser.parse_args()
    some = random.Random("forms")
    pages = [page(item, some) for item in range(chosen.forms)]
    numbers = [str(1_000_000 + item) for item in range(chosen.forms)]
    words = ("", "", 0, "words")
    timed = {words: partial(each, num2words, list(range(1_000_000, 9_000_000, 8_000_000 // chosen.forms)))}
    timed |= works(pages, numbers)
    best = dict.fromkeys(timed, float("inf"))
    for _ in range(chosen.rounds):  # all in every round, so that a noisy minute touches all alike
        for key, work in timed.items():
            begun = time.process_time()
            work()
            best[key] = min(best[key], (time.process_time() - begun) / chosen.forms * 1e6)
    print(f"num2words: {best[words]:.1f} µs a number; a form has {len(pages[0].marks)} marks")
    print("language  shift       bytes  encode  decode  digest     all   ratio   (µs a form)")
    for name, shift, size in dict.fromkeys(key[:3] for key in best if key != words):
        spent = [best[name, shift, size, step] for step in ("encode", "decode", "digest")]
        figures = "".join(f"{figure:8.1f}" for figure in (*spent, sum(spent)))
        print(f"{name:8}  {shift:7}  {size:8,}{figures}{sum(spent) / best[words]:8.2f}")


if __name__ == "__main__":
    main()
