"""A batch as one PDF: totals and proof code first, every payee beside the amount, then every form, page by page."""

import gc
import io
import re
import tracemalloc
from dataclasses import replace

import pypdf
import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from picture.struck import TENTH, at, by_way_of_bytes, payroll, small_form

from cheque.form import Part
from cheque.page import Mark, Shift
from cheque.picture.pdf import PAPERS
from cheque.picture.proofbook import LOOK_AT, ProofBook, Totals, layout
from cheque.picture.shapes import INK
from cheque.picture.strike import land
from cheque.units import INCH, POINT

FORM = small_form()


def totals(count=3):
    pairs = tuple((f"Payee {n} (Sails) & Co", f"{n},{n % 1000:03d}.00") for n in range(1, count + 1))
    return Totals(
        batch="payday 27 November 2026",
        account="main, Tidewrack Savings, ···4471",
        form="quay-dues",
        stock="100501-101000",
        item_count=count,
        control_total="18,214.77 USD",
        hash_total="51,877",
        proof_code="K7QF-29HM",
        pairs=pairs,
    )


def book(marks=(), count=3, form=FORM, **options):
    out = io.BytesIO()
    proof = ProofBook(out, form, totals(count), **options)
    for number, one in enumerate(marks, 1):
        proof.add(one, f"{number} · Payee {number}")
    proof.close()
    return out.getvalue()


def pages(data):
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data), strict=True).pages]


def test_it_opens_with_the_totals_and_the_proof_code():
    (front,) = pages(book())
    for text in ("K7QF-29HM", "18,214.77 USD", "51,877", "main, Tidewrack Savings, ···4471", "100501-101000", *LOOK_AT):
        assert text in front
    assert re.search(r"Item count\s+3\b", front)
    assert "Proof of payday 27 November 2026" in front


def test_the_proof_code_is_the_largest_thing_on_the_page():
    page = pypdfium2.PdfDocument(book())[0].get_textpage()
    heights = {}
    for index in range(page.count_chars()):
        _, bottom, _, top = page.get_charbox(index, loose=True)
        heights[page.get_text_range(index, 1)] = max(top - bottom, heights.get(page.get_text_range(index, 1), 0))
    assert heights["K"] == heights["Q"] == heights["7"]
    assert all(heights["Q"] >= height for height in heights.values())


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("count", [1, 68, 69, 400])
def test_every_payee_stands_beside_the_amount_on_as_many_pages_as_that_needs(paper, count):
    lines = [line for page in pages(book(count=count, paper=paper)) for line in page.splitlines()]
    for number in range(1, count + 1):
        row = f"Payee {number} (Sails) & Co {number},{number % 1000:03d}.00"
        assert [line for line in lines if row in line], row


def test_every_remark_stands_between_payee_and_amount():
    out = io.BytesIO()
    pairs = [("Marlow", "1.00", "new payee"), ("Fenwick", "0.00", "new payee", "advice"), ("Oakum", "2.00", "")]
    ProofBook(out, FORM, totals()._replace(pairs=pairs)).close()
    lines = pages(out.getvalue())[0].splitlines()
    for row in ("Marlow new payee 1.00", "Fenwick new payee, advice 0.00", "Oakum 2.00"):
        assert [line for line in lines if row in line], row


def test_each_form_has_a_page_with_what_was_struck():
    marks = [by_way_of_bytes([at(4, 12, f"Payee {n}"), at(12, 12, f"**{n}.00")]) for n in range(1, 6)]
    shown = pages(book(marks))
    assert len(shown) == 6
    for number, page in enumerate(shown[1:], 1):
        assert page.count(f"**{number}.00") == 3  # on all three parts
        assert f"{number} · Payee {number}" in page
        assert f"K7QF-29HM · form {number}" in page


@pytest.mark.parametrize("form", [small_form(), payroll()], ids=["three parts", "shipped"])
def test_every_character_stands_at_its_place_on_every_part_of_the_page(form):
    # the heading and the captions are too long for their room and are set narrower; that must not spread
    marks = [at(2, 1, "Quillmere Boatyard"), at(3, 50, "RIGHT"), at(23, 40, "*****1,024.44")]
    out = io.BytesIO()
    proof = ProofBook(out, form, totals())
    proof.add(marks, "a heading that is much too long for the room that it has, " * 3)
    proof.close()
    text = pypdfium2.PdfDocument(out.getvalue())[1].get_textpage()
    size = PAPERS["a4"]
    found = []
    for index in range(text.count_chars()):
        left, bottom, _, _ = text.get_charbox(index, loose=True)
        found.append((left, size[1] / POINT - bottom, text.get_text_range(index, 1)))
    expected = 0
    for part, (x, y, (num, den)) in enumerate(layout(form, size)):
        for run in land(form, marks, part).shapes:
            assert run.colour == INK
            for place, char in enumerate(run.text):
                left = (x + (run.x + place * run.pitch) * num / den) / POINT
                line = (y + (run.y + 7 * POINT) * num / den) / POINT
                assert char == " " or [c for a, b, c in found if abs(a - left) < 1 and abs(b - line) < 4 and c == char]
                expected += char != " "
    assert expected >= 2 * sum(char != " " for mark in marks for char in mark.text)


def test_a_blocked_field_is_missing_from_that_part_of_the_page():
    (_, page) = pages(book([by_way_of_bytes([at(7, 7, "HIDDEN"), at(12, 12, "SHOWN")])]))
    assert page.count("HIDDEN") == 2  # the payee's copy and the slip; not the file's
    assert page.count("SHOWN") == 3


@pytest.mark.parametrize("form", [small_form(), payroll()], ids=["three parts", "shipped"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_all_parts_of_a_form_fit_their_page_without_touching(form, paper):
    assert_fits(form, paper)


def assert_fits(form, paper):
    """Every part on the page with room for its caption, and no two in one place."""
    width, height = PAPERS[paper]
    boxes = []
    for x, y, (num, den) in layout(form, PAPERS[paper]):
        assert 0 < num <= den
        strip = form.paper.strip * num // den
        boxes.append((x - strip, y, x + form.paper.width * num // den + strip, y + form.paper.length * num // den))
    for left, top, right, bottom in boxes:
        assert INCH // 4 < left < right < width - INCH // 4
        assert INCH // 4 < top < bottom < height - INCH // 4
    for number, one in enumerate(boxes):
        for other in boxes[number + 1 :]:
            assert one[2] <= other[0] or one[3] <= other[1] or other[2] <= one[0]


@settings(max_examples=60, deadline=None)
@given(
    parts=st.integers(1, 8),
    width=st.integers(5, 14),
    length=st.sampled_from((7, 8, 11, 14, 17, 22, 24)),
    paper=st.sampled_from(("a4", "letter")),
)
def test_any_number_of_parts_of_any_size_fits_a_page(parts, width, length, paper):
    # lengths in half inches: the usual depths of continuous stock, 3 1/2 to 12 in
    form = replace(
        FORM,
        paper=replace(FORM.paper, width=width * INCH, length=length * INCH // 2),
        parts=tuple(Part(f"part-{number}", "somebody") for number in range(parts)),
    )
    assert_fits(form, paper)


def test_the_part_that_goes_out_is_read_at_more_than_three_quarters_of_its_size():
    for paper in PAPERS.values():
        num, den = layout(payroll(), paper)[0][2]
        assert num / den > 0.75


def test_what_is_off_the_paper_is_on_the_page_in_full():
    data = book([[at(4, 50, "OVER THE EDGE OF IT")]])
    (_, page) = pages(data)
    assert page.count("characters are off the form.") == 3
    assert page.count("EDGE OF IT") == 3  # red, beside every part
    opened = pypdfium2.PdfDocument(data)[1]
    text = opened.get_textpage()
    for index in range(text.count_chars()):
        if text.get_text_range(index, 1).strip():
            left, bottom, right, top = text.get_charbox(index)
            assert left >= 0
            assert bottom >= 0
            assert right <= opened.get_width()
            assert top <= opened.get_height()


def test_the_shift_of_the_bytes_is_taken_back():
    shift = Shift(TENTH // 4, INCH // 72)
    marks = [at(4, 12, "Marlow")]
    moved = [m._replace(x=m.x + shift.right, y=m.y + shift.down) for m in marks]
    out, other = io.BytesIO(), io.BytesIO()
    for target, struck, by in ((out, marks, None), (other, moved, shift)):
        proof = ProofBook(target, FORM, totals())
        proof.add(struck, "1", shift=by)
        proof.close()
    assert out.getvalue() == other.getvalue()


def test_the_same_batch_gives_the_same_file():
    marks = [by_way_of_bytes([at(4, 12, "Marlow")])]
    assert book(marks) == book(marks)


class ForwardsOnly:
    """A file that can only be written on, as a pipe is."""

    def __init__(self):
        self.size = 0

    def write(self, data):
        self.size += len(data)
        return len(data)


def test_a_page_is_written_at_once_and_forgotten():
    out = ForwardsOnly()
    proof = ProofBook(out, FORM, totals())
    marks = [Mark(3 * TENTH, line * INCH // 6, TENTH, 0, f"line {line} of a form") for line in range(20)]
    for _ in range(50):
        proof.add(marks, "warm")
    gc.collect()
    tracemalloc.start()
    before, size = tracemalloc.get_traced_memory()[0], out.size
    for number in range(200):
        proof.add([m._replace(text=f"{m.text} {number}") for m in marks], f"form {number}")
    gc.collect()
    kept = tracemalloc.get_traced_memory()[0] - before
    tracemalloc.stop()
    assert out.size - size > 200 * 500  # the pages have left
    assert kept < 200 * 300  # and next to nothing stays behind
    proof.close()
