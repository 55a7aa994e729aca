"""The Netherlands: euros and cents in words, joined by *en*.

    1234.56      Duizend tweehonderdvierendertig euro en zesenvijftig cent
    100.00       Honderd euro
    1.01         Een euro en een cent
    0.56         Zesenvijftig eurocent
    1000000.00   Een miljoen euro

Where that is too long the cents stand as a fraction. Common practice.
"""

from cheque.wording.names.dutch import NAMES
from cheque.wording.reading import dutch as reading
from cheque.wording.spelling import dutch as spelling
from cheque.wording.style import Phrases, Style, always

STYLE = Style(
    locale="nl_NL",
    language="Dutch (Netherlands)",
    practice="common practice",
    names=NAMES,
    words=Phrases(
        both="{whole} {unit} en {part} {minor}",
        whole="{whole} {unit}",
        part="{part} {minor}",
        shorter=("{whole} {unit} en {figures}/{over}",),
    ),
    fraction=always("{whole} {unit} en {figures}/{over}"),
    undivided="{whole} {unit}",
    spell=spelling.dutch,
    unit_form=spelling.unit_form,
    reader=reading.dutch,
    group=".",
    point=",",
    second="nl",
)
