"""Draws the pictures of docs/pictures.md anew, from bytes, into this folder.

    .venv/bin/python docs/images/draw.py

The payments are the demonstration's, invented; every struck character has gone through a printer's language and
back. The proofs of all four languages must be the same but for their captions, or nothing is written.
"""

import io
import sys
from pathlib import Path

from cheque.form import Form, load
from cheque.language import HIGH_LETTERS, Printer, get
from cheque.layout import Drawer, lay_out, look
from cheque.page import Mark
from cheque.payment import Payment
from cheque.picture.dotface import covered
from cheque.picture.drawing import draw_form
from cheque.picture.pdf import PAPERS
from cheque.picture.png import to_png
from cheque.picture.proofbook import ProofBook, Totals, opening
from cheque.picture.shapes import CAPTION, INK, PAPER, Drawing, Shape, Struck, Words
from cheque.picture.text import to_text
from cheque.register import Reading
from cheque.register.csvfile import read
from cheque.units import INCH, POINT, write_length

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
TENTH, SIXTH = INCH // 10, INCH // 6
#: language -> the step and the character table of a printer of it
PRINTERS = {
    "escp9": Printer("escp9", INCH // 216, "cp850"),
    "escp24": Printer("escp24", INCH // 180, "cp850"),
    "ppds": Printer("ppds", INCH // 216, "cp850"),
    "plain": Printer("plain", SIXTH, "cp850", vouched=frozenset({HIGH_LETTERS})),
}
DRAWER = Drawer(
    name="Quillmere Boatyard Ltd",
    address=("3 Slipway Lane, Quillmere",),
    bank="Tidewrack Savings of Quillmere",
    account_masked="······4471",
    currency="USD",
    locale="en_US",
)


def payments() -> list[Payment]:
    """The demonstration's register."""
    data = (ROOT / "demo" / "payday-2026-11-27.csv").read_bytes()
    return [one for one in read(io.BytesIO(data), Reading("payday", "USD")) if isinstance(one, Payment)]


def struck(form: Form, payment: Payment, number: str, language: str) -> tuple[Mark, ...]:
    """What a decoder of the language reads from the bytes of one payment's form."""
    (page,) = lay_out(payment, form, DRAWER)
    printer = PRINTERS[language]
    data = get(language).encode(page.numbered(number), look(form), printer, form.paper.length)
    return get(language).decode(data, printer).marks


def proof_pages(form: Form, paid: list[Payment]) -> None:
    """The opening page, and the page of one form."""
    total = sum(payment.amount for payment in paid)
    totals = Totals(
        batch="batch 1",
        account="main, Tidewrack Savings of Quillmere, ······4471",
        form=form.title,
        stock="100501-101000, 500 on hand",
        item_count=len(paid),
        control_total=f"{total // 100:,}.{total % 100:02d} USD",
        hash_total=f"{sum(payment.hash_value or 0 for payment in paid):,}",
        proof_code="K7QF-29HM",
        pairs=[
            (one.payee, f"{one.amount // 100:,}.{one.amount % 100:02d}", "new payee" if one.item in (7, 19) else "")
            for one in paid
        ],
    )
    book = ProofBook(io.BytesIO(), form, totals, paper="letter")
    (front,) = opening(totals, PAPERS["letter"])
    save("proof-opening", front, 100)
    marks = struck(form, paid[0], "100501", "escp9")
    save("proof-form", book.page(marks, f"payment 1 · {paid[0].payee}"), 110)


def languages(form: Form, payment: Payment) -> None:
    """The same payment by way of each language."""
    seen: set[bytes] = set()
    for language, printer in PRINTERS.items():
        marks = struck(form, payment, "100501", language)
        seen.add(to_png(draw_form(form, marks, part_index=0, caption=""), 96))
        step = write_length(printer.step)
        caption = f"Drawn from the bytes of {language}, a printer that steps {step} and prints table {printer.table}"
        save(f"proof-{language}", draw_form(form, marks, part_index=0, caption=caption), 96)
    if len(seen) != 1:
        sys.exit("the four languages do not give the same picture")


def details(form: Form, payment: Payment) -> None:
    """Frames, and what is off the paper; a part as text."""
    marks = struck(form, payment, "100501", "escp9")
    save("frames", draw_form(form, marks, part_index=2, frames=True), 96)
    astray = [mark._replace(x=mark.x + 6 * TENTH, y=mark.y + 2 * SIXTH) for mark in marks]
    save("off-the-paper", draw_form(form, astray, part_index=0), 96)
    (HERE / "part-1.txt").write_text(to_text(form, marks, 0), "utf-8")


def faces() -> None:
    """Specimens of both faces."""
    letters = "".join(map(chr, range(33, 127)))
    others = "".join(char for char in covered() if char > "~") + "ÀÉÎÕÜÅŃŞŽČŐàéîõüåńşžčő╔═╦╗║╬┌─┬┐│┼░▒▓█漢\x07"
    shapes: list[Shape] = []
    y = 0
    for text in (letters, others):
        for start in range(0, len(text), 42):
            shapes.append(Struck(0, y, TENTH, 0, text[start : start + 42], INK))
            y += INCH // 5
        y += INCH // 8
    kinds = (
        (TENTH, 0, "10 to the inch"),
        (TENTH, 1, "struck twice"),
        (TENTH, 2, "bold"),
        (INCH // 12, 0, "12 to the inch"),
        (INCH // 15, 0, "15 to the inch"),
        (7 * INCH // 120, 0, "condensed, 17.1 to the inch"),
        (INCH // 20, 0, "condensed, 20 to the inch"),
    )
    for pitch, weight, what in kinds:
        shapes.append(Struck(0, y, pitch, weight, f"**1,234.56 {what}", INK))
        y += SIXTH
    y += INCH // 8
    for size, bold in ((6, False), (9, False), (9, True), (14, False), (22, True)):
        shapes.append(Words(0, y, size * POINT, "The line face: Pay £1,234.56", CAPTION, bold))
        y += size * POINT * 3 // 2
    save("faces", Drawing(-INCH // 8, -INCH // 8, INCH * 9 // 2, y + INCH // 4, tuple(shapes), "", PAPER), 200)


def save(name: str, drawing: Drawing, dpi: int) -> None:
    """As a PNG in this folder."""
    (HERE / f"{name}.png").write_bytes(to_png(drawing, dpi))


def main() -> None:
    """Everything."""
    form = load((ROOT / "forms" / "payroll-us.toml").read_text("utf-8"), "payroll-us.toml")
    paid = payments()
    proof_pages(form, paid)
    languages(form, paid[0])
    details(form, paid[0])
    faces()


if __name__ == "__main__":
    main()
