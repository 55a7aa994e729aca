"""German: with ß (Germany, Austria) or ss (Switzerland).

Below a million one word. The last *eins* takes the gender of the noun that follows: "einhundertein Euro",
"einhunderteine Rupien" (Duden, Die Grammatik, on *ein* at the end of numbers, from memory; ICU's rule sets
by gender). Before *tausend* it is *ein*, before *Million* *eine*, for *Million* is feminine: num2words 0.5.14
writes "einhunderteinstausend" and "einhunderteins Millionen", which is mended here.
Million, Milliarde are nouns: capital letter, space, plural (amtliche Regelung der deutschen Rechtschreibung,
§ 55, from memory).
"""

from cheque.wording.spelling import group

_ENDING = {"m": "ein", "n": "ein", "f": "eine", "": "eins"}
_SCALES = ((10**9, "Milliarde", "Milliarden"), (10**6, "Million", "Millionen"))


def german(number: int, form: str = "m") -> str:
    """1234 is "eintausendzweihundertvierunddreißig"."""
    if number == 0:
        return group("de", 0)
    parts = []
    for size, one, many in _SCALES:
        count, number = divmod(number, size)
        if count:
            parts.append(f"{_counting(count, 'f')} {one if count == 1 else many}")
    thousands, number = divmod(number, 1000)
    words = f"{_counting(thousands, 'm')}tausend" if thousands else ""
    if number:
        words += _counting(number, form)
    if words:
        parts.append(words)
    return " ".join(parts)


def swiss(number: int, form: str = "m") -> str:
    """As in Germany, with ss for ß (Bundeskanzlei, Rechtschreibung: Leitfaden, from memory)."""
    return german(number, form).replace("ß", "ss")


def unit_form(number: int) -> int:
    """Which form of a unit's name follows the number: 0 for one, 1 for every other."""
    return 0 if number == 1 else 1


def _counting(number: int, form: str) -> str:
    words = group("de", number)
    return words.removesuffix("eins") + _ENDING[form] if number % 100 == 1 else words
