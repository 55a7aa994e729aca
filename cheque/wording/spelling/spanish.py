"""Spanish, of Spain and of Mexico.

*Uno* is shortened to *un* before a masculine noun and before *mil* and *millones*: "treinta y un pesos",
"veintiún mil"; num2words 0.5.14 writes "veintiuno mil" and "veintiuno millones". Hundreds take the gender of
the noun also across *mil* ("doscientas mil libras") but not across *millones*, a masculine noun; *un* before
*mil* may stay as it is ("veintiún mil libras"). After a whole million *de* stands before the noun ("un millón
de pesos"). Real Academia Española, Diccionario panhispánico de dudas, *uno* 2.2, *mil*, *cardinales* 3 to 6
(from memory). ICU 72 keeps "doscientos mil" before a feminine noun, against that rule.
"""

from cheque.wording.spelling import group


def spanish(number: int, form: str = "m") -> str:
    """1231 before a masculine noun is "mil doscientos treinta y un"."""
    if number == 0:
        return group("es", 0)
    millions, number = divmod(number, 10**6)
    parts = []
    if millions:
        parts.append("un millón" if millions == 1 else f"{_thousands(millions, 'm')} millones")
    if number:
        parts.append(_thousands(number, form))
    return " ".join(parts)


def unit_form(number: int) -> int:
    """0 for one, 2 after a whole million ("un millón de euros"), 1 for every other, nought among them."""
    if number == 1:
        return 0
    return 2 if number and number % 10**6 == 0 else 1


def _thousands(number: int, form: str) -> str:
    count, rest = divmod(number, 1000)
    if not count:
        return _counting(rest, form)
    if count == 1:
        words = "mil"
    else:
        words = f"{_feminine(_counting(count, 'm')) if form == 'f' else _counting(count, 'm')} mil"
    return f"{words} {_counting(rest, form)}" if rest else words


def _counting(number: int, form: str) -> str:
    """A group of three digits before a noun of that gender; form "" is the number by itself."""
    words = group("es", number)
    if form == "m" and words.endswith("uno"):
        return words[:-5] + "tiún" if words.endswith("tiuno") else words[:-1]
    if form == "f":
        words = _feminine(words)
        return words[:-1] + "a" if words.endswith("uno") else words
    return words


def _feminine(words: str) -> str:
    """Doscientas, quinientas, …: only the multiples of a hundred change."""
    return words.replace("cientos", "cientas").replace("quinientos", "quinientas")
