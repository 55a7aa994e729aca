"""Every whole number 0 to 99,999 and 20,000 more up to 10^12, in every locale, against both references.

    .venv/bin/python tests/campaign/wording_references.py [SEED] > docs/evidence/wording-references.md

Takes some minutes. Prints a table: for each locale and reference, how many numbers are the same letter by letter,
how many differ and by which stated rule, and how many are left over (which ends the run with status 1). Each
number is also read back by our own reader, and where the style uses it by text2num.
"""

import random
import sys
from importlib.metadata import version
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import icu
from outside.wording_references import Comparison, Reference, compare, references, sample, structure
from text_to_num import text2num
from wording.amounts import reader, tampered

from cheque.wording import styles

SEED = 20260101


def numbers(seed: int) -> list[int]:
    """The numbers of the campaign: all below 100,000, those in which rules show, and 20,000 drawn."""
    return sorted({*range(100_000), *structure(), *sample(20_000, seed)})


def read_back(locale: str, form: str, everything: list[int]) -> tuple[int, int]:
    """How many numbers do not come back from our reader, and from text2num (-1 where it is not used)."""
    style = styles.get(locale)
    read = style.reader(str).read
    missed, second = 0, 0 if style.second else -1
    for number in everything:
        words = style.spell(number, form)
        missed += _fails(lambda: read(words.lower(), form), number)  # noqa: B023
        if style.second:
            second += _fails(lambda: text2num(words.lower(), style.second), number)  # noqa: B023
    return missed, second


def tampering(locale: str, seed: int) -> dict[str, tuple[int, int, int]]:
    """For each way to tamper with one number word: unread, read as another number, missed; by our reader alone."""
    draw = random.Random(seed)
    style, read = styles.get(locale), reader(locale)
    counts = {}
    for how in ("changed", "dropped", "doubled", "moved"):
        unread, other, missed = 0, 0, 0
        for _ in range(5_000):
            number = draw.randrange(10 ** draw.randrange(1, 13))
            words = style.spell(number, "m")
            wrong = tampered(words, locale, how, draw)
            if wrong == words:
                continue
            try:
                found = read(wrong.lower(), "m")
            except KeyError:
                unread += 1
                continue
            other += found != number
            missed += found == number
        counts[how] = (unread, other, missed)
    return counts


def _fails(reading: object, number: int) -> bool:
    try:
        return bool(reading() != number)  # type: ignore[operator]
    except (KeyError, ValueError):
        return True


def row(locale: str, reference: Reference, found: Comparison) -> str:
    """One line of the table."""
    rules = "; ".join(f"{name}: {count:,}" for name, count in found.by_rule.items()) or "none"
    return (
        f"| {locale} | {reference.name} | {reference.form} | {found.compared:,} | {found.same:,} | {rules} | "
        f"{len(found.unexplained)} |"
    )


def main(seed: int) -> int:
    """Print the report; 1 when anything is unexplained or does not read back."""
    everything = numbers(seed)
    left = 0
    print("# Whole numbers in words against two references\n")
    print(
        f"Made by `tests/campaign/wording_references.py {seed}`: num2words {version('num2words')}, "
        f"ICU {icu.ICU_VERSION} (PyICU), text2num {version('text2num')}; {len(everything):,} numbers "
        "a locale: every one from 0 to 99,999, "
        "those in which a rule of joining shows, and 20,000 drawn from 100,000 to 10^12, every magnitude alike. "
        "Form m is before a masculine noun (or the only form), f before a feminine one. What each rule says and "
        "whose word decides stands in `docs/legal-amounts.md`.\n"
    )
    print("| locale | reference | form | compared | same at once | the same by a stated rule | left over |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for locale in styles.LOCALES:
        for reference in references(locale):
            found = compare(locale, reference, everything)
            left += len(found.unexplained)
            print(row(locale, reference, found), flush=True)
            for case in found.unexplained[:5]:
                print(f"left over: {locale} {reference.name}: {case}", file=sys.stderr)
    print("\n## Read back\n")
    print("| locale | form | read | missed by our reader | missed by text2num |")
    print("| --- | --- | --- | --- | --- |")
    for locale in styles.LOCALES:
        for form in "mf":
            missed, second = read_back(locale, form, everything)
            left += missed + max(second, 0)
            print(f"| {locale} | {form} | {len(everything):,} | {missed} | {'not used' if second < 0 else second} |")
    print("\n## Tampered with\n")
    print(
        "One word of a spelled number (in German, Dutch and Italian also one part of a compound) changed, dropped, "
        "doubled or moved, 5,000 times each; where that changed the text: how often our reader did not read it, read "
        "another number, or took it for the right one.\n"
    )
    print("| locale | way | not read | another number | missed |")
    print("| --- | --- | --- | --- | --- |")
    for locale in styles.LOCALES:
        for how, (unread, other, missed) in tampering(locale, seed).items():
            left += missed
            print(f"| {locale} | {how} | {unread:,} | {other:,} | {missed} |")
    return int(left > 0)


if __name__ == "__main__":
    raise SystemExit(main(int(sys.argv[1]) if len(sys.argv) > 1 else SEED))
