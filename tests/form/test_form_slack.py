"""How far the print may shift before it touches what it must not touch."""

import itertools
from dataclasses import replace
from pathlib import Path

import pytest
from form.small_form import small
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque import library
from cheque.form import Area, Form, load, places
from cheque.form.check import check
from cheque.form.slack import Slack, max_shift, preprinted, slack
from cheque.page import Shift
from cheque.units import INCH

SHIPPED = [entry.name for entry in library.entries()]
COLUMN, LINE = INCH // 10, INCH // 6


def of(form: Form, name: str) -> Slack:
    return next(one for one in slack(form) if one.name == name)


def test_a_field_may_shift_as_far_as_the_frame_it_names() -> None:
    stub = of(small(), "stub.text")  # cells from column 2, line 4; box from column 1 1/2, line 3 1/2 to 79, 8 1/2
    assert stub == Slack("stub.text", COLUMN // 2, 57 * COLUMN, LINE // 2, LINE // 2)


def test_a_field_without_a_frame_may_not_shift_at_all() -> None:
    assert of(small(), "payee") == Slack("payee", 0, 0, 0, 0)
    assert max_shift(small()) == Slack("small", 0, 0, 0, 0)


def test_a_preprinted_rule_inside_the_frame_ends_the_slack() -> None:
    rule = '[[preprint.line]]\nleft = "column 25"\ntop = "line 4"\nheight = "1 line"\n\n'
    text = '[[preprint.text]]\nwhat = "number"'
    assert of(small((text, rule + text)), "stub.text").right == 3 * COLUMN


def test_wording_that_would_be_met_only_slantwise_ends_the_slack_too() -> None:
    above = (
        '[[preprint.text]]\ntext = "PAY"\nat = "column 23"\ntop = "line 3 3/4"\n\n[[preprint.text]]\nwhat = "number"'
    )
    stub = of(small(('[[preprint.text]]\nwhat = "number"', above)), "stub.text")
    assert stub.up == LINE // 2  # straight up it meets nothing
    assert stub.right == COLUMN  # but up and to the right it would


def test_a_hidden_field_may_not_shift_out_of_its_blocked_area() -> None:
    tight = small(('top = "line 3"\nwidth', 'top = "line 4"\nwidth'), ('bottom = "line 9"', 'bottom = "line 8 1/4"'))
    stub = of(tight, "stub.text")
    assert (stub.up, stub.down) == (0, LINE // 4)


def test_a_field_that_is_shown_may_not_shift_into_a_blocked_area() -> None:
    wide = ('box = "head"', 'box = { left = "0 in", top = "0 in", width = "8 in", bottom = "line 9" }')
    no_frame = ('height = "2 lines"', 'height = "2 lines"\ndrawn = "none"')
    form = small(wide, no_frame, ('top = "line 3"\nwidth', 'top = "line 3 1/2"\nwidth'))
    assert of(form, "number").down == LINE // 2  # there the copy's blocked area begins


def test_nothing_shifts_over_a_perforation_or_off_the_paper_or_into_the_clear_band() -> None:
    frame = 'box = { left = "0 in", top = "0 in", width = "8 in", height = "4 1/2 in" }'
    form = small(("line = 22\ncolumn = 50\nwidth = 25", f"line = 22\ncolumn = 50\nwidth = 25\n{frame}"))
    bare = replace(form, preprint=replace(form.preprint, rules=(), boxes=(), captions=()))
    signature = of(bare, "signature")
    assert signature.down == form.sheet.bottom - INCH * 5 // 8 - 22 * LINE
    assert signature.right == 8 * INCH - 74 * COLUMN
    assert signature.up == 21 * LINE - INCH * 3 // 2
    assert signature.left == 49 * COLUMN


@pytest.mark.parametrize("name", SHIPPED)
def test_every_shipped_form_may_shift_half_a_line_and_half_a_column_every_way(name: str) -> None:
    form = library.read(name)
    least = max_shift(form)
    assert min(least.left, least.right) >= form.grid.pitch // 2
    assert min(least.up, least.down) >= form.grid.spacing // 2


def test_a_form_with_nothing_on_it_has_no_slack() -> None:
    assert max_shift(replace(small(), fields=(), tables=(), constants=())) == Slack("small", 0, 0, 0, 0)


def test_a_shift_is_allowed_up_to_the_slack_and_no_further() -> None:
    one = Slack("x", 1, 2, 3, 4)
    assert all(one.allows(Shift(right, down)) for right in (-1, 0, 2) for down in (-3, 0, 4))
    assert not any(one.allows(shift) for shift in (Shift(-2, 0), Shift(3, 0), Shift(0, -4), Shift(0, 5)))


@settings(max_examples=100, deadline=None)
@given(st.data(), st.sampled_from(SHIPPED))
def test_whatever_shift_the_slack_allows_touches_nothing(data: st.DataObject, name: str) -> None:
    form = library.read(name)
    least = max_shift(form)
    right = data.draw(st.integers(-least.left, least.right))
    down = data.draw(st.integers(-least.up, least.down))
    for place, area in [(one, cell) for one in places(form) for cell in one.struck]:
        moved = Area(area.left + right, area.top + down, area.width, area.height)
        assert form.sheet.holds(moved)
        assert form.cheque is None or not moved.overlaps(form.cheque.clear_band)
        for part in form.parts:
            assert not any(moved.overlaps(mark) for mark in preprinted(form, part))
            hidden = part.name in place.hidden_from
            assert any(blocked.holds(moved) for blocked in part.blocked) == hidden
            assert hidden or not any(blocked.overlaps(moved) for blocked in part.blocked)


def test_a_confidential_place_hidden_by_several_areas_may_not_shift():
    """Three blocked areas side by side hide a line as one does; but a shift could uncover it between or above them."""
    text = (Path(__file__).resolve().parents[2] / "forms" / "payroll-us.toml").read_text("utf-8")
    one = 'left = "0 in"\ntop = "line 4 1/2"\nright = "8 1/2 in"\nbottom = "line 24 1/2"\n'
    assert one in text
    edges = ("0 in", "column 20 1/2", "column 60 1/2", "8 1/2 in")
    several = "\n[[part.blocked]]\n".join(
        f'left = "{left}"\ntop = "line 4 1/2"\nright = "{right}"\nbottom = "line 24 1/2"\n'
        for left, right in itertools.pairwise(edges)
    )
    form = load(text.replace(one, several), "split.toml")
    assert check(form) == []
    stub = next(one for one in slack(form) if one.name == "stub-payee")
    assert (stub.left, stub.right, stub.up, stub.down) == (0, 0, 0, 0)
