"""Form definitions: what stands where on one numbered set of stock, loaded, kept as text, and checked.

`load` reads a definition's TOML; `to_text` and `from_text` keep it in the book; `form.digest` names it in
the proof. `cheque.form.check` says what is wrong with it as paper, `cheque.form.slack` how far its print may
shift, `cheque.form.feeding` which languages can feed its length.
"""

from cheque.form.geometry import Area
from cheque.form.model import Cheque, Column, Field, Form, Grid, Look, Paper, Part, Preprint, Table, When
from cheque.form.places import Place, places
from cheque.form.read import load
from cheque.form.text import from_text, to_text

__all__ = [
    "Area",
    "Cheque",
    "Column",
    "Field",
    "Form",
    "Grid",
    "Look",
    "Paper",
    "Part",
    "Place",
    "Preprint",
    "Table",
    "When",
    "from_text",
    "load",
    "places",
    "to_text",
]
