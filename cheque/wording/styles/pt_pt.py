"""Portugal: euros and cêntimos in words, joined by *e*.

    1234.56      Mil duzentos e trinta e quatro euros e cinquenta e seis cêntimos
    100.00       Cem euros
    1.01         Um euro e um cêntimo
    0.56         Cinquenta e seis cêntimos de euro
    1000000.00   Um milhão de euros

Common practice. Figures without grouping, for the country groups by a space, and a cheque has none.
"""

from cheque.wording.names.portuguese import PORTUGAL
from cheque.wording.reading import portuguese as reading
from cheque.wording.spelling import portuguese as spelling
from cheque.wording.style import Phrases, Style, always

STYLE = Style(
    locale="pt_PT",
    language="Portuguese (Portugal)",
    practice="common practice",
    names=PORTUGAL,
    words=Phrases(
        both="{whole} {unit} e {part} {minor}",
        whole="{whole} {unit}",
        part="{part} {minor}",
        shorter=("{whole} {unit} e {figures}/{over}",),
    ),
    fraction=always("{whole} {unit} e {figures}/{over}"),
    undivided="{whole} {unit}",
    spell=spelling.european,
    unit_form=spelling.unit_form,
    reader=reading.european,
    group="",
    point=",",
    second="pt",
)
