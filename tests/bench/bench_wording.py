"""Spelling, reading back and formatting together, as a ratio to num2words alone, in one run.

    .venv/bin/python tests/bench/bench_wording.py [AMOUNTS]

The same amounts, drawn from a seed and log-uniform from 10.00 to 10,000,000.00, go through num2words (whole number
only, its own words) and through `cheque.wording.word` (spelled, composed, every wording read back, figures read
back). Both are warm: tables of words below a thousand and compiled phrases stand, no result is kept. The two
take turns at slices of the amounts; each slice counts by its best turn, so that a busy machine is mostly left out
and hurts both alike. Aim: 1.5 for en_US.
"""

import random
import sys
from collections.abc import Callable
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).parents[1]))

from num2words import num2words
from wording.amounts import OWN

from cheque import wording
from cheque.wording import styles

#: num2words names its languages otherwise where they are not our locales.
LANGUAGES = {
    "de_CH": "de",
    "de_DE": "de",
    "en_CA": "en",
    "en_US": "en",
    "es_ES": "es",
    "es_MX": "es",
    "fr_CA": "fr",
    "fr_FR": "fr",
    "it_IT": "it",
    "nl_NL": "nl",
    "pl_PL": "pl",
    "pt_PT": "pt",
}
TURNS, SLICE = 7, 100


def amounts(count: int) -> list[int]:
    """Amounts in minor units, every magnitude alike."""
    draw = random.Random(2026)
    return [int(10 ** draw.uniform(3, 9)) for _ in range(count)]


def microseconds(count: int, locale: str) -> tuple[float, float]:
    """Best time of an amount, of num2words alone and of ours, in turns."""
    minors, currency, language = amounts(count), OWN[locale], LANGUAGES.get(locale, locale)

    def spell(minor: int) -> object:
        return num2words(minor // 100, lang=language)

    def worded(minor: int) -> object:
        return wording.word(minor, currency, locale)

    _timed(minors, worded)
    _timed(minors[:SLICE], spell)
    alone, ours = 0.0, 0.0
    for start in range(0, count, SLICE):
        part = minors[start : start + SLICE]
        turns = [(_timed(part, spell), _timed(part, worded)) for _ in range(TURNS)]
        alone += min(turn[0] for turn in turns)
        ours += min(turn[1] for turn in turns)
    return alone / count * 1e6, ours / count * 1e6


def _timed(minors: list[int], function: Callable[[int], object]) -> float:
    start = perf_counter()
    for minor in minors:
        function(minor)
    return perf_counter() - start


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2_000
    print(f"{count} amounts, each slice of {SLICE} by the best of {TURNS} turns; microseconds an amount")
    print(f"{'locale':8}{'num2words':>10}{'ours':>8}{'ratio':>8}")
    for locale in styles.LOCALES:
        alone, ours = microseconds(count, locale)
        print(f"{locale:8}{alone:10.1f}{ours:8.1f}{ours / alone:8.2f}")


if __name__ == "__main__":
    main()
