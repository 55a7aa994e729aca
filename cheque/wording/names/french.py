"""French names of currencies. CLDR has no plural in "dinar koweïtiens": a slip, here "dinars koweïtiens"."""

from cheque.wording.style import Name

_CENT = ("cent", "cents")


def of(one: str, other: str) -> tuple[str, str, str]:
    """The forms of a unit, the last after a whole million: *de*, or *d'* before a vowel."""
    return one, other, f"d'{other}" if other[0] in "aeiou" else f"de {other}"


NAMES = {
    "AUD": Name(
        of("dollar australien", "dollars australiens"), minor=_CENT, alone=("cent australien", "cents australiens")
    ),
    "BRL": Name(of("réal brésilien", "réals brésiliens")),
    "CAD": Name(of("dollar canadien", "dollars canadiens"), minor=_CENT, alone=("cent canadien", "cents canadiens")),
    "CHF": Name(
        of("franc suisse", "francs suisses"),
        minor=("centime", "centimes"),
        alone=("centime suisse", "centimes suisses"),
    ),
    "EUR": Name(of("euro", "euros"), minor=("centime", "centimes"), alone=("centime d'euro", "centimes d'euro")),
    "GBP": Name(of("livre sterling", "livres sterling"), "f", minor=("penny", "pence")),
    "INR": Name(of("roupie indienne", "roupies indiennes"), "f"),
    "JPY": Name(of("yen japonais", "yens japonais")),
    "KWD": Name(of("dinar koweïtien", "dinars koweïtiens")),
    "MXN": Name(of("peso mexicain", "pesos mexicains")),
    "PLN": Name(of("zloty polonais", "zlotys polonais")),
    "USD": Name(
        of("dollar des États-Unis", "dollars des États-Unis"),
        minor=_CENT,
        alone=("cent des États-Unis", "cents des États-Unis"),
    ),
}
