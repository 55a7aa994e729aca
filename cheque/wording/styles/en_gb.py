"""Britain: pounds and pence in words, *and* before tens and units, closed with *only*.

    1234.56   One thousand two hundred and thirty-four pounds and fifty-six pence only
    100.00    One hundred pounds only
    1.01      One pound and one penny only
    0.56      Fifty-six pence only

Where that is too long the pence stand in figures, always two, so that none can be put before or between them:
"… pounds and 56p only". Common practice; words prevail over figures (Bills of Exchange Act 1882, s. 9(2)).
"""

from cheque.wording.names.english import NAMES
from cheque.wording.reading import english as reading
from cheque.wording.spelling import english as spelling
from cheque.wording.style import Name, Phrases, Style, always

WORDS = Phrases(
    both="{whole} {unit} and {part} {minor} only",
    whole="{whole} {unit} only",
    part="{part} {minor} only",
)

STYLE = Style(
    locale="en_GB",
    language="English (Britain)",
    practice="common practice",
    names=NAMES | {"GBP": Name(("pound", "pounds"), minor=("penny", "pence"))},
    words=WORDS,
    fraction=always("{whole} {unit} and {figures}/{over} only"),
    undivided="{whole} {unit} only",
    special={"GBP": WORDS._replace(shorter=("{whole} {unit} and {figures}p only",))},
    spell=spelling.british,
    unit_form=spelling.unit_form,
    reader=reading.british,
    second="en",
)
