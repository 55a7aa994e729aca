"""Portuguese, of Brazil and of Portugal.

Inside a group *e* joins hundreds, tens and units. Between groups it stands only before the last group, and
only when that group is below a hundred or a whole number of hundreds: "mil e duzentos", "mil duzentos e
trinta e quatro", "dois milhões e quinhentos mil", "cento e um milhões vinte e um mil e um" (Cunha e Cintra,
Nova gramática do português contemporâneo, "Emprego da conjunção e com os cardinais", from memory). num2words
0.5.14 and ICU 72 differ from each other and from that rule, each in some numbers, by an *e* and nothing else;
num2words `pt_BR` also writes commas.

Brazil counts *bilhões*, Portugal *mil milhões* (the long scale, as num2words and ICU have it). *Mil* takes no
*um*. *Um*, *dois* and the hundreds take the noun's gender, also across *mil* ("duas mil libras"), not across
*milhões*.
"""

from cheque.wording.spelling import group

_FEMININE = {"um": "uma", "dois": "duas"}


def brazilian(number: int, form: str = "m") -> str:
    """1234 is "mil duzentos e trinta e quatro"; 10^9 is "um bilhão"."""
    billions, number = divmod(number, 10**9)
    millions, number = divmod(number, 10**6)
    parts = []
    if billions:
        parts.append((billions, f"{_three('pt_BR', billions, 'm')} {'bilhão' if billions == 1 else 'bilhões'}"))
    if millions:
        parts.append((millions, f"{_three('pt_BR', millions, 'm')} {'milhão' if millions == 1 else 'milhões'}"))
    return _joined(parts + _thousands("pt_BR", number, form)) or group("pt_BR", 0)


def european(number: int, form: str = "m") -> str:
    """1234 is "mil duzentos e trinta e quatro"; 10^9 is "mil milhões"; 16 is "dezasseis"."""
    millions, number = divmod(number, 10**6)
    parts = []
    if millions:
        name = "milhão" if millions == 1 else "milhões"
        parts.append((millions, f"{_joined(_thousands('pt', millions, 'm'))} {name}"))
    return _joined(parts + _thousands("pt", number, form)) or group("pt", 0)


def unit_form(number: int) -> int:
    """0 for one, 2 after a whole million ("um milhão de reais"), 1 for every other, nought among them."""
    if number == 1:
        return 0
    return 2 if number and number % 10**6 == 0 else 1


def _thousands(language: str, number: int, form: str) -> list[tuple[int, str]]:
    """The groups below a million, each as its value and its words."""
    count, rest = divmod(number, 1000)
    parts = []
    if count:
        parts.append((count, "mil" if count == 1 else f"{_three(language, count, form)} mil"))
    if rest:
        parts.append((rest, _three(language, rest, form)))
    return parts


def _joined(parts: list[tuple[int, str]]) -> str:
    if len(parts) < 2:
        return parts[0][1] if parts else ""
    value, last = parts[-1]
    link = " e " if value < 100 or value % 100 == 0 else " "
    return " ".join(words for _, words in parts[:-1]) + link + last


def _three(language: str, number: int, form: str) -> str:
    words = group(language, number)
    if form != "f":
        return words
    return " ".join(
        word[:-2] + "as" if word.endswith("entos") else _FEMININE.get(word, word) for word in words.split(" ")
    )
