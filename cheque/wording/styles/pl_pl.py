"""Poland: złote in words, grosze as a fraction of a hundred.

    1234.56      Tysiąc dwieście trzydzieści cztery złote 56/100
    100.00       Sto złotych 00/100
    1.01         Jeden złoty 01/100
    0.56         Zero złotych 56/100
    1000000.00   Milion złotych 00/100

Common practice. Figures without grouping, for the country groups by a space, and a cheque has none. The letters
need table 852 or another with Polish letters: no accepted substitute is known to us.
"""

from cheque.wording.names.polish import NAMES
from cheque.wording.reading import polish as reading
from cheque.wording.spelling import polish as spelling
from cheque.wording.style import Style, always

FRACTION = always("{whole} {unit} {figures}/{over}")

STYLE = Style(
    locale="pl_PL",
    language="Polish (Poland)",
    practice="common practice",
    names=NAMES,
    words=FRACTION,
    fraction=FRACTION,
    undivided="{whole} {unit}",
    spell=spelling.polish,
    unit_form=spelling.unit_form,
    reader=reading.polish,
    group="",
    point=",",
)
