"""Switzerland, in German: francs and centimes (Franken, Rappen), ss for ß.

    1234.56      Eintausendzweihundertvierunddreissig Franken und sechsundfünfzig Rappen
    100.00       Einhundert Franken
    1.01         Ein Franken und ein Rappen
    0.56         Sechsundfünfzig Rappen
    1000000.00   Eine Million Franken

Common practice. Figures grouped by an apostrophe, with a point (1'234.56: CLDR for de_CH, its U+2019 mapped).
"""

from cheque.wording.letters import GERMAN
from cheque.wording.names.german import NAMES
from cheque.wording.reading import german as reading
from cheque.wording.spelling import german as spelling
from cheque.wording.style import Name, Phrases, Style, always

STYLE = Style(
    locale="de_CH",
    language="German (Switzerland)",
    practice="common practice; ss for ß by the Federal Chancellery's guide to spelling",
    names=NAMES | {"CHF": Name(("Franken", "Franken"), minor=("Rappen", "Rappen"))},
    words=Phrases(
        both="{whole} {unit} und {part} {minor}",
        whole="{whole} {unit}",
        part="{part} {minor}",
        shorter=("{whole} {unit} und {figures}/{over}",),
    ),
    fraction=always("{whole} {unit} und {figures}/{over}"),
    undivided="{whole} {unit}",
    spell=spelling.swiss,
    unit_form=spelling.unit_form,
    reader=reading.swiss,
    group="'",
    point=".",
    substitutes=GERMAN,
)
