"""Who sees what: held against what a strike really leaves on each part."""

import pytest
from form.samples import SHIPPED
from form.small_form import small

from cheque import library
from cheque.form.check import check
from cheque.form.matrix import Seen, matrix
from cheque.form.places import places
from cheque.page import Mark
from cheque.picture.shapes import Struck
from cheque.picture.strike import land


@pytest.mark.parametrize("name", SHIPPED)
def test_a_part_shows_what_a_strike_leaves_on_it_and_keeps_what_it_promises(name: str) -> None:
    form = library.read(name)
    rows = matrix(form)
    for place, row in zip(places(form), rows, strict=True):
        marks = [
            Mark(cell.left - form.grid.left, cell.top - form.grid.top + line * form.grid.spacing, place.pitch, 0,
                 "X" * (cell.width // place.pitch))
            for cell in place.struck
            for line in range(cell.height // form.grid.spacing)
        ]  # fmt: skip
        wanted = sum(len(mark.text) for mark in marks)
        for index, part in enumerate(form.parts):
            left = sum(len(s.text) for s in land(form, marks, index).shapes if isinstance(s, Struck))
            assert {Seen.SHOWN: wanted, Seen.HIDDEN: 0}[row.seen[index]] == left
            assert (row.seen[index] is Seen.HIDDEN) == (part.name in place.hidden_from)
            assert row.kept[index]


def test_what_is_half_hidden_breaks_its_promise_and_the_form() -> None:
    form = small(('bottom = "line 9"', 'bottom = "line 7"'))
    row = next(row for row in matrix(form) if row.name == "stub.text")
    assert row.seen == (Seen.SHOWN, Seen.IN_PART)
    assert row.kept == (True, False)
    assert any("would show it" in str(fault) for fault in check(form))


def test_what_a_part_must_not_show_and_shows_breaks_its_promise_and_the_form() -> None:
    form = small(('goes_to = "the file"', 'goes_to = "the file"\nmust_not_show = ["payee"]'))
    row = next(row for row in matrix(form) if row.name == "payee")
    assert (row.seen, row.kept) == ((Seen.SHOWN, Seen.SHOWN), (True, False))
    assert any("must_not_show" in str(fault) for fault in check(form))


def test_what_is_hidden_without_a_word_breaks_the_definition_too() -> None:
    form = small(('hidden_from = ["copy"]\n', ""))
    assert [row.kept for row in matrix(form) if row.name.startswith("stub")] == [(True, False)] * 3
    assert [row.says for row in matrix(form)][-1] == "wording struck as it stands"


def test_a_column_is_told_as_what_a_line_has_and_not_as_the_field_of_that_name() -> None:
    says = {row.name: row.says for row in matrix(library.read("remittance-us"))}
    assert says["invoices.date"] == "an invoice's date, by its pattern"
    assert says["date"] == "the date of the cheque"
    assert says["invoices.gross"] == "an invoice before discount"
