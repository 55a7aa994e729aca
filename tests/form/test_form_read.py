"""Reading a definition: every key that is wrong is told, with its line, all together."""

import pytest
from form.small_form import SMALL, changed, small
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque.errors import InputRefused
from cheque.form import Area, load
from cheque.page import Weight
from cheque.payment import Kind, Role
from cheque.units import INCH, MILLIMETRE


def faults_of(text: str) -> list[str]:
    with pytest.raises(InputRefused) as caught:
        load(text, "small.toml")
    assert caught.value.status == 3
    return [str(fault) for fault in caught.value.faults]


def test_lines_and_columns_are_counted_from_one_and_lengths_are_exact() -> None:
    form = small()
    assert (form.paper.width, form.paper.length) == (8 * INCH, INCH * 9 // 2)
    assert form.grid.pitch * 10 == form.grid.spacing * 6 == INCH
    assert form.cheque is not None
    assert form.cheque.clear_band == Area(0, INCH * 9 // 2 - INCH * 5 // 8, 8 * INCH, INCH * 5 // 8)
    table = form.tables[0]
    assert table.shows == (Kind.EARNING, Kind.DEDUCTION)
    assert table.box == Area(INCH // 20, INCH * 5 // 12, INCH * 775 // 100, INCH * 5 // 6)
    assert form.parts[1].blocked == (Area(0, INCH // 3, 8 * INCH, INCH),)
    assert form.fields[0].box == Area(0, 0, INCH * 78 // 10, INCH // 3)
    assert form.preprint.rules[0].width == INCH * 25 // 10


def test_a_form_may_be_measured_in_millimetres_and_spaced_by_the_length_of_a_line() -> None:
    form = small(
        ('length = "4 1/2 in"', 'length = "115 mm"'),
        ('spacing = "6 to the inch"', 'spacing = "23/216 in"'),
        ('pitch = "10 to the inch"', 'pitch = "17.1 to the inch"'),
    )
    assert form.paper.length == 115 * MILLIMETRE
    assert form.grid.spacing == INCH * 23 // 216
    assert form.grid.pitch == INCH * 7 // 120


def test_what_must_be_closed_is_closed_unless_the_form_says_otherwise() -> None:
    fills = {field.what: field.fill for field in small().fields}
    assert fills["payee"] == fills["amount_words"] == fills["amount_figures"] == "*"
    assert fills["address"] == ""
    stub_payee = ('what = "address"\n', 'name = "again"\nwhat = "payee"\nfill = "none"\n')
    lines = ("width = 30\nlines = 4", "width = 30")
    assert next(f for f in small(stub_payee, lines).fields if f.name == "again").fill == ""


def test_a_constant_is_as_wide_as_its_text_and_called_by_it() -> None:
    (constant,) = small().constants
    assert (constant.name, constant.width, constant.when.over) == ("TWO SIGNATURES", 14, "two signatures")
    assert constant.when.roles == (Role.CHEQUE,)


def test_the_wording_of_an_advice_is_its_countrys_or_the_forms_own() -> None:
    assert small().advice == "NON-NEGOTIABLE"
    # where "not negotiable" is a crossing on a payable cheque (Bills of Exchange Act 1882 ss. 76, 81, memory)
    assert small(('country = "US"', 'country = "GB"')).advice == "NOT A CHEQUE - NO VALUE"
    own = small(('country = "US"', 'country = "FR"\nadvice = "SANS VALEUR"'))
    assert own.advice == "SANS VALEUR"
    assert small(('roles = ["cheque", "advice"]', 'roles = ["cheque"]')).advice == ""


def test_weights_and_pitches_may_differ_from_the_forms_own() -> None:
    form = small(
        ('prefix = "$"', 'prefix = "$"\nweight = "double bold"\npitch = "12 to the inch"'),
        ("[cheque]", '[look]\nweight = "double"\none_direction = true\n\n[cheque]'),
    )
    figures = next(field for field in form.fields if field.what == "amount_figures")
    assert figures.weight == Weight.DOUBLE | Weight.BOLD
    assert figures.pitch == INCH // 12
    assert (form.look.weight, form.look.one_direction) == (Weight.DOUBLE, True)


REFUSED = [
    # what is changed, to what, what is said
    ('name = "small"', 'name = "Small Form"', ["line 1, name", "'Small Form'", "small letters, digits and hyphens"]),
    ('name = "small"\n', "", ["small.toml, name", "nothing"]),
    ('country = "US"', 'country = "usa"', ["line 3, country", "'usa'", "two letters"]),
    ('country = "US"', 'country = "FR"', ["advice", "what an advice of FR says"]),
    ('country = "US"', 'country = "US"\ncurrency = "XXX"', ["line 4, currency", "'XXX'", "ISO 4217"]),
    ('country = "US"', 'country = "US"\noverflow = "shrink"', ["overflow", "'shrink'", "on the next forms"]),
    ('country = "US"', 'country = "US"\nadvise = "x"', ["unknown key", "did you mean 'advice'?"]),
    ('title = "A small', 'title = "\\u001bA small', ["line 2, title", "U+001B", "no printable character"]),
    ('["cheque", "advice"]', '["cheque", "draft"]', ["roles", "'draft'", "one of cheque, advice"]),
    ('["cheque", "advice"]', "[]", ["roles", "an empty list"]),
    ('["cheque", "advice"]', "[1]", ["roles", "text in quotes"]),
    ('roles = ["cheque", "advice"]', 'roles = ["cheque"]\nadvice = "x"', ["advice", "add the role or take it out"]),
    ('width = "8 in"\nlength', 'width = "8 ft"\nlength', ["line 7, paper.width", "'8 ft' is not a length"]),
    ('length = "4 1/2 in"', 'length = "0 in"', ["line 8, paper.length", "'0 in'", "more than 0"]),
    ('length = "4 1/2 in"\n', "", ["paper.length", "nothing"]),
    ('length = "4 1/2 in"', 'length = "1/7 in"', ["paper.length", "not a whole number of units"]),
    ('length = "4 1/2 in"', "length = 4.5", ["paper.length", "4.5"]),
    ('strip = "1/2 in"', 'strip = "30 in"', ["paper.strip", "between 0 and 24 in"]),
    ('["1 1/2 in"]', '["there"]', ["perforations", "'there' is not a length"]),
    ('pitch = "10 to the inch"', 'pitch = "0 to the inch"', ["grid.pitch", "no distance"]),
    ('pitch = "10 to the inch"', 'pitch = "ten"', ["grid.pitch", "'ten' is not a length", "'10 to the inch'"]),
    ('spacing = "6 to the inch"', 'spacing = "7 to the inch"', ["grid.spacing", "not a whole number of units"]),
    ('goes_to = "the file"\n', "", ["part.1.goes_to", "whom the part goes to"]),
    ('name = "copy"', 'name = "top"', ["part.1.name", "a second 'top'"]),
    ('top = "line 3"\nwidth', 'top = "row 3"\nwidth', ["part.1.blocked.0.top", "'row 3'"]),
    ('bottom = "line 9"', 'bottom = "line 2"', ["blocked.0.bottom", "'line 2'", "not before the start"]),
    (
        'bottom = "line 9"',
        'bottom = "line 9"\nheight = "1 in"',
        ["blocked.0.bottom", "height as well", "one of the two"],
    ),
    ('bottom = "line 9"\n', "", ["blocked.0.height", "nothing"]),
    ('what = "date"', 'what = "due_date"', ["what", "'due_date'", "did you mean 'date'?"]),
    ('what = "date"\n', "", ["field.2.what", "nothing", "what the field shows"]),
    ("MM/DD/YYYY", "MM/YYYY", ["field.2.form", "has 0 D, not 2"]),
    ("MM/DD/YYYY", "MM/DD/YYYYt", ["field.2.form", "has t"]),
    ('form = "MM/DD/YYYY"\n', "", ["field.2.form", "nothing", "a date pattern"]),
    ('what = "address"', 'what = "memo"', ["field.6.lines", "unknown key"]),
    ("line = 11\n", "line = 0\n", ["field.1.line", "0", "from 1 to 400"]),
    ("line = 11\n", 'line = "11"\n', ["field.1.line", "'11'"]),
    ("line = 11\n", "", ["field.1.line", "nothing"]),
    ("lines = 2", "lines = 3", ["field.3.lines", "1 or 2 lines for the legal amount"]),
    ('what = "payee"', 'what = "payee"\nlines = 3', ["field.5.lines", "1 or 2 lines for whom the payment is to"]),
    ('prefix = "$"', 'fill = " "', ["fill", "not one mark"]),
    ('prefix = "$"', 'fill = "0"', ["fill", "'0'"]),
    ('prefix = "$"', 'fill = "."', ["fill", "'.'"]),
    ('prefix = "$"', 'fill = "**"', ["fill", "'**'"]),
    ('prefix = "$"', 'align = "middle"', ["align", "left, right, centre"]),
    ('prefix = "$"', 'case = "lower"', ["case", "as-is, upper"]),
    ('prefix = "$"', 'weight = "heavy"', ["weight", "normal, double, bold"]),
    ('prefix = "$"', 'hidden_from = ["payroll"]', ["hidden_from", "'payroll'", "one of top, copy"]),
    ('prefix = "$"', 'box = "figures"', ["box", "'figures'", "one of head"]),
    ('prefix = "$"', "box = 3", ["box", "a table"]),
    ('prefix = "$"', "when = {}", ["when", "no condition"]),
    ('prefix = "$"', 'when = { over = "a lot" }', ["when", "'a lot'", '"5000.00"']),
    ('prefix = "$"', 'when = { after = "6" }', ["when.after", "unknown key"]),
    ('prefix = "$"', 'when = { since = "24 December" }', ["when.since", "'24 December'", '"2026-12-24"']),
    ('prefix = "$"', 'when = { until = "2026-02-30" }', ["when.until", "day"]),
    (
        'prefix = "$"',
        'when = { since = "2026-12-24", until = "2026-12-01" }',
        ["when.until", "'2026-12-01'", "not before since"],
    ),
    ('prefix = "$"', "when = { departments = [7] }", ["when.departments", "text in quotes"]),
    (
        "line = 11\n",
        'line = 11\nwhen = { over = "5" }\n',
        ["field.1.when", "a number on some forms only", "on every form"],
    ),
    ("lines = 4\nhidden_from", 'lines = 4\nwhen = { over = "5" }\nhidden_from', ["table.0.when.over", "unknown key"]),
    ('text = "TWO SIGNATURES"', 'text = "VOID AFTER {weeks} WEEKS"', ["constant.0.text", "{weeks}", "there is {days}"]),
    ('["cheque", "advice"]', '["cheque"]\npayable = false', ["roles", "a cheque that is not payable"]),
    ('["cheque", "advice"]', '["advice"]\npayable = false\nadvice = "x"', ["advice", "add the role or take it out"]),
    ('["cheque", "advice"]', '["cheque"]\nset_aside = ["The Band"]', ["set_aside", "'The Band'", "by name"]),
    ('goes_to = "the file"', 'goes_to = "the file"\nmust_not_show = ["wage"]', ["part.1.must_not_show", "'wage'"]),
    (
        "line = 11\n",
        'line = 11\nprefix = "No. "\n',
        ["field.1.what", "prefix, suffix or fill at number", "[[constant]]"],
    ),
    ('name = "cheque-number"\n', "", ["field.1", "a second 'number'", "a name of its own"]),
    ('shows = ["earning", "deduction"]\n', "", ["table.0.shows", "nothing"]),
    ('shows = ["earning", "deduction"]', 'shows = ["earnings"]', ["table.0.shows", "'earnings'"]),
    ('kinds = ["deduction"]', 'kinds = ["invoice"]', ["table.0.column.2.kinds", "'invoice'", "earning, deduction"]),
    ('what = "text"', 'what = "name"', ["table.0.column.0.what", "'name'"]),
    ('what = "text"', 'what = "date"', ["table.0.column.0.form", "nothing"]),
    ("lines = 4\nhidden_from", "lines = 4\nwrap = true\nhidden_from", ["table.0.wrap", "one text column"]),
    ('text = "TWO SIGNATURES"', 'text = " "', ["constant.0.text", "nothing to print"]),
    ('text = "TWO SIGNATURES"\n', "", ["constant.0.text", "the wording"]),
    ('right = "column 75"', 'right = "column 50"', ["preprint.line.0.right", "a place after the start"]),
    ('right = "column 75"\n', "", ["preprint.line.0", "neither across nor down"]),
    ('text = "000000"\n', "", ["preprint.text.0.text", "nothing"]),
    ('at = "column 20"', 'at = "line 401 in"', ["preprint.text.0.at"]),
    ('at = "column 20"', 'at = "300 in"', ["preprint.text.0.at", "off any paper"]),
    ('name = "head"', 'name = "the head"', ["preprint.box.0.name", "'the head'"]),
    ('[cheque]\ntop = "1 1/2 in"', "[cheque]", ["cheque.top", "nothing"]),
    ('height = "3 in"', 'height = "3 in"\nbottom = "4 in"', ["cheque.bottom", "unknown key"]),
    ("[cheque]", "[checque]", ["checque", "unknown key", "did you mean 'cheque'?"]),
]


@pytest.mark.parametrize(("old", "new", "said"), REFUSED)
def test_every_mistake_is_refused_by_its_key(old: str, new: str, said: list[str]) -> None:
    told = "\n".join(faults_of(changed((old, new))))
    for piece in said:
        assert piece in told


@pytest.mark.parametrize(
    ("table", "said"),
    [
        (
            '[paper]\nwidth = "8 in"\nlength = "4 1/2 in"\nstrip = "1/2 in"\nperforations = ["1 1/2 in"]\n',
            "a table [paper]",
        ),
        ('[grid]\npitch = "10 to the inch"\nspacing = "6 to the inch"\n', "a table [grid]"),
    ],
)
def test_a_missing_table_is_one_fault_and_not_one_for_each_of_its_keys(table: str, said: str) -> None:
    told = [fault for fault in faults_of(changed((table, ""))) if said in fault]
    assert len(told) == 1


def test_a_form_without_parts_is_no_form() -> None:
    start, end = SMALL.index("[[part]]"), SMALL.index("[[field]]")
    told = faults_of(SMALL[:start] + SMALL[end:])
    assert any("at least one part" in fault for fault in told)


def test_a_table_without_columns_is_no_table() -> None:
    start, end = SMALL.index("[[table.column]]"), SMALL.index('[[field]]\nname = "cheque-number"')
    assert any("at least one column" in fault for fault in faults_of(SMALL[:start] + SMALL[end:]))


def test_all_faults_are_told_together_each_at_its_line() -> None:
    text = changed(
        ('country = "US"', 'country = "us"'), ("line = 11\n", "line = 0\n"), ('width = "8 in"\nlength', "length")
    )
    told = faults_of(text)
    assert len(told) == 3
    assert "small.toml line 3, country" in told[0]
    assert any(
        "field.1.line" in fault and f"line {text[: text.index('line = 0')].count(chr(10)) + 1}" in fault
        for fault in told
    )


def test_what_is_not_toml_is_refused_with_its_place() -> None:
    assert "line 2" in faults_of('name = "x"\ncountry = US')[0]


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_no_definition_however_broken_ends_in_anything_but_a_refusal(data: st.DataObject) -> None:
    lines = SMALL.splitlines()
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(lines) - 1))
        new = data.draw(
            st.sampled_from(
                ["", "x = 1", "[field]", "[[part]]", "line = -1", "width = []", 'box = "head"', "[preprint]"]
            )
            | st.text(max_size=12)
        )
        lines[at] = new
    try:
        load("\n".join(lines), "small.toml")
    except InputRefused as error:
        refused = error
    else:
        return
    assert refused.faults
