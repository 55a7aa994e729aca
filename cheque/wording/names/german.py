"""German names of currencies.

"Pfund Sterling", the name in the law of its country, for CLDR's "Britisches Pfund"; *Zloty* without the Polish
letter, and the plural *Reais*, as in Duden (from memory).
"""

from cheque.wording.style import Name

_CENT = ("Cent", "Cent")

NAMES = {
    "AUD": Name(
        ("Australischer Dollar", "Australische Dollar"), minor=_CENT, alone=("Australischer Cent", "Australische Cent")
    ),
    "BRL": Name(("Brasilianischer Real", "Brasilianische Reais")),
    "CAD": Name(
        ("Kanadischer Dollar", "Kanadische Dollar"), minor=_CENT, alone=("Kanadischer Cent", "Kanadische Cent")
    ),
    "CHF": Name(("Schweizer Franken", "Schweizer Franken"), minor=("Rappen", "Rappen")),
    "EUR": Name(("Euro", "Euro"), minor=_CENT, alone=("Eurocent", "Eurocent")),
    "GBP": Name(("Pfund Sterling", "Pfund Sterling"), "n", minor=("Penny", "Pence")),
    "INR": Name(("Indische Rupie", "Indische Rupien"), "f"),
    "JPY": Name(("Japanischer Yen", "Japanische Yen")),
    "KWD": Name(("Kuwait-Dinar", "Kuwait-Dinar")),
    "MXN": Name(("Mexikanischer Peso", "Mexikanische Pesos")),
    "PLN": Name(("Polnischer Zloty", "Polnische Zloty")),
    "USD": Name(("US-Dollar", "US-Dollar"), minor=_CENT, alone=("US-Cent", "US-Cent")),
}
