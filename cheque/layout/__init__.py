"""Payment and form to page: what is struck, and where, proven to fit before a byte is made.

`lay_out` gives the page of a payment, or raises LayoutError with everything that does not fit: no field is
ever cut short. `void_page` and `alignment_page` carry no payment. Pure: nothing here reads a file or a clock.
"""

from cheque.form.model import Form
from cheque.language import Look
from cheque.layout.plan import compiled, lay_out, overflow
from cheque.layout.shapes import Drawer, LayoutError
from cheque.layout.strikes import alignment_page, void_page

__all__ = ["Drawer", "LayoutError", "alignment_page", "compiled", "lay_out", "look", "overflow", "void_page"]


def look(form: Form) -> Look:
    """How the form is to be printed, as the languages are told it."""
    return Look(form.paper.length, form.grid.spacing, form.look.quality, form.look.one_direction)
