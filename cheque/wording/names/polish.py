"""Polish names of currencies, each in three forms. All are written with a fraction.

*Euro* and *peso* are neuter and do not decline (Wielki słownik ortograficzny PWN, from memory; CLDR writes "pesos"
for the plural), and *funtów szterlingów* is declined in full, as in CLDR.
"""

from cheque.wording.style import Name

NAMES = {
    "AUD": Name(("dolar australijski", "dolary australijskie", "dolarów australijskich")),
    "BRL": Name(("real brazylijski", "reale brazylijskie", "reali brazylijskich")),
    "CAD": Name(("dolar kanadyjski", "dolary kanadyjskie", "dolarów kanadyjskich")),
    "CHF": Name(("frank szwajcarski", "franki szwajcarskie", "franków szwajcarskich")),
    "EUR": Name(("euro", "euro", "euro"), "n"),
    "GBP": Name(("funt szterling", "funty szterlingi", "funtów szterlingów")),
    "INR": Name(("rupia indyjska", "rupie indyjskie", "rupii indyjskich"), "f"),
    "JPY": Name(("jen japoński", "jeny japońskie", "jenów japońskich")),
    "KWD": Name(("dinar kuwejcki", "dinary kuwejckie", "dinarów kuwejckich")),
    "MXN": Name(("peso meksykańskie", "peso meksykańskie", "peso meksykańskich"), "n"),
    "PLN": Name(("złoty", "złote", "złotych")),
    "USD": Name(("dolar amerykański", "dolary amerykańskie", "dolarów amerykańskich")),
}
