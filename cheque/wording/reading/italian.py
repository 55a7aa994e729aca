"""Reads Italian back, also with an apostrophe for the last accent. See `cheque.wording.reading`.

Elision: the tens lose their last vowel before *uno* and *otto* ("ventuno", "trentotto"), *cento* only before
*otto* and *ottanta* ("centotto", but "centouno"), as num2words and ICU agree to write. *Tre*
at the end of a compound carries an accent. *Mille* alone is a thousand, *mila* follows every other count.
"""

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

UNITS = numbered("uno due tre quattro cinque sei sette otto nove")
TEENS = numbered(
    "dieci undici dodici tredici quattordici quindici sedici diciassette diciotto diciannove",
    10,
)
TENS = numbered("venti trenta quaranta cinquanta sessanta settanta ottanta novanta", 20, 10)
VOWELS = {word: value for word, value in UNITS.items() if value in (1, 8)}
THREE, OTHERS = {"tre": 3}, {word: value for word, value in UNITS.items() if value not in (1, 3, 8)}


def italian(fold: Fold) -> Reader:
    """Below a million one word, then *milioni* and *miliardi*, with nothing between."""
    inside = folded(_group("tre", "tre"), fold)  # before "mila"
    alone = folded(_group("tre", "tré"), fold)  # a group that is a word of its own
    ending = folded(_group("tré", "tré"), fold)  # the end of a compound
    before = led(union({"mille": 1}, times(only(inside, 2), "mila", 1)))
    zero = {" zero": 0}
    walks = {}
    for form, first in (("m", alone), ("f", {**only(alone, 2), "una": 1})):
        scales = [
            Scale(mark, size, heads.__getitem__, led(alone))
            for one, many, size in (("miliardo", "miliardi", 10**9), ("milione", "milioni", 10**6))
            for mark, heads in ((f" {many}", only(led(alone), 2)), (f" {one}", {" un": 1}))
        ]
        walks[form] = (tuple(scales), union(led(first), zero))

    def thousands(text: str) -> tuple[str, int]:
        """What stands before *mille* or *mila*, and what follows: "duemilatré" is 2000 and "tré"."""
        for mark in ("mila", "mille"):
            head, found, rest = text.partition(mark)
            if found:
                start, _, count = head.rpartition(" ")
                value = before[f" {count}{mark}"] * 1000 + (ending[rest] if rest else 0)
                return start, value
        return text, 0

    def read(text: str, form: str) -> int:
        start, value = thousands(f" {text}")
        if not value:
            return descend(f" {text}", *walks[form])
        return value + (descend(start, *walks["m"]) if start else 0)

    return Reader(read, unit_form)


def unit_form(number: int) -> int:
    """One dollaro, but no dollari and two dollari."""
    return int(number != 1)


def _group(three: str, compound: str) -> Table:
    """Groups; `three` is the bare word for 3, `compound` the same at the end of a longer group."""
    units = union(VOWELS, {compound: 3}, OTHERS)
    cut = {word[:-1]: value for word, value in TENS.items()}
    tens = union(TENS, sums(cut, "", VOWELS), sums(TENS, "", {compound: 3} | OTHERS))
    below = union(units, TEENS, tens)
    hundreds = union({"cento": 100}, times(only(UNITS, 2), "cento", 100))
    eights = {word: value for word, value in below.items() if word.startswith("ott")}
    others = {word: value for word, value in below.items() if word not in eights}
    short = {word[:-1]: value for word, value in hundreds.items()}
    bare = union(VOWELS, {three: 3}, OTHERS)
    return union(bare, TEENS, tens, hundreds, sums(hundreds, "", others), sums(short, "", eights))
