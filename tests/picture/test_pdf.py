"""What is struck can be read back from the PDF, character by character, where it stands; the bytes never vary."""

import io

import pypdf
import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from picture.struck import TENTH, at, by_way_of_bytes, cells, marks_anywhere, small_form

from cheque.picture.drawing import draw_form, draw_parts
from cheque.picture.pdf import PAPERS, fitted, to_pdf
from cheque.picture.shapes import INK, Drawing, Struck, Words
from cheque.units import INCH, POINT

FORM = small_form()


def characters(data, page=0):
    """Every character of a page as a reader finds it: (x, baseline, character), points from the page's corner."""
    opened = pypdfium2.PdfDocument(data)
    text = opened[page].get_textpage()
    found = []
    for index in range(text.count_chars()):
        left, bottom, _, _ = text.get_charbox(index, loose=True)
        found.append((left, bottom, text.get_text_range(index, 1)))
    return found


def text_of(data, page=0):
    return pypdf.PdfReader(io.BytesIO(data), strict=True).pages[page].extract_text()


def test_payee_and_amounts_are_read_back_as_text():
    marks = by_way_of_bytes([at(4, 5, "Marlow (Fenwick) & Sons*****"), at(9, 5, "**1,234.56"), at(11, 5, "a \\ b")])
    text = text_of(to_pdf([draw_form(FORM, marks, part_index=0)]))
    for mark in marks:
        assert mark.text in text


def test_every_character_is_found_where_it_was_struck():
    marks = by_way_of_bytes([at(2, 3, "Quillmere Boatyard"), at(7, 12, "Hidden below"), at(23, 1, "ÅÉßñ£ 09")])
    drawing = draw_form(FORM, marks, part_index=0, caption="")
    found = characters(to_pdf([drawing]))
    for x, y, _pitch, _weight, char in cells(marks, FORM):
        left = (x - drawing.left) / POINT
        line = (drawing.top + drawing.height - y) / POINT - 7
        assert [c for a, b, c in found if abs(a - left) < 1.5 and abs(b - line) < 4 and c == char], char


@settings(max_examples=40, deadline=None)
@given(marks_anywhere())
def test_no_character_struck_is_missing_from_the_text(marks):
    drawing = draw_form(FORM, marks, part_index=0, caption="")
    shown = [char for s in drawing.shapes if isinstance(s, Struck) for char in s.text if char != " "]
    struck_only = Drawing(*drawing[:4], tuple(s for s in drawing.shapes if isinstance(s, Struck)))
    text = text_of(to_pdf([struck_only]))
    wanted = sorted(char for char in shown if char.isprintable())
    assert sorted(char for char in text if char.isprintable() and char != " ") == wanted


def test_blocked_characters_are_not_in_the_text_of_that_part():
    marks = by_way_of_bytes([at(7, 6, "HIDDEN"), at(12, 6, "SHOWN")])
    data = to_pdf([draw_form(FORM, marks, part_index=part) for part in range(3)])
    assert [("HIDDEN" in text_of(data, page), "SHOWN" in text_of(data, page)) for page in range(3)] == [
        (True, True),
        (False, True),
        (True, True),
    ]


def test_more_characters_than_one_font_holds():
    letters = "".join(chr(code) for code in range(0xA1, 0x2A0) if chr(code).isalpha())
    assert len(letters) > 400
    runs = tuple(
        Struck(0, row * INCH // 6, TENTH, 0, "a" + letters[start : start + 40] + "b", INK)
        for row, start in enumerate(range(0, len(letters), 40))
    )
    data = to_pdf([Drawing(0, 0, 6 * INCH, 4 * INCH, runs)])
    found = text_of(data)
    assert [char for char in letters if char not in found] == []
    reader = pypdf.PdfReader(io.BytesIO(data))
    assert len(reader.pages[0]["/Resources"]["/Font"]) >= 3


def test_the_same_drawings_give_the_same_bytes():
    drawing = draw_parts(FORM, by_way_of_bytes([at(2, 3, "Once and again")]))
    assert to_pdf([drawing], title="Proof") == to_pdf([drawing], title="Proof")


def test_no_clock_and_no_name_of_a_maker_is_in_the_file():
    reader = pypdf.PdfReader(io.BytesIO(to_pdf([draw_form(FORM, [], part_index=0)], title="Prøve <1>")))
    assert dict(reader.metadata) == {"/Title": "Prøve <1>"}
    assert reader.xmp_metadata is None


def test_fonts_are_drawn_and_the_dots_are_a_font_for_each_pitch_and_weight():
    marks = [at(2, 3, "one"), at(3, 3, "two", INCH // 12), at(4, 3, "three", TENTH, 1)]
    reader = pypdf.PdfReader(io.BytesIO(to_pdf([draw_form(FORM, marks, part_index=0)])))
    fonts = reader.pages[0]["/Resources"]["/Font"]
    kinds = {name: font.get_object()["/Subtype"] for name, font in fonts.items()}
    assert set(kinds.values()) == {"/Type3"}
    assert len([name for name in kinds if name.startswith("/D")]) == 3


def test_a_sheet_is_in_the_file_once_however_many_pages_show_it():
    one = to_pdf([draw_form(FORM, [at(2, 3, "x")], part_index=0)])
    many = to_pdf(draw_form(FORM, [at(2, 3, "x")], part_index=0) for _ in range(50))
    assert len(pypdf.PdfReader(io.BytesIO(many)).pages) == 50
    assert len(many) - len(one) < 49 * 900


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("part", [0, 2])
def test_a_drawing_is_made_to_fit_its_paper_and_never_larger(paper, part):
    drawing = draw_form(FORM, [at(2, 12, "x")], part_index=part)
    page = fitted(drawing, paper)
    assert {page.width, page.height} == set(PAPERS[paper])
    (group,) = page.shapes
    num, den = group.scale
    assert num <= den
    assert group.x + drawing.left * num // den >= 0
    assert group.x + (drawing.left + drawing.width) * num // den <= page.width
    assert group.y + (drawing.top + drawing.height) * num // den <= page.height


@settings(max_examples=60, deadline=None)
@given(st.text(st.characters(), max_size=30))
def test_any_text_makes_a_file_that_a_strict_reader_takes(text):
    shapes = (
        Struck(INCH, INCH, TENTH, 0, text, INK),
        Words(INCH, 2 * INCH, 9 * POINT, text, INK, False, INCH),
    )
    reader = pypdf.PdfReader(io.BytesIO(to_pdf([Drawing(0, 0, 4 * INCH, 4 * INCH, shapes)], title=text)), strict=True)
    assert len(reader.pages) == 1
    reader.pages[0].extract_text()


def test_a_file_without_pages_is_whole():
    assert len(pypdf.PdfReader(io.BytesIO(to_pdf([]))).pages) == 0
