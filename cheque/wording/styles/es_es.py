"""Spain: euros and céntimos in words, joined by *con*.

    1231.56      Mil doscientos treinta y un euros con cincuenta y seis céntimos
    100.00       Cien euros
    1.01         Un euro con un céntimo
    0.56         Cincuenta y seis céntimos de euro
    1000000.00   Un millón de euros

Where that is too long the céntimos stand as a fraction. Common practice.
"""

from cheque.wording.letters import SPANISH
from cheque.wording.names.spanish import NAMES
from cheque.wording.reading import spanish as reading
from cheque.wording.spelling import spanish as spelling
from cheque.wording.style import Phrases, Style, always

STYLE = Style(
    locale="es_ES",
    language="Spanish (Spain)",
    practice="common practice",
    names=NAMES,
    words=Phrases(
        both="{whole} {unit} con {part} {minor}",
        whole="{whole} {unit}",
        part="{part} {minor}",
        shorter=("{whole} {unit} con {figures}/{over}",),
    ),
    fraction=always("{whole} {unit} con {figures}/{over}"),
    undivided="{whole} {unit}",
    spell=spelling.spanish,
    unit_form=spelling.unit_form,
    reader=reading.spanish,
    group=".",
    point=",",
    substitutes=SPANISH,
)
