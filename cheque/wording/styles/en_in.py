"""India, in English: *Rupees* first, lakh and crore, *Only* last; each word begins with a capital.

    1234567.89   Rupees Twelve Lakh Thirty-four Thousand Five Hundred Sixty-seven and Paise Eighty-nine Only
    100.00       Rupees One Hundred Only
    1.01         Rupee One and Paisa One Only
    0.56         Paise Fifty-six Only

Figures are grouped by lakh and crore (12,34,567.89: CLDR for en_IN). *And* stands once, between rupees and paise.
Where that is too long the paise stand as a fraction. Common practice; words prevail over figures (Negotiable
Instruments Act, 1881, s. 18).
"""

from cheque.wording.names.english import NAMES
from cheque.wording.reading import english as reading
from cheque.wording.spelling import english as spelling
from cheque.wording.style import Name, Phrases, Style, always

STYLE = Style(
    locale="en_IN",
    language="English (India)",
    practice="common practice; grouping by CLDR",
    names=NAMES | {"INR": Name(("rupee", "rupees"), minor=("paisa", "paise"))},
    words=Phrases(
        both="{unit} {whole} and {minor} {part} only",
        whole="{unit} {whole} only",
        part="{minor} {part} only",
        shorter=("{unit} {whole} and {figures}/{over} only",),
    ),
    fraction=always("{unit} {whole} and {figures}/{over} only"),
    undivided="{unit} {whole} only",
    spell=spelling.indian,
    unit_form=spelling.unit_form,
    reader=reading.indian,
    capitals="each",
    lakh=True,
)
