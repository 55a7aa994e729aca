"""Polish. num2words 0.5.14 and ICU 72 agree in every number compared; composed here by the same rules.

*Tysiąc*, *milion* and *miliard* take the form that their count asks for: one, two to four, or many, where 12,
13 and 14 are many. One of them stands without *jeden*. The noun after the number follows the same rule, but
in a compound that ends in one it is many ("dwadzieścia jeden złotych"). *Dwa* is *dwie* before a feminine noun,
*jeden* alone is *jedna* or *jedno* (Wielki słownik ortograficzny PWN, on numerals, from memory).
"""

from cheque.wording.spelling import group

_SCALES = (
    (10**9, ("miliard", "miliardy", "miliardów")),
    (10**6, ("milion", "miliony", "milionów")),
    (1000, ("tysiąc", "tysiące", "tysięcy")),
)
_ONE = {"m": "jeden", "f": "jedna", "n": "jedno"}


def polish(number: int, form: str = "m") -> str:
    """1234 is "tysiąc dwieście trzydzieści cztery"."""
    if number == 0:
        return group("pl", 0)
    if number == 1:
        return _ONE[form]
    parts = []
    for size, names in _SCALES:
        count, number = divmod(number, size)
        if count:
            name = names[unit_form(count)]
            parts.append(name if count == 1 else f"{group('pl', count)} {name}")
    if number:
        words = group("pl", number)
        parts.append(words[:-1] + "ie" if form == "f" and words.endswith("dwa") else words)
    return " ".join(parts)


def unit_form(number: int) -> int:
    """0 for one, 1 for two to four (not 12 to 14), 2 for every other."""
    if number == 1:
        return 0
    return 1 if 2 <= number % 10 <= 4 and number // 10 % 10 != 1 else 2
