"""Brazil: reais and centavos in words, joined by *e*.

    1234.56      Mil duzentos e trinta e quatro reais e cinquenta e seis centavos
    100.00       Cem reais
    1.01         Um real e um centavo
    0.56         Cinquenta e seis centavos
    1000000.00   Um milhão de reais

Common practice. Some write *hum* for *um* against alteration: that is no Portuguese word, and the fill does the
same service.
"""

from cheque.wording.names.portuguese import BRAZIL, of
from cheque.wording.reading import portuguese as reading
from cheque.wording.spelling import portuguese as spelling
from cheque.wording.style import Name, Phrases, Style, always

STYLE = Style(
    locale="pt_BR",
    language="Portuguese (Brazil)",
    practice="common practice",
    names=BRAZIL | {"BRL": Name(of("real", "reais"), minor=("centavo", "centavos"))},
    words=Phrases(
        both="{whole} {unit} e {part} {minor}",
        whole="{whole} {unit}",
        part="{part} {minor}",
        shorter=("{whole} {unit} e {figures}/{over}",),
    ),
    fraction=always("{whole} {unit} e {figures}/{over}"),
    undivided="{whole} {unit}",
    spell=spelling.brazilian,
    unit_form=spelling.unit_form,
    reader=reading.brazilian,
    group=".",
    point=",",
    second="pt",
)
