"""A stub that goes on: no line is lost, none is struck twice, and only the first form can be paid."""

from hypothesis import given
from hypothesis import settings as how
from hypothesis import strategies as st

from cheque import layout, library
from cheque.layout import Drawer
from cheque.page import Page, Slot
from cheque.payment import Kind, Payment, Role, StubLine

FORM = library.read("remittance-us")
DRAWER = Drawer("Quillmere Boatyard Company", ("1 Slipway Lane",), "Tidewrack Savings Bank", "****3355", "USD", "en_US")
WORDS = st.text("ab ", min_size=1, max_size=70).map(lambda text: " ".join(text.split())).filter(bool)
NOTES = st.lists(WORDS, max_size=4)


def supplier(invoices: int, notes: list[str], role: Role = Role.CHEQUE) -> Payment:
    """A supplier's payment with so many invoices of 1.00."""
    lines = [StubLine(Kind.INVOICE, f"I{n:05}", 100, gross=100, date="2026-11-02") for n in range(invoices)]
    lines += [StubLine(Kind.NOTE, note) for note in notes]
    return Payment(1, "Saltmarsh Timber Yard", 100 * invoices, "2026-11-30", "R-1", role, stub=tuple(lines))


def texts(page: Page) -> list[str]:
    """What a page strikes, mark by mark."""
    return [mark.text for mark in page.marks]


@how(deadline=None, max_examples=60)
@given(st.integers(1, 200), st.sampled_from([Role.CHEQUE, Role.ADVICE]))
def test_every_line_stands_on_one_form_and_no_total_on_two(invoices: int, role: Role) -> None:
    pages = layout.lay_out(supplier(invoices, [], role), FORM, DRAWER)
    assert len(pages) == -(-invoices // 31)
    assert layout.overflow(supplier(invoices, [], role), FORM, DRAWER) == (len(pages) - 1, 0)
    struck = [text for page in pages for text in texts(page)]
    for n in range(invoices):
        assert sum(f"I{n:05}" in text for text in struck) == 1
    first, *further = pages
    assert any("VOID" in text for text in texts(first)) == (role is Role.ADVICE)
    for place, page in enumerate(further, 2):
        assert sum("VOID*VOID" in text for text in texts(page)) >= 5  # words, figures, payee, both signatures
        assert f"SHEET {place}/{len(pages)}" in texts(page)
        ahead = [slot.ahead for slot in page.slots]
        assert 1 - place in ahead
        assert (1 in ahead) == (place < len(pages))
        assert not [t for t in texts(page) if "dollars" in t.lower() or "NON-NEGOTIABLE" in t or "Tidewrack" in t]
    assert (1 in [slot.ahead for slot in first.slots]) == (len(pages) > 1)


@how(deadline=None, max_examples=60)
@given(st.integers(1, 70), NOTES)
def test_notes_that_wrap_go_on_as_whole_notes(invoices: int, notes: list[str]) -> None:
    try:
        pages = layout.lay_out(supplier(invoices, notes), FORM, DRAWER)
    except layout.LayoutError:
        assert any(len(note) > 30 for note in notes)  # longer than the table: refused, never torn
        return
    at = [[text for text in texts(page) if text in notes] for page in pages]
    assert [note for page in at for note in page] == notes


def test_the_number_of_another_form_is_counted_from_the_forms_own() -> None:
    assert Slot(0, 0, 1, 0, 6, ahead=-2).shows("000101") == "000099"
    assert Slot(0, 0, 1, 0, 6).shows("000101") == "000101"
    assert Slot(0, 0, 1, 0, 6, ahead=1).shows("------") == "------"
