"""Spanish names of currencies."""

from cheque.wording.style import Name

_CENTAVO = ("centavo", "centavos")


def of(one: str, other: str) -> tuple[str, str, str]:
    """The forms of a unit, the last after a whole million: "un millón de pesos"."""
    return one, other, f"de {other}"


NAMES = {
    "AUD": Name(
        of("dólar australiano", "dólares australianos"),
        minor=_CENTAVO,
        alone=("centavo australiano", "centavos australianos"),
    ),
    "BRL": Name(
        of("real brasileño", "reales brasileños"), minor=_CENTAVO, alone=("centavo brasileño", "centavos brasileños")
    ),
    "CAD": Name(
        of("dólar canadiense", "dólares canadienses"),
        minor=_CENTAVO,
        alone=("centavo canadiense", "centavos canadienses"),
    ),
    "CHF": Name(
        of("franco suizo", "francos suizos"), minor=("céntimo", "céntimos"), alone=("céntimo suizo", "céntimos suizos")
    ),
    "EUR": Name(of("euro", "euros"), minor=("céntimo", "céntimos"), alone=("céntimo de euro", "céntimos de euro")),
    "GBP": Name(of("libra esterlina", "libras esterlinas"), "f", minor=("penique", "peniques")),
    "INR": Name(of("rupia india", "rupias indias"), "f"),
    "JPY": Name(of("yen japonés", "yenes japoneses")),
    "KWD": Name(of("dinar kuwaití", "dinares kuwaitíes")),
    "MXN": Name(
        of("peso mexicano", "pesos mexicanos"), minor=_CENTAVO, alone=("centavo mexicano", "centavos mexicanos")
    ),
    "PLN": Name(of("esloti polaco", "eslotis polacos")),
    "USD": Name(
        of("dólar estadounidense", "dólares estadounidenses"),
        minor=_CENTAVO,
        alone=("centavo estadounidense", "centavos estadounidenses"),
    ),
}
