"""Reads French back: France and Canada, Belgium, Switzerland. See `cheque.wording.reading`."""

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

UNITS = numbered("un deux trois quatre cinq six sept huit neuf")
TEENS = numbered("dix onze douze treize quatorze quinze seize dix-sept dix-huit dix-neuf", 10)
ONE, REST = only(UNITS, 1, 1), only(UNITS, 2)
FEMININE_ONE = {"une": 1}


def french(fold: Fold) -> Reader:
    """Soixante-dix, soixante et onze, quatre-vingts, quatre-vingt-un, quatre-vingt-dix."""
    return _reader(fold, numbered("vingt trente quarante cinquante", 20, 10), sixty=True, eighty=True)


def belgian(fold: Fold) -> Reader:
    """Septante, quatre-vingts, nonante."""
    tens = numbered("vingt trente quarante cinquante soixante septante", 20, 10) | {"nonante": 90}
    return _reader(fold, tens, sixty=False, eighty=True)


def swiss(fold: Fold) -> Reader:
    """Septante, huitante, nonante."""
    tens = numbered("vingt trente quarante cinquante soixante septante huitante nonante", 20, 10)
    return _reader(fold, tens, sixty=False, eighty=False)


def unit_form(number: int) -> int:
    """Singular below two; with *de* after a whole million; plural otherwise."""
    if number in (0, 1):
        return 0
    return 2 if number >= 10**6 and number % 10**6 == 0 else 1


def _below(tens: Table, one: Table, *, sixty: bool, eighty: bool) -> tuple[Table, Table]:
    """Phrases below a hundred, as they end a number, and as they stand before *mille*."""
    plain = union(one, REST, TEENS, tens, sums(tens, " et ", one), sums(tens, "-", REST))
    if sixty:  # soixante to soixante-dix-neuf: "et" before un and onze, a hyphen before the others
        teens = {word: value for word, value in TEENS.items() if value != 11}
        base = {"soixante": 60}
        plain = union(plain, base, sums(base, " et ", one | {"onze": 11}), sums(base, "-", REST | teens))
    before = plain
    if eighty:
        base = {"quatre-vingt": 80}
        rest = union(one, REST, TEENS if sixty else {})
        plain = union(plain, {"quatre-vingts": 80}, sums(base, "-", rest))
        before = union(before, base, sums(base, "-", rest))
    return plain, before


def _hundreds(below: Table, last: str) -> Table:
    """All groups: *cent* takes an s (`last`) when multiplied and nothing follows."""
    bare = {"cent": 100, **times(REST, " cent", 100)}
    return union(below, {"cent": 100}, times(REST, f" cent{last}", 100), sums(bare, " ", below))


def _reader(fold: Fold, tens: Table, *, sixty: bool, eighty: bool) -> Reader:
    def groups(one: Table) -> tuple[Table, Table]:
        plain, before = _below(tens, one, sixty=sixty, eighty=eighty)
        return folded(led(_hundreds(plain, "s")), fold), folded(led(_hundreds(before, "")), fold)

    masculine, before = groups(ONE)
    feminine, _ = groups(FEMININE_ONE)
    zero = {f" {fold('zéro')}": 0}
    thousands = union({"": 1}, only(before, 2))
    walks = {}
    for form, group in (("m", masculine), ("f", feminine)):
        scales = [
            Scale(mark, size, heads.__getitem__, group)
            for name, size in (("milliard", 10**9), ("million", 10**6))
            for mark, heads in ((f" {name}s", only(masculine, 2)), (f" {name}", {" un": 1}))
        ]
        scales.append(Scale(" mille", 1000, thousands.__getitem__, group))
        walks[form] = (tuple(scales), union(group, zero))

    def read(text: str, form: str) -> int:
        return descend(f" {text}", *walks[form])

    return Reader(read, unit_form)
