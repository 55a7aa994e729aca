"""An invented form with everything a picture must mind, marks struck on it by way of bytes, and what to expect."""

from pathlib import Path

from hypothesis import strategies as st

from cheque.form import load
from cheque.language import Look, Printer, get
from cheque.page import Mark
from cheque.units import INCH

TENTH, SIXTH, TWELFTH, FIFTEENTH, CONDENSED = INCH // 10, INCH // 6, INCH // 12, INCH // 15, 7 * INCH // 120
FORMS = Path(__file__).resolve().parents[2] / "forms"

#: 4 in long, strips, a blocked area on two parts, the third a narrower sheet that begins 1 in further right
TOML = """
name = "quay-dues"
title = "Quay dues"
country = "US"
[paper]
width = "6 in"
length = "4 in"
strip = "1/2 in"
perforations = ["2 in"]
[grid]
pitch = "10 to the inch"
spacing = "6 to the inch"
left = "1/2 in"
[[part]]
name = "payee"
goes_to = "the payee"
legend = "PAYEE"
[[part]]
name = "file"
goes_to = "the file"
legend = "FILE COPY"
[[part.blocked]]
left = "1 in"
top = "1 in"
width = "2 in"
height = "1/2 in"
[[part]]
name = "slip"
goes_to = "the harbour office"
left = "1 in"
width = "3 in"
[[part.blocked]]
left = "1 in"
top = "3 in"
width = "3 in"
height = "1 in"
[[field]]
what = "payee"
line = 4
column = 5
width = 30
[[preprint.text]]
text = "PAY TO <THE> ORDER & CO"
at = "column 5"
top = "line 3"
[[preprint.text]]
what = "legend"
at = "column 30"
top = "line 1"
[[preprint.text]]
what = "number"
text = "No. 100000"
at = "column 40"
top = "line 2"
[[preprint.line]]
left = "1/2 in"
top = "line 5 1/2"
width = "4 in"
[[preprint.box]]
left = "column 4"
top = "line 3 1/2"
width = "4 in"
height = "1/2 in"
"""


def small_form():
    return load(TOML, "quay-dues.toml")


def payroll():
    return load((FORMS / "payroll-us.toml").read_text("utf-8"), "payroll-us.toml")


def at(line, column, text, pitch=TENTH, weight=0):
    """A mark at a line and column of a chart of 10 and 6 to the inch, counted from 1."""
    return Mark((column - 1) * TENTH, (line - 1) * SIXTH, pitch, weight, text)


def by_way_of_bytes(marks, length=4 * INCH, language="escp9", table="cp850"):
    """What a decoder reads from the bytes of these marks: nothing else ever reaches a picture."""
    step = {"escp9": INCH // 216, "escp24": INCH // 180, "plain": SIXTH, "ppds": INCH // 216}[language]
    printer = Printer(language, step, table)
    data = get(language).encode(tuple(marks), Look(length, SIXTH), printer, length)
    assert isinstance(data, bytes)
    return get(language).decode(data, printer).marks


def cells(marks, form):
    """Every character struck but blanks: (x, y, pitch, weight, character), x and y on the paper."""
    return [
        (m.x + form.grid.left + i * m.pitch, m.y + form.grid.top, m.pitch, m.weight, char)
        for m in marks
        for i, char in enumerate(m.text)
        if char != " "
    ]


LETTERS = "".join(chr(code) for code in range(32, 127)) + "ÉåÖñßœŁ€£ЖяΩ漢\u0007"


def marks_anywhere(weights=(0, 1, 2, 3)):
    """Marks on the small form and round it, at any pitch, the texts with blanks and odd characters."""
    return st.lists(
        st.builds(
            Mark,
            st.integers(-60, 720).map(lambda n: n * INCH // 120),
            st.integers(-30, 320).map(lambda n: n * INCH // 72),
            st.sampled_from((TENTH, TWELFTH, FIFTEENTH, CONDENSED, INCH // 20)),
            st.sampled_from(weights),
            st.text(alphabet=st.sampled_from(LETTERS), min_size=1, max_size=12),
        ),
        max_size=8,
    ).map(tuple)
