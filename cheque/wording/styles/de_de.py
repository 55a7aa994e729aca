"""Germany: euros and cents in words, the number one word below a million.

    1234.56      Eintausendzweihundertvierunddreißig Euro und sechsundfünfzig Cent
    100.00       Einhundert Euro
    1.01         Ein Euro und ein Cent
    0.56         Sechsundfünfzig Eurocent
    1000000.00   Eine Million Euro

Where that is too long the cents stand as a fraction. Common practice; words prevail over figures, and an amount
written several times in words counts as the smallest, so it is written once (Scheckgesetz, art. 9).
"""

from cheque.wording.letters import GERMAN
from cheque.wording.names.german import NAMES
from cheque.wording.reading import german as reading
from cheque.wording.spelling import german as spelling
from cheque.wording.style import Phrases, Style, always

STYLE = Style(
    locale="de_DE",
    language="German (Germany)",
    practice="common practice",
    names=NAMES,
    words=Phrases(
        both="{whole} {unit} und {part} {minor}",
        whole="{whole} {unit}",
        part="{part} {minor}",
        shorter=("{whole} {unit} und {figures}/{over}",),
    ),
    fraction=always("{whole} {unit} und {figures}/{over}"),
    undivided="{whole} {unit}",
    spell=spelling.german,
    unit_form=spelling.unit_form,
    reader=reading.german,
    group=".",
    point=",",
    substitutes=GERMAN,
)
