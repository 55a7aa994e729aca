"""Mexico: pesos in words, centavos as a fraction of a hundred, closed with *M.N.* (moneda nacional).

    1231.56      Mil doscientos treinta y un pesos 56/100 M.N.
    100.00       Cien pesos 00/100 M.N.
    1.01         Un peso 01/100 M.N.
    0.56         Cero pesos 56/100 M.N.
    1000000.00   Un millón de pesos 00/100 M.N.

Common practice. Other currencies are named in full and have no *M.N.*
"""

from cheque.wording.letters import SPANISH
from cheque.wording.names.spanish import NAMES, of
from cheque.wording.reading import spanish as reading
from cheque.wording.spelling import spanish as spelling
from cheque.wording.style import Name, Style, always

FRACTION = always("{whole} {unit} {figures}/{over}")

STYLE = Style(
    locale="es_MX",
    language="Spanish (Mexico)",
    practice="common practice",
    names=NAMES | {"MXN": Name(of("peso", "pesos"))},
    words=FRACTION,
    fraction=FRACTION,
    undivided="{whole} {unit}",
    special={"MXN": always("{whole} {unit} {figures}/{over} M.N.")},
    spell=spelling.spanish,
    unit_form=spelling.unit_form,
    reader=reading.spanish,
    substitutes=SPANISH,
)
