"""Canada, in English: as in the United States, with Canadian dollars preprinted on the form.

    1234.56   One thousand two hundred thirty-four and 56/100
    100.00    One hundred and 00/100
    0.56      Zero and 56/100

Common practice; where words and figures disagree the words prevail (Bills of Exchange Act, s. 27(2)).
"""

from cheque.wording.names.english import AFTER_FRACTION
from cheque.wording.reading import english as reading
from cheque.wording.spelling import english as spelling
from cheque.wording.style import Style, always

FRACTION = always("{whole} and {figures}/{over} {unit}")

STYLE = Style(
    locale="en_CA",
    language="English (Canada)",
    practice="common practice; dollars preprinted on the form",
    names=AFTER_FRACTION,
    words=FRACTION,
    fraction=FRACTION,
    undivided="{whole} {unit}",
    special={"CAD": always("{whole} and {figures}/{over}")},
    spell=spelling.american,
    brief=spelling.hundreds,
    unit_form=spelling.unit_form,
    reader=reading.american,
    second="en",
)
