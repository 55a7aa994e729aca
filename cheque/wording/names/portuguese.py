"""Portuguese names of currencies: those of Brazil, and those of Portugal where they differ.

CLDR begins the Brazilian names with a capital, for lists; in running words they are small. "Libra esterlina" in
Portugal too, for CLDR's "libra esterlina britânica": there is only one.
"""

from cheque.wording.style import Name


def of(one: str, other: str) -> tuple[str, str, str]:
    """The forms of a unit, the last after a whole million: "um milhão de reais"."""
    return one, other, f"de {other}"


_COMMON = {
    "AUD": Name(of("dólar australiano", "dólares australianos")),
    "BRL": Name(
        of("real brasileiro", "reais brasileiros"),
        minor=("centavo", "centavos"),
        alone=("centavo brasileiro", "centavos brasileiros"),
    ),
    "CHF": Name(of("franco suíço", "francos suíços")),
    "GBP": Name(of("libra esterlina", "libras esterlinas"), "f"),
    "INR": Name(of("rupia indiana", "rupias indianas"), "f"),
    "JPY": Name(of("iene japonês", "ienes japoneses")),
    "KWD": Name(of("dinar kuwaitiano", "dinares kuwaitianos")),
    "MXN": Name(of("peso mexicano", "pesos mexicanos")),
}

BRAZIL = _COMMON | {
    "CAD": Name(of("dólar canadense", "dólares canadenses")),
    "EUR": Name(of("euro", "euros"), minor=("centavo", "centavos"), alone=("centavo de euro", "centavos de euro")),
    "PLN": Name(of("zloty polonês", "zlotys poloneses")),
    "USD": Name(
        of("dólar americano", "dólares americanos"),
        minor=("centavo", "centavos"),
        alone=("centavo americano", "centavos americanos"),
    ),
}

PORTUGAL = _COMMON | {
    "CAD": Name(of("dólar canadiano", "dólares canadianos")),
    "EUR": Name(of("euro", "euros"), minor=("cêntimo", "cêntimos"), alone=("cêntimo de euro", "cêntimos de euro")),
    "PLN": Name(of("zloti polaco", "zlotis polacos")),
    "USD": Name(
        of("dólar dos Estados Unidos", "dólares dos Estados Unidos"),
        minor=("cêntimo", "cêntimos"),
        alone=("cêntimo dos Estados Unidos", "cêntimos dos Estados Unidos"),
    ),
}
