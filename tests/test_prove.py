"""The proof: the same strikes give the same page, digest and code; anything else does not."""

from hashlib import sha256

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from language.pages import SIXTH, TENTH, any_pages, plain_pages

from cheque import prove
from cheque.language import Look, Printer, get
from cheque.page import Mark, Page, Shift, Slot
from cheque.prove import ProofError
from cheque.units import INCH

ESCP9 = get("escp9")
PRINTER = Printer("escp9", INCH // 216)
LOOK = Look(7 * INCH, SIXTH)
SLOTS = (Slot(60 * TENTH, SIXTH, TENTH, 0, 8), Slot(60 * TENTH, 24 * SIXTH, TENTH, 0, 8))
PAGE = Page((Mark(5 * TENTH, SIXTH, TENTH, 0, "Pay J. Marlow"), Mark(5 * TENTH, 30 * SIXTH, TENTH, 1, "**1.00")), SLOTS)


def cells(marks):
    return sorted(
        (m.x + m.pitch * i, m.y, m.pitch, m.weight, letter)
        for m in marks
        for i, letter in enumerate(m.text)
        if letter != " "
    )


@st.composite
def cut_anew(draw, marks):
    """The same cells, cut and ordered another way."""
    pieces = []
    for mark in marks:
        place = draw(st.integers(0, len(mark.text)))
        blanks = draw(st.integers(0, 2))
        pieces.append(mark._replace(text=mark.text[:place] + " " * blanks))
        pieces.append(mark._replace(x=mark.x + place * mark.pitch, text=mark.text[place:]))
    return draw(st.permutations(pieces))


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_a_page_depends_on_its_cells_only(data):
    marks = data.draw(any_pages(INCH // 72))
    other = data.draw(cut_anew(marks))
    page = prove.canonical(marks)
    assert prove.canonical(other) == page
    assert prove.page_digest(other) == prove.page_digest(marks) == prove.page_digest(page)


@settings(max_examples=200, deadline=None)
@given(any_pages(INCH // 72))
def test_a_canonical_page_keeps_every_cell_and_no_blank(marks):
    page = prove.canonical(marks)
    assert cells(page) == cells(marks)
    assert prove.canonical(page) == page
    assert list(page) == sorted(page, key=lambda m: (m.y, m.x, m.pitch, m.weight, m.text))
    assert not any(" " in m.text or not m.text for m in page)


@settings(max_examples=200, deadline=None)
@given(plain_pages(), st.integers(0, 11), st.sampled_from(["x", "y", "pitch", "weight", "text"]))
def test_any_change_of_a_cell_changes_the_digest(marks, which, what):
    marks = tuple(m for m in marks if m.text.strip(" "))
    if not marks:
        return
    which %= len(marks)
    mark = marks[which]
    changed = {"x": mark.x + 1, "y": mark.y + 1, "pitch": mark.pitch * 2, "weight": mark.weight + 1}.get(what)
    if what == "text":
        changed = mark.text + "x"
    other = (*marks[:which], mark._replace(**{what: changed}), *marks[which + 1 :])
    assert (prove.page_digest(other) == prove.page_digest(marks)) == (cells(other) == cells(marks))
    assert cells(other) != cells(marks)


def test_two_pages_with_the_same_texts_run_together_differ():
    one = (Mark(0, 0, 10, 0, "ab"), Mark(30, 0, 10, 0, "c"))
    two = (Mark(0, 0, 10, 0, "abc"),)
    assert prove.page_digest(one) != prove.page_digest(two)


def test_the_serial_form_is_as_documented():
    marks = (
        Mark(0, 20, 10, 0, "ab"),
        Mark(30, 20, 10, 0, "c "),
        Mark(0, 20, 10, 0, "a"),
        Mark(5, 20, 10, 0, "d"),
        Mark(0, 0, 10, 1, "£"),
    )
    serial = "0 0 10 1 £\n20 0 10 0 a\n20 0 10 0 ab c\n20 5 10 0 d\n"
    assert prove.page_digest(marks) == sha256(b"cheque page 1\n" + serial.encode()).hexdigest()


def test_the_shift_is_outside_the_proof():
    shift = Shift(INCH // 60, -INCH // 216)
    marks = PAGE.numbered("100501")
    moved = tuple(m._replace(x=m.x + shift.right, y=m.y + shift.down) for m in marks)
    assert prove.canonical(moved, shift) == prove.canonical(marks)
    assert prove.canonical(moved) != prove.canonical(marks)


def test_the_number_is_outside_the_proof():
    pages = {
        number: prove.open_slots(prove.canonical(PAGE.numbered(number)), SLOTS, number)
        for number in ("1", "100501", "99999999")
    }
    assert set(pages.values()) == {prove.canonical(PAGE.marks)}
    assert {prove.page_digest(page) for page in pages.values()} == {prove.laid_out_digest(PAGE)}


@settings(max_examples=100, deadline=None)
@given(plain_pages(), st.sampled_from(["7", "100501", "12345678"]))
def test_the_two_ways_to_a_digest_agree(marks, number):
    page = Page(marks, SLOTS)
    strikes = ESCP9.decode(ESCP9.encode(page.numbered(number), LOOK, PRINTER, LOOK.length), PRINTER)
    digests = []
    for way in (
        lambda: prove.digest_strikes(strikes, slots=SLOTS, number=number),
        lambda: prove.page_digest(prove.open_slots(prove.canonical(strikes.marks), SLOTS, number)),
    ):
        try:
            digests.append(way())
        except ProofError as error:
            digests.append(str(error))
    assert digests[0] == digests[1]


@pytest.mark.parametrize(
    "changed",
    [
        lambda m: m._replace(text="100502"),
        lambda m: m._replace(text="1005010"),
        lambda m: m._replace(text="10050"),
        lambda m: m._replace(text="100501 x"),
        lambda m: m._replace(x=m.x + m.pitch),
        lambda m: m._replace(x=m.x - m.pitch, text=" 100501 "[1:] + "1"),
        lambda m: m._replace(weight=1),
        lambda m: m._replace(y=m.y + SIXTH),
        lambda m: m._replace(text=" "),
    ],
)
def test_a_slot_that_holds_anything_but_the_number_is_refused(changed):
    marks = PAGE.numbered("100501")
    wrong = (*marks[:-1], changed(marks[-1]))
    with pytest.raises(ProofError, match="the place of the number"):
        prove.open_slots(prove.canonical(wrong), SLOTS, "100501")


def test_a_number_struck_twice_over_is_refused():
    marks = PAGE.numbered("100501")
    with pytest.raises(ProofError, match="the place of the number"):
        prove.open_slots(prove.canonical((*marks, marks[-1])), SLOTS, "100501")


def test_text_that_touches_a_slot_is_cut_at_its_edges():
    slot = SLOTS[0]
    beside = (
        Mark(slot.x - 3 * TENTH, slot.y, TENTH, 0, "No."),
        Mark(slot.x + slot.width * TENTH, slot.y, TENTH, 0, "<"),
    )
    marks = (*beside, Mark(slot.x, slot.y, TENTH, 0, "12345678"))
    page = prove.canonical(marks)
    assert [m.text for m in page] == ["No.12345678<"]
    assert prove.open_slots(page, (slot,), "12345678") == prove.canonical(beside)


def check(data, number="100501", advance=LOOK.length, page=PAGE):
    return prove.check_form(
        data,
        ESCP9,
        PRINTER,
        slots=page.slots,
        number=number,
        shift=Shift(),
        advance=advance,
        page_digest=prove.laid_out_digest(page),
    )


def encoded(number="100501", advance=LOOK.length, page=PAGE):
    return ESCP9.encode(page.numbered(number), LOOK, PRINTER, advance)


def test_a_form_that_is_what_was_proved_passes():
    strikes = check(encoded())
    assert strikes.advance == LOOK.length
    assert prove.canonical(strikes.marks) == prove.canonical(PAGE.numbered("100501"))


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (encoded(number="100502"), "place of the number holds '100502' instead of 100501"),
        (encoded(advance=LOOK.length + INCH // 216), "feed"),
        (encoded() * 2, "feed"),
        (encoded()[1:], "cannot be read back"),
        (b"", "feed 0"),
        (encoded(page=Page((*PAGE.marks, Mark(0, 0, TENTH, 0, ".")), SLOTS)), "do not strike"),
        (encoded(page=Page(PAGE.marks[:1], SLOTS)), "do not strike"),
    ],
)
def test_a_form_that_is_not_what_was_proved_is_refused(data, says):
    with pytest.raises(ProofError, match=says):
        check(data)


def test_the_payment_digest_depends_on_the_order_of_its_forms():
    one, two = "a" * 64, "b" * 64
    assert len({prove.payment_digest(d) for d in ([one], [two], [one, two], [two, one], [])}) == 5


FACTS = {
    "form_digest": "f" * 64,
    "account": "main",
    "currency": "USD",
    "item_count": 2,
    "control_total": 1821477,
    "payment_digests": ["a" * 64, "b" * 64],
}


@pytest.mark.parametrize(
    "changed",
    [
        {"form_digest": "e" * 64},
        {"account": "mains"},
        {"currency": "CAD"},
        {"control_total": 1821478},
        {"payment_digests": ["b" * 64, "a" * 64]},
        {"payment_digests": ["a" * 64], "item_count": 1},
        {"account": 'main","USD'},
    ],
)
def test_the_proof_digest_covers_every_fact_of_the_batch(changed):
    assert prove.proof_digest(**{**FACTS, **changed}) != prove.proof_digest(**FACTS)


def test_a_proof_of_fewer_payments_than_the_item_count_is_refused():
    with pytest.raises(ValueError, match="1 payments were added to a proof of 2"):
        prove.proof_digest(**{**FACTS, "payment_digests": ["a" * 64]})


def test_the_proof_code_is_the_first_forty_bits():
    assert prove.proof_code("0" * 64) == "2222-2222"
    assert prove.proof_code("f" * 10 + "0" * 54) == "ZZZZ-ZZZZ"
    assert prove.proof_code("f" * 10 + "0" * 54) == prove.proof_code("f" * 64)
    assert prove.proof_code("08" + "0" * 62) == "3222-2222"


def test_the_proof_code_has_no_look_alikes():
    assert len(set(prove.ALPHABET)) == 32
    assert not set("01OIoil") & set(prove.ALPHABET)


@settings(max_examples=100, deadline=None)
@given(st.binary(min_size=32, max_size=32))
def test_a_code_is_the_same_however_it_is_typed(digest):
    code = prove.proof_code(digest.hex())
    for typed in (code.lower(), code.replace("-", ""), code.replace("-", " "), f"  {code} ", " ".join(code)):
        assert prove.same_code(typed, code)
        assert prove.same_code(code, typed)


@pytest.mark.parametrize("typed", ["", "M8ET", "M8ET-M8EU", "M8ET-M8ETM", "0000-0000", "M8ET_M8ET"])
def test_another_code_is_not_the_same(typed):
    assert not prove.same_code(typed, "M8ET-M8ET")
    assert not prove.same_code(typed, typed) or typed == "M8ET-M8EU"
