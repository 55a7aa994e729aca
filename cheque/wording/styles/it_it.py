"""Italy: the whole number one word below a million, the cents in figures after a stroke.

    1234.56      Milleduecentotrentaquattro/56
    100.00       Cento/00
    1.01         Uno/01
    0.56         Zero/56
    1000000.00   Un milione/00

The word *euro* is printed on the form before the line for the words, so it is not struck again; any other
currency is named first ("Franchi svizzeri cento/00"). Common practice.
"""

from cheque.wording.letters import ITALIAN
from cheque.wording.names.italian import NAMES
from cheque.wording.reading import italian as reading
from cheque.wording.spelling import italian as spelling
from cheque.wording.style import Style, always

FRACTION = always("{unit} {whole}/{figures}")

STYLE = Style(
    locale="it_IT",
    language="Italian (Italy)",
    practice="common practice; euro preprinted on the form",
    names=NAMES,
    words=FRACTION,
    fraction=FRACTION,
    undivided="{unit} {whole}",
    special={"EUR": always("{whole}/{figures}")},
    spell=spelling.italian,
    unit_form=spelling.unit_form,
    reader=reading.italian,
    group=".",
    point=",",
    substitutes=ITALIAN,
)
