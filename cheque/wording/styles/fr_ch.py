"""Switzerland, in French: francs and centimes, with septante, huitante and nonante.

    1284.96      Mille deux cent huitante-quatre francs et nonante-six centimes
    100.00       Cent francs
    1.01         Un franc et un centime
    0.56         Cinquante-six centimes
    1000000.00   Un million de francs

Common practice. Figures without grouping, for CLDR groups fr_CH by a space, and a cheque has none.
"""

from cheque.wording.letters import FRENCH
from cheque.wording.names.french import NAMES, of
from cheque.wording.reading import french as reading
from cheque.wording.spelling import french as spelling
from cheque.wording.style import Name, Phrases, Style, always

STYLE = Style(
    locale="fr_CH",
    language="French (Switzerland)",
    practice="common practice",
    names=NAMES | {"CHF": Name(of("franc", "francs"), minor=("centime", "centimes"))},
    words=Phrases(
        both="{whole} {unit} et {part} {minor}",
        whole="{whole} {unit}",
        part="{part} {minor}",
        shorter=("{whole} {unit} et {figures}/{over}",),
    ),
    fraction=always("{whole} {unit} et {figures}/{over}"),
    undivided="{whole} {unit}",
    spell=spelling.swiss,
    unit_form=spelling.unit_form,
    reader=reading.swiss,
    group="",
    point=",",
    substitutes=FRENCH,
    second="fr",
)
