"""Italian: below a million one word, *milioni* and *miliardi* words of their own.

num2words 0.5.14 slips in three places, mended here: 118 is "centodiciotto" (it writes "centodicotto"); *tre*
at the end of a compound is written *tré* ("centoventitré", "duemilatré"), as the dictionaries have it (Treccani,
*tre*; Dizionario d'ortografia e di pronunzia; from memory); and no *e* stands after *milioni* ("un milione
duecentomila", as in ICU). "Ventunomila" and "ventunmila", "ventuno milioni" and "ventun milioni" are both in
use: the full form is taken, in which no letter of the number is dropped (num2words; ICU drops it).
"""

from cheque.wording.spelling import group

_SCALES = ((10**9, "miliardo", "miliardi"), (10**6, "milione", "milioni"))


def italian(number: int, form: str = "m") -> str:
    """1234 is "milleduecentotrentaquattro"."""
    if number < 2:
        return "una" if number and form == "f" else group("it", number)
    parts = []
    for size, one, many in _SCALES:
        count, number = divmod(number, size)
        if count:
            parts.append(f"un {one}" if count == 1 else f"{_ending(_three(count))} {many}")
    thousands, number = divmod(number, 1000)
    words = ""
    if thousands:
        words = "mille" if thousands == 1 else f"{_three(thousands)}mila"
    if number:
        words += _three(number)
    if words:
        parts.append(_ending(words))
    return " ".join(parts)


def unit_form(number: int) -> int:
    """Which form of a unit's name goes with the number: 0 for one, 1 for every other."""
    return 0 if number == 1 else 1


def _three(number: int) -> str:
    return group("it", number).replace("dicotto", "diciotto").replace("é", "e")


def _ending(words: str) -> str:
    """The accent of *tré* at the end of a compound (never on *tre* alone)."""
    return words[:-1] + "é" if words.endswith("tre") and words != "tre" else words
