"""Text for an 80-column printer: nothing wider, nothing cut, a heading on every page."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from report.samples import HOSTILE, of_rows, with_payees

from cheque.report.page import Column, Group, Kind, Money, Place, Report, Table, Total, shown
from cheque.report.render import render
from cheque.report.render.columns import allotted, padded, width_of, wrapped

NAMES = st.text(st.characters(codec="utf-8"), max_size=60)


@given(NAMES, st.integers(1, 40))
def test_wrapping_loses_nothing_but_blanks(text: str, width: int) -> None:
    lines = wrapped(text, width)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    if width > 1:
        assert all(width_of(line) <= width for line in lines)


@given(st.lists(st.tuples(st.integers(0, 200), st.integers(1, 20)), min_size=1, max_size=9), st.integers(9, 120))
def test_columns_always_fit_the_room_and_none_is_left_without_any(sizes: list[tuple[int, int]], room: int) -> None:
    natural, least = [size[0] for size in sizes], [size[1] for size in sizes]
    widths = allotted(natural, least, room=room)
    assert sum(widths) <= max(room, len(sizes))
    if sum(natural) <= room:
        assert widths == natural
    else:
        assert min(widths) >= 1
        assert all(width <= max(wanted, 1) for width, wanted in zip(widths, natural, strict=True))


def test_wide_characters_take_two_columns_and_accents_none() -> None:
    assert width_of("李爱") == 4
    assert width_of("e\u0301") == 1
    assert padded("李", 4) == "李  "
    assert padded("7", 4, right=True) == "   7"


@pytest.mark.parametrize("page_lines", [0, 66])
def test_no_line_is_wider_than_the_paper_whatever_a_payee_is_called(page_lines: int) -> None:
    text = render(with_payees(HOSTILE), page_lines=page_lines)
    assert max(width_of(line) for line in text.split("\n")) <= 80
    assert text.replace("\n", "").isprintable()


def test_no_name_is_cut_however_long() -> None:
    joined = "".join(render(with_payees(HOSTILE), page_lines=0).split())
    letters = "".join(c for c in joined if c == "W")
    assert letters.count("W") >= 300 * 6
    for name in HOSTILE:
        if len(shown(name)) < 24:
            assert "".join(shown(name).split()) in joined


@settings(max_examples=40, deadline=None)
@given(st.lists(NAMES.filter(str.strip), min_size=1, max_size=4))
def test_any_names_at_all_fit_on_the_paper(names: list[str]) -> None:
    for page_lines in (0, 24):
        text = render(with_payees(tuple(names)), page_lines=page_lines)
        assert max(width_of(line) for line in text.split("\n")) <= 80


def test_every_page_has_its_heading_and_the_heads_of_its_columns() -> None:
    text = render(of_rows(200), form_feed=True)
    pages = text.split("\f")
    assert len(pages) == 4
    for number, page in enumerate(pages, 1):
        lines = page.split("\n")
        assert lines[0].startswith("Quillmere Boatyard Company")
        assert lines[0].endswith(f"Page {number} of 4")
        assert lines[1].startswith("Cheques issued")
        assert lines[1].endswith("as of 2026-11-27 12:00, read 2026-11-27 12:01")
        assert "Number  Payee" in page
        assert len(lines) <= 61
    assert "continued" not in pages[0]
    assert all("Good cheques, continued\nNumber  Payee" in page for page in pages[1:])
    assert all("\nAll of them\n" in page for page in pages)


def test_pages_without_form_feeds_fall_on_the_same_line_of_every_sheet() -> None:
    text = render(of_rows(200))
    assert "\f" not in text
    lines = text.split("\n")
    heads = [place for place, line in enumerate(lines) if line.startswith("Quillmere Boatyard Company")]
    assert heads == [0, 66, 132, 198]
    for head in heads[1:]:
        assert lines[head - 6 : head] == [""] * 6  # the perforation


def test_every_row_stands_on_exactly_one_page() -> None:
    for page_lines in (0, 20, 33, 66, 70):
        text = render(of_rows(150), page_lines=page_lines)
        assert [text.count(f"\n{100501 + i}  ") for i in range(150)] == [1] * 150


def test_a_page_too_short_to_hold_anything_is_refused() -> None:
    with pytest.raises(ValueError, match="too short"):
        render(of_rows(1), page_lines=10)


def test_figures_stand_under_each_other() -> None:
    lines = [line for line in render(of_rows(120)).split("\n") if line.startswith(("1005", "1006"))]
    assert len({line.rindex(".") for line in lines}) == 1


def test_a_name_that_fills_pages_goes_on_over_them() -> None:
    text = render(with_payees(("W" * 6000,)), page_lines=24)
    assert text.count("W") >= 6000 * 5


def test_an_empty_table_says_so() -> None:
    table = Table("cheques", "Good cheques", (Column("number", "Number"),), (), empty="None at all.")
    report = Report("empty", "Nothing", "Quillmere Boatyard Company", "now", "now", tables=(table,))
    assert "Good cheques\nNone at all.\n" in render(report)


def test_a_total_whose_label_has_no_room_before_its_figure_stands_above_it() -> None:
    columns = (Column("amount", "Amount", Kind.MONEY), Column("payee", "Payee"))
    total = Total("a long label for a total", (Money(500, "USD"), None))
    table = Table("t", "", columns, (Group("", ((Money(500, "USD"), "Ay Li"),)),), (total,))
    report = Report("r", "R", "Quillmere", "now", "now", tables=(table,))
    assert "======\na long label for a total\n  5.00\n" in render(report)


def with_reasons(reasons: list[str]) -> Report:
    """A table whose rows have a detail below them."""
    columns = (Column("number", "Number", Kind.NUMBER), Column("reason", "Reason", place=Place.BELOW))
    rows = tuple((f"{100501 + place}", reason) for place, reason in enumerate(reasons))
    table = Table("t", "Spoiled", columns, (Group("", rows),))
    return Report("r", "R", "Quillmere Boatyard Company", "now", "now", tables=(table,))


@pytest.mark.parametrize("page_lines", range(20, 31))
def test_a_row_and_what_stands_below_it_are_never_on_two_pages(page_lines: int) -> None:
    pages = render(with_reasons(["torn, and torn again " * 8] * 60), page_lines=page_lines, form_feed=True).split("\f")
    for page in pages:
        body = page[page.index("------\n") + 7 :]
        assert body.startswith("1005")
        assert all(block.count("torn,") == 8 for block in body.split("\n1005"))


def test_a_detail_longer_than_a_page_goes_on_and_loses_nothing() -> None:
    for page_lines in (0, 20, 66):
        text = render(with_reasons(["x" * 7001, "torn"]), page_lines=page_lines)
        assert text.count("x") == 7001
