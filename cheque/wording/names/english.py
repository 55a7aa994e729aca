"""English names of currencies. "Pound sterling" is the currency's name in law (Coinage Act 1971, from memory)."""

from cheque.wording.style import Name

_CENT = ("cent", "cents")

NAMES = {
    "AUD": Name(
        ("Australian dollar", "Australian dollars"), minor=_CENT, alone=("Australian cent", "Australian cents")
    ),
    "BRL": Name(
        ("Brazilian real", "Brazilian reals"),
        minor=("centavo", "centavos"),
        alone=("Brazilian centavo", "Brazilian centavos"),
    ),
    "CAD": Name(("Canadian dollar", "Canadian dollars"), minor=_CENT, alone=("Canadian cent", "Canadian cents")),
    "CHF": Name(
        ("Swiss franc", "Swiss francs"), minor=("centime", "centimes"), alone=("Swiss centime", "Swiss centimes")
    ),
    "EUR": Name(("euro", "euros"), minor=_CENT, alone=("euro cent", "euro cents")),
    "GBP": Name(("pound sterling", "pounds sterling"), minor=("penny", "pence")),
    "INR": Name(("Indian rupee", "Indian rupees"), minor=("paisa", "paise"), alone=("Indian paisa", "Indian paise")),
    "JPY": Name(("Japanese yen", "Japanese yen")),
    "KWD": Name(("Kuwaiti dinar", "Kuwaiti dinars"), minor=("fils", "fils"), alone=("Kuwaiti fils", "Kuwaiti fils")),
    "MXN": Name(
        ("Mexican peso", "Mexican pesos"),
        minor=("centavo", "centavos"),
        alone=("Mexican centavo", "Mexican centavos"),
    ),
    "PLN": Name(("Polish zloty", "Polish zlotys"), minor=("grosz", "groszy"), alone=("Polish grosz", "Polish groszy")),
    "USD": Name(("US dollar", "US dollars"), minor=_CENT, alone=("US cent", "US cents")),
}

#: where the name stands after a fraction ("One and 21/100 US dollars"), it is in the plural for every amount
AFTER_FRACTION = {code: Name((name.unit[1], name.unit[1])) for code, name in NAMES.items()}
