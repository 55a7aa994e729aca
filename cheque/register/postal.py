"""The postal code in an address, by the country of the account: what mail is put in order by.

A register has addresses as they are written on an envelope, so the code is looked for in the last line that has one,
as the country writes it (the shapes are those of the Universal Postal Union's addressing sheets, from memory). What has
none, or is abroad, has no code here: nobody guesses one.

>>> code_of(("1 Slipway Lane", "Quillmere, QM 00401"), "US")
'00401'
>>> code_of(("Hafengasse 4", "04109 Quellmeer"), "DE"), code_of(("qm1 4ab",), "GB"), code_of(("Far away",), "US")
('04109', 'QM14AB', '')
"""

import re
from collections.abc import Sequence

_SHAPES = {
    "US": r"\d{5}(?:-\d{4})?",
    "CA": r"[A-Z]\d[A-Z] ?\d[A-Z]\d",
    "GB": r"[A-Z]{1,2}\d[A-Z\d]? ?\d[A-Z]{2}",
    "IE": r"[A-Z]\d[\dW] ?[A-Z\d]{4}",
    "IN": r"\d{3} ?\d{3}",
    "NL": r"\d{4} ?[A-Z]{2}",
    "PT": r"\d{4}-\d{3}",
    "BR": r"\d{5}-?\d{3}",
    "PL": r"\d{2}-\d{3}",
    **dict.fromkeys(("DE", "FR", "IT", "ES", "MX"), r"\d{5}"),
    **dict.fromkeys(("CH", "BE"), r"\d{4}"),
}
#: countries that write the code after the town, so that the last in a line is meant
_AFTER = frozenset({"US", "CA", "GB", "IE", "IN"})
_FOUND = {
    country: re.compile(rf"(?<![^\W_])(?<!\d-){shape}(?![^\W_])(?!-\d)", re.ASCII) for country, shape in _SHAPES.items()
}


def countries() -> tuple[str, ...]:
    """The countries whose postal codes are known, by their codes of ISO 3166."""
    return tuple(sorted(_SHAPES))


def code_of(address: Sequence[str], country: str) -> str:
    """The postal code of an address, in capitals and without blanks; "" when it has none of that country's shape."""
    shape = _FOUND.get(country)
    if shape is None:
        return ""
    for line in reversed(address):
        if found := shape.findall(line.upper()):
            return str(found[-1 if country in _AFTER else 0]).replace(" ", "")
    return ""
