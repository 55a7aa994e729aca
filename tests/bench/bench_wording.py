"""Spelling, reading back and formatting together, as a ratio to num2words alone, in one run.

    .venv/bin/python tests/bench/bench_wording.py [AMOUNTS]

The same amounts, drawn from a seed and log-uniform from 10.00 to 10,000,000.00, go through num2words (whole number
only, its own words) and through `cheque.wording.word` (spelled, composed, every wording read back, figures read
back). Both are warm: tables of words below a thousand and compiled phrases stand, no result is kept. The two
take turns, and the best of five turns counts, so that a busy machine hurts both alike. Aim: 1.5 for en_US.
"""

import random
import sys
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).parents[1]))

from cheque import wording
from cheque.wording import styles
from num2words import num2words
from wording.amounts import OWN

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
TURNS = 5


def amounts(count: int) -> list[int]:
    """Amounts in minor units, every magnitude alike."""
    draw = random.Random(2026)
    return [int(10 ** draw.uniform(3, 9)) for _ in range(count)]


def microseconds(count: int, locale: str) -> tuple[float, float]:
    """Best time of an amount, of num2words alone and of ours, in turns."""
    minors, currency, language = amounts(count), OWN[locale], LANGUAGES.get(locale, locale)
    word = wording.word
    for minor in minors[:2_000]:
        word(minor, currency, locale)
        num2words(minor // 100, lang=language)
    alone, ours = [], []
    for _ in range(TURNS):
        start = perf_counter()
        for minor in minors:
            num2words(minor // 100, lang=language)
        between = perf_counter()
        for minor in minors:
            word(minor, currency, locale)
        alone.append(between - start)
        ours.append(perf_counter() - between)
    return min(alone) / count * 1e6, min(ours) / count * 1e6


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2_000
    print(f"{count} amounts, best of {TURNS} turns; microseconds an amount")
    print(f"{'locale':8}{'num2words':>10}{'ours':>8}{'ratio':>8}")
    for locale in styles.LOCALES:
        alone, ours = microseconds(count, locale)
        print(f"{locale:8}{alone:10.1f}{ours:8.1f}{ours / alone:8.2f}")


if __name__ == "__main__":
    main()
