"""Italian names of currencies. CLDR's "pesos messicani" is "pesos" here too; *sterlina* is feminine."""

from cheque.wording.style import Name

NAMES = {
    "AUD": Name(("dollaro australiano", "dollari australiani")),
    "BRL": Name(("real brasiliano", "real brasiliani")),
    "CAD": Name(("dollaro canadese", "dollari canadesi")),
    "CHF": Name(("franco svizzero", "franchi svizzeri")),
    "EUR": Name(("euro", "euro")),
    "GBP": Name(("sterlina britannica", "sterline britanniche"), "f"),
    "INR": Name(("rupia indiana", "rupie indiane"), "f"),
    "JPY": Name(("yen giapponese", "yen giapponesi")),
    "KWD": Name(("dinaro kuwaitiano", "dinari kuwaitiani")),
    "MXN": Name(("peso messicano", "pesos messicani")),
    "PLN": Name(("zloty polacco", "zloty polacchi")),
    "USD": Name(("dollaro statunitense", "dollari statunitensi")),
}
