"""The shift kept for a printer and a form: how far the whole print is moved to fall in its fields."""

from cheque.book.book import Book, Reader
from cheque.page import Shift


def shift_of(reader: Reader, printer: str, form: str) -> Shift:
    """The shift kept for a printer and a form (units); none when none was ever kept."""
    row = reader.row("SELECT right_by, down_by FROM shift WHERE printer = ? AND form = ?", printer, form)
    return Shift(*row) if row else Shift()


def keep(book: Book, printer: str, form: str, shift: Shift) -> None:
    """Keep a shift. Whether the form has so much slack is judged before."""
    with book.change() as change:
        change.append("shift.set", {"printer": printer, "form": form, "right": shift.right, "down": shift.down})
