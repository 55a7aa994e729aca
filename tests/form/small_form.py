"""A small form that is right, as TOML, and a way to make one thing of it wrong."""

from cheque.form import Form, load

SMALL = """\
name = "small"
title = "A small cheque with a stub of four lines"
country = "US"
roles = ["cheque", "advice"]

[paper]
width = "8 in"
length = "4 1/2 in"
strip = "1/2 in"
perforations = ["1 1/2 in"]

[grid]
pitch = "10 to the inch"
spacing = "6 to the inch"

[cheque]
top = "1 1/2 in"
height = "3 in"

[[part]]
name = "top"
goes_to = "the payee"

[[part]]
name = "copy"
goes_to = "the file"
legend = "COPY"
[[part.blocked]]
left = "0 in"
top = "line 3"
width = "8 in"
bottom = "line 9"

[[field]]
what = "number"
line = 2
column = 2
width = 8
box = "head"

[[table]]
name = "stub"
shows = ["earning", "deduction"]
line = 4
lines = 4
hidden_from = ["copy"]
box = { left = "column 1 1/2", top = "line 3 1/2", right = "column 79", bottom = "line 8 1/2" }
[[table.column]]
what = "text"
column = 2
width = 20
[[table.column]]
what = "amount"
kinds = ["earning"]
column = 30
width = 10
[[table.column]]
what = "amount"
kinds = ["deduction"]
column = 50
width = 10

[[field]]
name = "cheque-number"
what = "number"
line = 11
column = 60
width = 8

[[field]]
what = "date"
form = "MM/DD/YYYY"
line = 12
column = 60
width = 10

[[field]]
what = "amount_words"
line = 14
column = 2
width = 50
lines = 2

[[field]]
what = "amount_figures"
line = 14
column = 60
width = 15
prefix = "$"

[[field]]
what = "payee"
line = 17
column = 2
width = 30

[[field]]
what = "address"
line = 18
column = 2
width = 30
lines = 4

[[field]]
what = "signature"
line = 22
column = 50
width = 25

[[constant]]
text = "TWO SIGNATURES"
line = 20
column = 50
when = { roles = ["cheque"], over = "two signatures" }

[[preprint.box]]
name = "head"
left = "column 1"
top = "line 1"
width = "78 columns"
height = "2 lines"

[[preprint.text]]
what = "number"
text = "000000"
at = "column 20"
top = "line 1 1/4"

[[preprint.text]]
what = "legend"
at = "4 in"
top = "line 10 1/4"
align = "centre"

[[preprint.line]]
left = "column 50"
top = "line 23"
right = "column 75"
"""


def small(*changes: tuple[str, str]) -> Form:
    """The small form with texts of its definition replaced; each must be there exactly once."""
    return load(changed(*changes), "small.toml")


def changed(*changes: tuple[str, str]) -> str:
    """The small form's text, changed."""
    text = SMALL
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the small form"
        text = text.replace(old, new)
    return text
