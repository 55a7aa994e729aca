"""United States: whole dollars in words, cents as a fraction of a hundred.

    1234.56   One thousand two hundred thirty-four and 56/100
    100.00    One hundred and 00/100
    0.56      Zero and 56/100

The word *dollars* is printed on the form after the line for the words, so it is not struck again. Any other
currency is named after the fraction, where the form's *dollars* must then not stand. No *and* inside the whole
number: it belongs before the cents. Common practice throughout.
"""

from cheque.wording.names.english import AFTER_FRACTION
from cheque.wording.reading import english as reading
from cheque.wording.spelling import english as spelling
from cheque.wording.style import Style, always

FRACTION = always("{whole} and {figures}/{over} {unit}")

STYLE = Style(
    locale="en_US",
    language="English (United States)",
    practice="common practice; dollars preprinted on the form",
    names=AFTER_FRACTION,
    words=FRACTION,
    fraction=FRACTION,
    undivided="{whole} {unit}",
    special={"USD": always("{whole} and {figures}/{over}")},
    spell=spelling.american,
    brief=spelling.hundreds,
    unit_form=spelling.unit_form,
    reader=reading.american,
    second="en",
)
