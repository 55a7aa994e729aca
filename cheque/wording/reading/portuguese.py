"""Reads Portuguese back, of Brazil and of Portugal. See `cheque.wording.reading`.

*E* joins hundreds, tens and units, and stands before the last group of the number only, when that group is
below a hundred or whole hundreds; so this language has a walk of its own, which holds every *e* to that rule.
"""

from collections.abc import Callable, Mapping, Sequence

from cheque.wording.reading.grammar import Fold, Reader, Table, folded, led, numbered, only, sums, union

UNITS = numbered("três quatro cinco seis sete oito nove", 3)
ONES = {"m": {"um": 1, "dois": 2}, "f": {"uma": 1, "duas": 2}}
TEENS_BRAZIL = "dez onze doze treze catorze quinze dezesseis dezessete dezoito dezenove"
TEENS_PORTUGAL = "dez onze doze treze catorze quinze dezasseis dezassete dezoito dezanove"
TENS = numbered("vinte trinta quarenta cinquenta sessenta setenta oitenta noventa", 20, 10)
HUNDREDS = numbered("duzentos trezentos quatrocentos quinhentos seiscentos setecentos oitocentos novecentos", 200, 100)
#: a scale word, its size, and what reads its count
Step = tuple[str, int, Callable[[str], int]]


def brazilian(fold: Fold) -> Reader:
    """Bilhões for 10^9."""
    groups = {form: _group(form, numbered(TEENS_BRAZIL, 10), fold) for form in ONES}
    many = only(groups["m"], 2)
    scales: list[Step] = [
        (fold(f" {name}"), size, heads.__getitem__)
        for plural, one, size in (("bilhões", "bilhão", 10**9), ("milhões", "milhão", 10**6))
        for name, heads in ((plural, many), (one, {" um": 1}))
    ]
    return _reader(scales, groups)


def european(fold: Fold) -> Reader:
    """Mil milhões for 10^9; dezasseis, dezassete, dezanove."""
    groups = {form: _group(form, numbered(TEENS_PORTUGAL, 10), fold) for form in ONES}
    counting = [_thousand(groups["m"])]

    def millions(text: str) -> int:
        value = _walk(text, counting, groups["m"])
        if value == 1:  # "um milhão", never "um milhões"
            raise KeyError(text)
        return value

    scales: list[Step] = [
        (fold(" milhões"), 10**6, millions),
        (fold(" milhão"), 10**6, {" um": 1}.__getitem__),
    ]
    return _reader(scales, groups)


def unit_form(number: int) -> int:
    """Singular for one; with *de* after a whole million; plural otherwise."""
    if number == 1:
        return 0
    return 2 if number > 0 and str(number).endswith("000000") else 1


def _reader(scales: list[Step], groups: Mapping[str, Table]) -> Reader:
    walks = {form: ([*scales, _thousand(group)], group) for form, group in groups.items()}

    def read(text: str, form: str) -> int:
        return 0 if text == "zero" else _walk(f" {text}", *walks[form])

    return Reader(read, unit_form)


def _walk(text: str, scales: Sequence[Step], group: Table) -> int:
    """As `descend`, and each group notes whether an *e* led to it."""
    total, last = 0, 0
    found: list[tuple[int, bool]] = []
    for mark, size, heads in scales:
        head, there, rest = text.partition(mark)
        if not there:
            continue
        if size == last:
            raise KeyError(text)
        linked = head == " e" or head.startswith(" e ")
        value = heads(head[2:] if linked else head)
        found.append((value, linked))
        total, last, text = total + value * size, size, rest
    if text or not found:
        linked = text.startswith(" e ")
        value = group[text[2:] if linked else text]
        found.append((value, linked))
        total += value
    for place, (value, linked) in enumerate(found, 1):
        if linked != (1 < place == len(found) and (value < 100 or value % 100 == 0)):
            raise KeyError(text)
    return total


def _thousand(group: Table) -> Step:
    return (" mil", 1000, union({"": 1}, only(group, 2)).__getitem__)


def _group(form: str, teens: Table, fold: Fold) -> Table:
    units = union(ONES[form], UNITS)
    below = union(units, teens, TENS, sums(TENS, " e ", units))
    ending = "as" if form == "f" else "os"
    hundreds = {word[:-2] + ending: value for word, value in HUNDREDS.items()}
    over = union({"cento": 100}, hundreds)
    return folded(led(union(below, {"cem": 100}, hundreds, sums(over, " e ", below))), fold)
