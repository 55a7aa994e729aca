"""Reads German back, also with ss for ß and with ae, oe, ue. See `cheque.wording.reading`."""

from cheque.wording.reading.grammar import (
    Fold,
    Reader,
    Scale,
    Table,
    descend,
    folded,
    led,
    numbered,
    only,
    sums,
    times,
    union,
)

UNITS = numbered("ein zwei drei vier fünf sechs sieben acht neun")
TEENS = numbered(
    "zehn elf zwölf dreizehn vierzehn fünfzehn sechzehn siebzehn achtzehn neunzehn",
    10,
)
TENS = numbered("zwanzig dreißig vierzig fünfzig sechzig siebzig achtzig neunzig", 20, 10)
ONE = {"m": "ein", "n": "ein", "f": "eine", "": "eins"}


def german(fold: Fold) -> Reader:
    """The unit before the ten; the last one by gender; Million, Milliarde feminine."""
    masculine = _group(ONE["m"], fold)
    feminine = _group(ONE["f"], fold)
    zero = {" null": 0}
    walks = {}
    for form, one in ONE.items():
        group = _group(one, fold)
        spaced = led(group)
        scales = [
            Scale(mark, size, heads.__getitem__, spaced)
            for name, many, size in (("milliarde", "n", 10**9), ("million", "en", 10**6))
            for mark, heads in ((f" {name}{many}", only(led(feminine), 2)), (f" {name}", {" eine": 1}))
        ]
        scales.append(Scale("tausend", 1000, led(masculine).__getitem__, group))
        walks[form] = (tuple(scales), union(spaced, zero))

    def read(text: str, form: str) -> int:
        return descend(f" {text}", *walks[form])

    return Reader(read, unit_form)


def swiss(fold: Fold) -> Reader:
    """As in Germany, every ß written ss."""
    return german(lambda word: fold(word.replace("ß", "ss")))


def unit_form(number: int) -> int:
    """One Pfund, but no Pesos and two Pesos."""
    return int(number != 1)


def _group(one: str, fold: Fold) -> Table:
    below = union({one: 1}, only(UNITS, 2), TEENS, TENS, sums(UNITS, "und", TENS))
    hundreds = times(UNITS, "hundert", 100)
    return folded(union(below, hundreds, sums(hundreds, "", below)), fold)
