"""France: euros and centimes in words.

    1234.56      Mille deux cent trente-quatre euros et cinquante-six centimes
    100.00       Cent euros
    1.01         Un euro et un centime
    0.56         Cinquante-six centimes d'euro
    1000000.00   Un million d'euros

Where that is too long the centimes stand as a fraction. Common practice; words prevail over figures, and an
amount written several times in words counts as the smallest, so it is written once (Code monétaire et financier,
L131-10). Figures without grouping, for the country groups by a space, and a cheque has
none (see `cheque.wording.grouping`).
"""

from cheque.wording.letters import FRENCH
from cheque.wording.names.french import NAMES
from cheque.wording.reading import french as reading
from cheque.wording.spelling import french as spelling
from cheque.wording.style import Phrases, Style, always

STYLE = Style(
    locale="fr_FR",
    language="French (France)",
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
    spell=spelling.french,
    unit_form=spelling.unit_form,
    reader=reading.french,
    group="",
    point=",",
    substitutes=FRENCH,
    second="fr",
)
