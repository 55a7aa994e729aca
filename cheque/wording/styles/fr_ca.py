"""Canada, in French: whole dollars in words, cents as a fraction of a hundred.

    1234.56   Mille deux cent trente-quatre et 56/100
    100.00    Cent et 00/100
    0.56      Zéro et 56/100

The word *dollars* is printed on the form after the line for the words, so it is not struck again; any other
currency is named before the fraction. Common practice. Figures without grouping, for the country groups by a
space, and a cheque has none (see `cheque.wording.grouping`).
"""

from cheque.wording.letters import FRENCH
from cheque.wording.names.french import NAMES
from cheque.wording.reading import french as reading
from cheque.wording.spelling import french as spelling
from cheque.wording.style import Style, always

FRACTION = always("{whole} {unit} et {figures}/{over}")

STYLE = Style(
    locale="fr_CA",
    language="French (Canada)",
    practice="common practice; dollars preprinted on the form",
    names=NAMES,
    words=FRACTION,
    fraction=FRACTION,
    undivided="{whole} {unit}",
    special={"CAD": always("{whole} et {figures}/{over}")},
    spell=spelling.french,
    unit_form=spelling.unit_form,
    reader=reading.french,
    group="",
    point=",",
    substitutes=FRENCH,
    second="fr",
)
