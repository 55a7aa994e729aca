"""Reads Spanish back, shortened *un* and feminine hundreds among it. See `cheque.wording.reading`."""

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
    union,
)

UNITS = numbered("dos tres cuatro cinco seis siete ocho nueve", 2)
TEENS = numbered(
    "diez once doce trece catorce quince dieciséis diecisiete dieciocho diecinueve",
    10,
)
TWENTIES = numbered(
    "veintidós veintitrés veinticuatro veinticinco veintiséis veintisiete veintiocho veintinueve",
    22,
)
TENS = numbered("treinta cuarenta cincuenta sesenta setenta ochenta noventa", 30, 10)
HUNDREDS = numbered(
    "doscientos trescientos cuatrocientos quinientos seiscientos setecientos ochocientos novecientos",
    200,
    100,
)
ONE = {
    "m": {"un": 1, "veintiún": 21},
    "f": {"una": 1, "veintiuna": 21},
    "": {"uno": 1, "veintiuno": 21},
}


def spanish(fold: Fold) -> Reader:
    """A thousand takes no *un*; a million does; millions are counted to 999,999."""
    masculine = _group("m", "os", fold)
    zero = {" cero": 0}

    def thousand(form: str) -> Scale:
        heads = _group("m", "as" if form == "f" else "os", fold)
        return Scale(" mil", 1000, union({"": 1}, only(heads, 2)).__getitem__, _last(form, fold))

    counting = thousand("m")

    def millions(text: str) -> int:
        value = descend(text, (counting,), masculine)
        if value == 1:  # "un millón", never "un millones"
            raise KeyError(text)
        return value

    walks = {}
    for form in ONE:
        group = _last(form, fold)
        scales = (
            Scale(" millones", 10**6, millions, group),
            Scale(f" {fold('millón')}", 10**6, {" un": 1}.__getitem__, group),
            thousand(form),
        )
        walks[form] = (scales, union(group, zero))

    def read(text: str, form: str) -> int:
        return descend(f" {text}", *walks[form])

    return Reader(read, unit_form)


def unit_form(number: int) -> int:
    """Singular for one; with *de* after a whole million; plural otherwise."""
    if number == 1:
        return 0
    return 2 if number > 0 and str(number).endswith("000000") else 1


def _last(form: str, fold: Fold) -> Table:
    """The groups that may end a number of that form."""
    return _group(form, "as" if form == "f" else "os", fold)


def _group(one: str, ending: str, fold: Fold) -> Table:
    ones = ONE[one]
    units = union(only(ones, 1, 1), UNITS)
    below = union(ones, UNITS, TEENS, {"veinte": 20}, TWENTIES, TENS, sums(TENS, " y ", units))
    hundreds = {word[:-2] + ending: value for word, value in HUNDREDS.items()}
    over = union({"ciento": 100}, hundreds)
    return folded(led(union(below, {"cien": 100}, hundreds, sums(over, " ", below))), fold)
