"""For every shipped form an invented drawer and a register, and the way to strike it: by way of bytes."""

import io
from pathlib import Path

from cheque import language as languages
from cheque import layout, library
from cheque.form import Form
from cheque.form.feeding import Feeding, feeding
from cheque.language import Printer, Strikes
from cheque.layout import Drawer
from cheque.looking import borne
from cheque.page import Page
from cheque.payment import Payment
from cheque.register import Reading
from cheque.register.csvfile import read
from cheque.units import INCH

DEMO = Path(__file__).resolve().parents[2] / "demo"
SHIPPED = [entry.name for entry in library.entries()]
_QUILLMERE = Drawer(
    name="Quillmere Boatyard Company",
    address=("1 Slipway Lane", "Quillmere, QM 00401"),
    bank="Tidewrack Savings Bank",
    account_masked="********3355",
    currency="USD",
    locale="en_US",
    two_signatures_over=500_000,
    place="Quillmere",
    stale_after_days=180,
)
#: country of a form -> currency and locale of its account
_MONEY = {
    "US": ("USD", "en_US"),
    "CA": ("CAD", "en_CA"),
    "GB": ("GBP", "en_GB"),
    "IE": ("EUR", "en_GB"),
    "IN": ("INR", "en_IN"),
    "FR": ("EUR", "fr_FR"),
    "DE": ("EUR", "de_DE"),
}


def drawer_of(form: Form) -> Drawer:
    """The boatyard's account in the form's country."""
    currency, locale = _MONEY[form.country]
    return _QUILLMERE._replace(currency=currency, locale="fr_CA" if form.name == "cheque-ca-fr" else locale)


def register_of(form: Form) -> Path:
    """The invented register that goes with a shipped form."""
    own = DEMO / "forms" / f"{form.name}.csv"
    return DEMO / "payday-2026-11-27.csv" if form.name == "payroll-us" else own


def payments_of(form: Form) -> list[Payment]:
    """The payments of its register, as the form bears them; it must be without faults."""
    drawer = drawer_of(form)
    with register_of(form).open("rb") as stream:
        items = list(borne(form, read(io.BytesIO(stream.read()), Reading(form.name, drawer.currency))))
    assert all(isinstance(item, Payment) for item in items), [str(i) for i in items if not isinstance(i, Payment)]
    return [item for item in items if isinstance(item, Payment)]


def pages_of(form: Form) -> list[Page]:
    """Every payment of its register laid out, and the pages that carry none."""
    laid = [page for one in payments_of(form) for page in layout.lay_out(one, form, drawer_of(form))]
    return [*laid, layout.void_page(form), layout.alignment_page(form)]


def printers_of(form: Form, table: str = "cp850") -> list[Printer]:
    """A printer of every language and step that can print the form, its panel seen to print every letter."""
    seen = frozenset(languages.VOUCHABLE)
    return [
        Printer(row.language, row.step, table, _without(row), vouched=seen) for row in feeding(form) if row.straight
    ]


def _without(row: Feeding) -> frozenset[str]:
    """What a model lacks that counts in that step."""
    return frozenset({"216ths"} if (row.language, row.step) == ("ppds", INCH // 180) else ())


def strikes_of(form: Form, page: Page, printer: Printer, number: str = "100501") -> Strikes:
    """What a decoder reads from the bytes of a page."""
    spoken = languages.get(printer.language)
    length = form.paper.length // printer.step * printer.step
    data = spoken.encode(page.numbered(number), layout.look(form), printer, length)
    return spoken.decode(data, printer)
