"""The fields that need more than a text in its place: the amount, the payee closed, an address.

Each function is given a field once and returns the step that is done for every payment.
"""

from cheque import wording
from cheque.fill import FillError, closed
from cheque.form.model import Field, Form
from cheque.layout.cells import Cell, Put, Step, cell_of, cells_of
from cheque.layout.shapes import Drawer, Misfit, too_long
from cheque.layout.values import dress
from cheque.page import Mark
from cheque.payment import Payment
from cheque.tongue import tr

_new = tuple.__new__  # a Mark without the cost of its own constructor
#: struck where an advice on a cheque's stock could otherwise be paid
VOID = "VOID"


def name_step(field: Field, cell: Cell) -> Step:
    """The payee's name, every open column of its line closed."""
    x, y, pitch, weight, width, _, name = cell
    align, fill = field.align, field.fill
    dressed = bool(field.prefix or field.suffix or field.case != "as-is")

    def step(payment: Payment, put: Put, amiss: list[Misfit]) -> None:
        text = dress(payment.payee, field) if dressed else payment.payee
        try:
            put(_new(Mark, (x, y, pitch, weight, closed(text, width, align, fill))))
        except FillError as error:
            amiss.append(_unclosed(name, text, width, error))

    return step


def names_step(field: Field, cells: tuple[Cell, ...]) -> Step:
    """The payee's name on two lines, broken at a blank."""

    def step(payment: Payment, put: Put, amiss: list[Misfit]) -> None:
        _put_words(field, cells, (payment.payee,), put, amiss)

    return step


def amount_step(form: Form, words: Field | None, figures: Field | None, drawer: Drawer) -> Step:
    """The legal amount on its line or lines and the convenience amount, from one proven wording."""
    currency, locale, substitute = drawer.currency, drawer.locale, drawer.substitute
    word = wording.word
    lines = cells_of(form, words) if words else ()
    place = cell_of(form, figures) if figures else None

    def step(payment: Payment, put: Put, amiss: list[Misfit]) -> None:
        try:
            said = word(payment.amount, currency, locale, substitute=substitute)
        except wording.WordingError as error:
            name = (words or figures or _NO_FIELD).name
            amiss.append(Misfit(name, str(error), tr("an amount that can be worded"), tr("pay it in another way")))
            return
        if words:
            _put_words(words, lines, (said.legal, *said.shorter), put, amiss)
        if figures and place:
            _put_closed(figures, place, dress(said.figures, figures), put, amiss)

    return step


_NO_FIELD = Field("amount", "amount_words", 1, 1, 1)


def advice_step(form: Form, words: Field | None, figures: Field | None, *, void: bool) -> Step:
    """What stands in place of the amount when the form cannot be paid: the country's wording, and no figures.

    `void`: the stock is a cheque's, and VOID stands where the figures would.
    """
    marks: list[Mark] = []
    amiss_of_form: list[Misfit] = []
    if words:
        _put_words(words, cells_of(form, words), (form.advice,), marks.append, amiss_of_form)
    if figures:
        room = cell_of(form, figures)
        text = VOID if void and room.width >= len(VOID) else ""
        _put_closed(figures, room, text, marks.append, amiss_of_form)

    def step(payment: Payment, put: Put, amiss: list[Misfit]) -> None:
        for mark in marks:
            put(mark)
        amiss += amiss_of_form

    return step


def _put_words(field: Field, cells: tuple[Cell, ...], texts: tuple[str, ...], put: Put, amiss: list[Misfit]) -> None:
    """The first of the texts that fits the lines; each line closed, an empty one wholly."""
    widths = [cell.width for cell in cells]
    for text in texts:
        broken = wording.break_lines(dress(text, field), widths)
        if broken is not None:
            for cell, line in zip(cells, broken, strict=True):
                _put_closed(field, cell, line, put, amiss)
            return
    shortest = dress(min(texts, key=len), field)
    amiss.append(too_long(field.name, shortest, field.width, field.lines))


def _put_closed(field: Field, cell: Cell, text: str, put: Put, amiss: list[Misfit]) -> None:
    try:
        full = closed(text, cell[4], field.align, field.fill)
    except FillError as error:
        amiss.append(_unclosed(cell.name, text, cell.width, error))
        return
    if not full.isspace():
        put(_new(Mark, (*cell[:4], full)))


def _unclosed(name: str, text: str, width: int, error: FillError) -> Misfit:
    if len(text) > width:
        return too_long(name, text, width)
    return Misfit(name, str(error), tr("a text that can be closed"), tr("correct it at the source"))


def address_step(form: Form, field: Field) -> Step:
    """The payee's address."""
    cells = cells_of(form, field)

    def step(payment: Payment, put: Put, amiss: list[Misfit]) -> None:
        put_block(field, cells, payment.address, put, amiss)

    return step


def put_block(field: Field, cells: tuple[Cell, ...], lines: tuple[str, ...], put: Put, amiss: list[Misfit]) -> None:
    """A line for each line of an address; on a field of one line, all of them joined by commas."""
    if len(cells) == 1 and len(lines) > 1:
        lines = (", ".join(lines),)
    elif len(lines) > len(cells):
        found = tr("{count} lines: {lines}", count=len(lines), lines=", ".join(lines))
        do = tr("join two of them, or use another form")
        amiss.append(Misfit(field.name, found, tr("at most {count} lines", count=len(cells)), do))
        return
    for cell, line in zip(cells, lines, strict=False):
        text = dress(line, field)
        if len(text) > field.width:
            amiss.append(too_long(field.name, text, field.width))
        elif text:
            put(cell.mark(text))
