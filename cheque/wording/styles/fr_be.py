"""Belgium, in French: as in France, with septante and nonante.

    1274.96      Mille deux cent septante-quatre euros et nonante-six centimes
    80.00        Quatre-vingts euros
    1.01         Un euro et un centime
    0.56         Cinquante-six centimes d'euro
    1000000.00   Un million d'euros

Common practice. Figures without grouping, for the country groups by a space, and a cheque has none.
"""

from cheque.wording.letters import FRENCH
from cheque.wording.names.french import NAMES
from cheque.wording.reading import french as reading
from cheque.wording.spelling import french as spelling
from cheque.wording.style import Phrases, Style, always

STYLE = Style(
    locale="fr_BE",
    language="French (Belgium)",
    practice="common practice",
    names=NAMES,
    words=Phrases(
        both="{whole} {unit} et {part} {minor}",
        whole="{whole} {unit}",
        part="{part} {minor}",
        shorter=("{whole} {unit} et {figures}/{over}",),
    ),
    fraction=always("{whole} {unit} et {figures}/{over}"),
    undivided="{whole} {unit}",
    spell=spelling.belgian,
    unit_form=spelling.unit_form,
    reader=reading.belgian,
    group="",
    point=",",
    substitutes=FRENCH,
    second="fr",
)
