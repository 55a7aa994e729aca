"""Reads Polish back, and holds every scale word to the form that its count asks for.

See `cheque.wording.reading`.
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
    sums,
    union,
)

UNITS = numbered("trzy cztery pięć sześć siedem osiem dziewięć", 3)
TWO = {"m": "dwa", "n": "dwa", "f": "dwie"}
ALONE = {"m": "jeden", "f": "jedna", "n": "jedno"}
TEENS = numbered(
    "dziesięć jedenaście dwanaście trzynaście czternaście piętnaście szesnaście siedemnaście osiemnaście "
    "dziewiętnaście",
    10,
)
TENS = numbered(
    "dwadzieścia trzydzieści czterdzieści pięćdziesiąt sześćdziesiąt siedemdziesiąt osiemdziesiąt dziewięćdziesiąt",
    20,
    10,
)
HUNDREDS = numbered("sto dwieście trzysta czterysta pięćset sześćset siedemset osiemset dziewięćset", 100, 100)
NAMES = (
    (10**9, "miliard", "miliardy", "miliardów"),
    (10**6, "milion", "miliony", "milionów"),
    (1000, "tysiąc", "tysiące", "tysięcy"),
)
FEW = ("2", "3", "4")


def polish(fold: Fold) -> Reader:
    """A thousand, a million take no *jeden* when there is one of them."""
    counting = _group("m", fold)
    few = {phrase: value for phrase, value in counting.items() if unit_form(value) == 1}
    many = {phrase: value for phrase, value in counting.items() if unit_form(value) == 2}
    walks = {}
    for form in ALONE:
        group = _group(form, fold)
        scales = tuple(
            Scale(f" {fold(name)}", size, heads.__getitem__, group)
            for size, one, some, all_ in NAMES
            for name, heads in ((some, few), (all_, many), (one, {"": 1}))
        )
        alone = {phrase: value for phrase, value in group.items() if value != 1}
        walks[form] = (scales, union(alone, {f" {fold(ALONE[form])}": 1, " zero": 0}))

    def read(text: str, form: str) -> int:
        return descend(f" {text}", *walks[form])

    return Reader(read, unit_form)


def unit_form(number: int) -> int:
    """Złoty for one, złote when the last digit is 2, 3 or 4 and no teen, złotych for every other."""
    digits = str(number)
    if digits == "1":
        return 0
    return 1 if digits.endswith(FEW) and digits[-2:-1] != "1" else 2


def _group(form: str, fold: Fold) -> Table:
    """In a compound the unit one is *jeden* in every gender."""
    units = union({"jeden": 1, TWO[form]: 2}, UNITS)
    below = union(units, TEENS, TENS, sums(TENS, " ", units))
    return folded(led(union(below, HUNDREDS, sums(HUNDREDS, " ", below))), fold)
