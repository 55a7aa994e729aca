"""What is wrong with a form as paper: each rule broken once, with what is said about it."""

from dataclasses import replace

import pytest
from form.small_form import small
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque import library
from cheque.form import Area, Form, places
from cheque.form.check import CHECKS, check
from cheque.form.model import CLEAR_BAND, Column
from cheque.form.slack import slack
from cheque.units import INCH

SHIPPED = [entry.name for entry in library.entries()]


@pytest.mark.parametrize("name", SHIPPED)
def test_every_shipped_form_can_be_put_to_use(name: str) -> None:
    assert check(library.read(name)) == []


def test_the_small_form_is_right() -> None:
    assert check(small()) == []


#: the rule that is broken, how, and what is said
BROKEN = [
    (
        "sizes",
        ('goes_to = "the file"', 'goes_to = "the file"\nleft = "1 in"\nwidth = "7 1/2 in"'),
        "part copy: found a sheet from 1 in to 8 1/2 in",
    ),
    ("sizes", ('bottom = "line 9"', 'bottom = "5 in"'), "part copy: found a blocked area from 0 in to 8 in across"),
    ("sizes", ('bottom = "line 9"', 'height = "0 in"'), "wanted an area that has a size"),
    ("sizes", ('["1 1/2 in"]', '["4 1/2 in"]'), "a perforation at 4 1/2 in"),
    ("sizes", ('height = "3 in"', 'height = "3 1/4 in"'), "a cheque within 8 in by 4 1/2 in"),
    (
        "all_on_the_paper",
        ("column = 60\nwidth = 15", "column = 67\nwidth = 15"),
        "amount_figures (line 14, column 67): found print from 6 3/5 in to 8 1/10 in across",
    ),
    (
        "clear_band_is_kept",
        ("line = 22", "line = 24"),
        "signature (line 24, column 50): found print down to 4 in; wanted nothing below 3 7/8 in, "
        "where the cheque's clear band begins; move it up.",
    ),
    (
        "clear_band_is_kept",
        ('height = "3 in"', 'height = "3 in"\nclear_band = "1/2 in"'),
        "a clear band of 1/2 in; wanted at least 5/8 in",
    ),
    (
        "nothing_over_another",
        ("line = 12\ncolumn = 60", "line = 11\ncolumn = 51"),
        "date (line 11, column 51): found the same cells as cheque-number (line 11, column 60)",
    ),
    (
        "nothing_over_another",
        ('kinds = ["deduction"]\ncolumn = 50', "column = 39"),
        "stub.amount.2 (line 4, column 39): found the same cells as stub.amount (line 4, column 30)",
    ),
    (
        "nothing_over_preprint",
        ('at = "column 20"\ntop = "line 1 1/4"', 'at = "column 8"\ntop = "line 2"'),
        "number (line 2, column 2): found the preprinted '000000' under it",
    ),
    (
        "nothing_over_preprint",
        ('top = "line 23"', 'top = "line 22 1/2"'),
        "signature (line 22, column 50): found a preprinted line under it",
    ),
    (
        "nothing_over_a_perforation",
        ('["1 1/2 in"]', '["1 3/4 in"]'),
        "cheque-number (line 11, column 60): found print across the perforation at 1 3/4 in",
    ),
    (
        "nothing_over_a_perforation",
        ('perforations = ["1 1/2 in"]', 'side_perforations = ["1 in"]'),
        "payee (line 17, column 2): found print across the perforation at 1 in",
    ),
    (
        "frames_hold_their_fields",
        ('width = "78 columns"', 'width = "8 columns"'),
        "number (line 2, column 2): found print from 1/10 in to 9/10 in across",
    ),
    (
        "hidden_is_hidden",
        ('bottom = "line 9"', 'bottom = "line 7"'),
        "part copy, which goes to the file, would show it from 1/10 in to 2 1/10 in across, 1 in to 1 1/6 in down",
    ),
    ("shown_is_shown", ('hidden_from = ["copy"]\n', ""), "part copy takes no image there, or not of all of it"),
    (
        "promises_are_kept",
        ('goes_to = "the file"', 'goes_to = "the file"\nmust_not_show = ["address", "amount"]'),
        "address (line 18, column 2): found part copy, which goes to the file, shows it; "
        "wanted no address on that part, as its must_not_show says; block it there",
    ),
    ("the_number_on_every_part", ('what = "number"\nline = 2', 'what = "reference"\nline = 2'), ""),
    (
        "the_number_on_every_part",
        ("line = 11\ncolumn = 60\nwidth = 8", "line = 11\ncolumn = 60\nwidth = 9"),
        "numbers 8 and 9 wide",
    ),
    ("a_cheque_is_whole", ('what = "date"\nform = "MM/DD/YYYY"', 'what = "memo"'), "no date on the cheque"),
    ("a_cheque_is_whole", ('what = "signature"', 'what = "bank"'), "no signature on the cheque"),
    (
        "a_cheque_is_whole",
        ('what = "date"\nform = "MM/DD/YYYY"', 'name = "again"\nwhat = "amount_figures"'),
        "amount_figures more than once; wanted each amount once",
    ),
    ("a_cheque_is_whole", ('what = "payee"', 'what = "payee"\nwhen = { over = "10.00" }'), "no payee on the cheque"),
    (
        "amounts_and_payee_are_closed",
        ('what = "payee"', 'what = "payee"\nfill = "none"'),
        "payee: found no fill; wanted a mark that closes every open column",
    ),
    (
        "wide_enough",
        ("column = 60\nwidth = 10", "column = 60\nwidth = 9"),
        "date: found a width of 9; wanted room for the 10 characters of 'MM/DD/YYYY'",
    ),
    ("wide_enough", ("column = 2\nwidth = 50", "column = 2\nwidth = 12"), "the 14 characters of 'NON-NEGOTIABLE'"),
    ("overflow_is_told", ('country = "US"', 'country = "US"\noverflow = "listing"'), "nothing that says so"),
    ("overflow_is_told", ('what = "payee"', 'what = "next_number"'), "on a form whose overflow is 'refuse'"),
    ("every_line_in_one_table", ('what = "text"', 'what = "hours"'), "stub: found no column of text"),
]


@pytest.mark.parametrize(("rule", "change", "said"), BROKEN)
def test_a_form_that_breaks_a_rule_is_told_so(rule: str, change: tuple[str, str], said: str) -> None:
    form = small(change)
    broken = {one.__name__: [str(fault) for fault in one(form)] for one in CHECKS}
    if said:
        assert any(said in fault for fault in broken[rule]), broken
        assert all(fault.startswith("form small, ") for fault in broken[rule])
        assert [str(fault) for fault in check(form)] == [fault for faults in broken.values() for fault in faults]
    else:
        assert broken[rule] == []  # one number on the cheque is enough for both parts


def test_every_check_of_the_list_is_broken_by_a_test() -> None:
    assert {rule for rule, _, said in BROKEN if said} == {one.__name__ for one in CHECKS}


def test_a_part_that_takes_no_image_of_any_number_is_refused() -> None:
    form = small(
        (
            'goes_to = "the payee"',
            'goes_to = "the payee"\n[[part.blocked]]\nleft = "0 in"\ntop = "0 in"\nwidth = "8 in"\nheight = "4 1/2 in"',
        )
    )
    assert any("part top: found no number struck on it" in str(f) for f in check(hiding_everything(form)))


def hiding_everything(form: Form) -> Form:
    fields = tuple(replace(f, hidden_from=("top",)) for f in form.fields)
    return replace(form, fields=fields)


def test_a_field_beside_a_narrower_sheet_is_not_shown_on_it_and_must_say_so() -> None:
    narrow = ('goes_to = "the file"', 'goes_to = "the file"\nwidth = "6 1/2 in"')
    told = [str(fault) for fault in check(small(narrow))]
    assert any("amount_figures" in fault and "part copy takes no image" in fault for fault in told)
    told = [
        str(fault)
        for fault in check(
            small(
                narrow, ("column = 60\nwidth = 15\nprefix", 'column = 66\nwidth = 14\nhidden_from = ["copy"]\nprefix')
            )
        )
    ]
    assert not any("amount_figures" in fault for fault in told)


#: a date in eight boxes, each two columns wide, its digits half a column from either side
BOXED = (
    (
        'form = "MM/DD/YYYY"\nline = 12\ncolumn = 60\nwidth = 10',
        'form = "D D M M Y Y Y Y"\nline = 12\ncolumn = 60\nwidth = 15',
    ),
    (
        "[[preprint.line]]",
        "".join(
            f'[[preprint.box]]\nleft = "column {60 + 2 * n - 1} 1/2"\ntop = "line 11 1/2"\nwidth = "2 columns"\n'
            'height = "2 lines"\n'
            for n in range(8)
        )
        + "[[preprint.line]]",
    ),
)


def test_digits_that_stand_apart_may_each_have_a_frame() -> None:
    assert [str(fault) for fault in check(small(*BOXED)) if "date" in str(fault)] == []
    together = (BOXED[0][0], BOXED[0][1].replace("D D M M Y Y Y Y", "DDMMYYYY")), BOXED[1]
    assert any("date (line 12, column 60): found a preprinted line under it" in str(f) for f in check(small(*together)))
    assert next(one for one in slack(small(*BOXED)) if one.name == "date").right == 0  # it names no box
    boxed = small(
        (
            BOXED[0][0],
            BOXED[0][1]
            + '\nbox = { left = "column 59 1/2", top = "line 11 1/2", width = "16 columns", height = "2 lines" }',
        ),
        BOXED[1],
    )
    room = next(one for one in slack(boxed) if one.name == "date")
    assert (room.left, room.right, room.up, room.down) == (INCH // 20, INCH // 20, INCH // 12, INCH // 12)


def test_several_blocked_areas_together_can_hide_a_field() -> None:
    two = (
        'bottom = "line 9"',
        'bottom = "line 6"\n[[part.blocked]]\nleft = "0 in"\ntop = "line 6"\nwidth = "8 in"\nbottom = "line 9"',
    )
    assert check(small(two)) == []
    gap = (two[0], two[1].replace('top = "line 6"\nwidth', 'top = "line 6 1/2"\nwidth'))
    assert any("would show it" in str(fault) for fault in check(small(gap)))


def test_two_that_never_stand_on_one_form_may_have_one_place() -> None:
    again = (
        '[[constant]]\ntext = "ONE SIGNATURE"\nline = 20\ncolumn = 50\n'
        'when = { up_to = "two signatures" }\n\n[[preprint.box]]'
    )
    assert check(small(("[[preprint.box]]", again))) == []
    both = again.replace("up_to", "over")
    assert any("the same cells" in str(fault) for fault in check(small(("[[preprint.box]]", both))))
    advice = again.replace('{ up_to = "two signatures" }', '{ roles = ["advice"] }')
    assert check(small(("[[preprint.box]]", advice))) == []


def test_an_invoices_date_fits_its_column() -> None:
    form = small(('what = "text"\ncolumn = 2\nwidth = 20', 'what = "text"\ncolumn = 12\nwidth = 18'))
    dated = replace(form.tables[0], columns=(Column("date", 2, 9, pattern="DD.MM.YYYY"), *form.tables[0].columns))
    told = [str(fault) for fault in check(replace(form, tables=(dated,)))]
    assert told == ["form small, stub.date: found a width of 9; wanted room for 'DD.MM.YYYY'; make it wider."]


def test_no_kind_of_stub_line_is_listed_twice() -> None:
    form = small()
    twice = replace(form, tables=(*form.tables, replace(form.tables[0], name="again", line=8, lines=1)))
    assert any("earning lines in stub and again; wanted each kind of line in one table" in str(f) for f in check(twice))


def test_a_form_that_is_no_cheque_needs_no_amount() -> None:
    form = small(
        ('roles = ["cheque", "advice"]', 'roles = ["advice"]'), ('when = { roles = ["cheque"], over', "when = { over")
    )
    bare = replace(form, cheque=None, fields=tuple(f for f in form.fields if not f.what.startswith("amount")))
    assert check(bare) == []


def test_a_cheque_form_says_where_the_cheque_is() -> None:
    told = [str(fault) for fault in check(replace(small(), cheque=None))]
    assert len(told) == 1
    assert told[0].startswith(
        "form small, cheque: found nothing; wanted where on the paper the cheque is; add [cheque]"
    )


@settings(max_examples=200, deadline=None)
@given(st.integers(1, 27), st.integers(1, 80), st.integers(1, 80))
def test_a_form_that_passes_has_nothing_in_the_clear_band_and_nothing_off_the_paper(
    line: int, column: int, width: int
) -> None:
    moved = small(("line = 22\ncolumn = 50\nwidth = 25", f"line = {line}\ncolumn = {column}\nwidth = {width}"))
    if check(moved):
        return
    band = Area(0, INCH * 9 // 2 - CLEAR_BAND, 8 * INCH, CLEAR_BAND)
    for place in places(moved):
        assert not place.area.overlaps(band)
        assert moved.sheet.holds(place.area)
