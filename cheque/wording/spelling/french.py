"""French: as in France and Canada, in Belgium and in Switzerland.

The traditional spelling ("vingt et un", hyphens below a hundred only), which the Académie française accepts
beside that of 1990 ("vingt-et-un"; ICU has it in part).

Plurals of *vingt* and *cent*: they take an s when multiplied and nothing of the number follows; *mille* is a
number, *million* and *milliard* are nouns: "quatre-vingt mille", but "quatre-vingts millions", "deux cents
millions" (Académie française, Dictionnaire, 9e éd., *vingt*, *cent*, *million*; Grevisse, Le Bon Usage; both
from memory). ICU 72 drops the s before *millions*; num2words 0.5.14 keeps it, rightly, in `fr`, but in `fr_CH`
and `fr_BE` writes "deux cents un" and "un millions", and in `fr_BE` "quatre-vingt et un": so hundreds and
scales are composed here from `fr`, and only the tens 70 to 99 are taken from `fr_CH`.
"""

from collections.abc import Callable
from functools import cache

from cheque.wording.spelling import group

_SCALES = ((10**9, " milliard"), (10**6, " million"))


def french(number: int, form: str = "m") -> str:
    """Soixante-dix, quatre-vingts, quatre-vingt-dix."""
    return _spelled(number, form, _french)


def belgian(number: int, form: str = "m") -> str:
    """Septante, quatre-vingts, nonante."""
    return _spelled(number, form, _belgian)


def swiss(number: int, form: str = "m") -> str:
    """Septante, huitante, nonante. *Huitante* is usual in Vaud, Valais and Fribourg; others keep
    quatre-vingts, which every Swiss reader understands too."""
    return _spelled(number, form, _swiss)


def unit_form(number: int) -> int:
    """0 below two ("zéro euro", "un euro"), 2 after a whole million ("un million d'euros"), else 1."""
    if number < 2:
        return 0
    return 1 if number % 10**6 else 2


@cache
def _french(number: int) -> str:
    return group("fr", number)


@cache
def _belgian(number: int) -> str:
    tens = number % 100 // 10
    return _hundreds(number, group("fr" if tens == 8 else "fr_CH", number % 100))


@cache
def _swiss(number: int) -> str:
    return _hundreds(number, group("fr_CH", number % 100))


def _hundreds(number: int, below: str) -> str:
    """The hundreds as in `fr`, which has their plural right, before tens and units."""
    if number < 100:
        return below
    if number % 100 == 0:
        return group("fr", number)
    return f"{group('fr', number // 100 * 100).removesuffix('s')} {below}"


def _spelled(number: int, form: str, three: Callable[[int], str]) -> str:
    if number == 0:
        return three(0)
    parts = ""
    for size, name in _SCALES:
        count, number = divmod(number, size)
        if count:
            parts += f" {three(count)}{name}{'s' if count > 1 else ''}"
    count, number = divmod(number, 1000)
    if count == 1:
        parts += " mille"
    elif count:
        parts += f" {_singular(three(count))} mille"
    if number:
        words = three(number)
        parts += f" {words}e" if form == "f" and words.endswith("un") else f" {words}"
    return parts[1:]


def _singular(words: str) -> str:
    """Before *mille*, "quatre-vingts" and "deux cents" lose their s; "trois" keeps it."""
    return words[:-1] if words.endswith(("cents", "vingts")) else words
