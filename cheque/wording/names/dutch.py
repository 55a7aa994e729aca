"""Dutch names of currencies: after a number the unit has no plural.

"Pond sterling", the name in the law of its country, for CLDR's "Britse pond", which is not even neuter there.
"""

from cheque.wording.style import Name

_CENT = ("cent", "cent")


def same(name: str) -> tuple[str, str]:
    """One form for every number."""
    return name, name


NAMES = {
    "AUD": Name(same("Australische dollar"), minor=_CENT, alone=same("Australische cent")),
    "BRL": Name(same("Braziliaanse real")),
    "CAD": Name(same("Canadese dollar"), minor=_CENT, alone=same("Canadese cent")),
    "CHF": Name(same("Zwitserse frank")),
    "EUR": Name(same("euro"), minor=_CENT, alone=same("eurocent")),
    "GBP": Name(same("pond sterling"), minor=("penny", "pence")),
    "INR": Name(same("Indiase roepie")),
    "JPY": Name(same("Japanse yen")),
    "KWD": Name(same("Koeweitse dinar")),
    "MXN": Name(same("Mexicaanse peso")),
    "PLN": Name(same("Poolse zloty")),
    "USD": Name(same("Amerikaanse dollar"), minor=_CENT, alone=same("Amerikaanse cent")),
}
