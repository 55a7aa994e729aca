"""A whole batch as one PDF: a page of totals with the proof code, every payee beside the amount, then each form.

The pages are made to be printed on A4 or letter and read: the top part large, the other parts under it. A page
is written as soon as its form is given, and forgotten.
"""

from collections.abc import Iterable, Sequence
from fractions import Fraction
from functools import lru_cache
from typing import BinaryIO, NamedTuple

from cheque.form.model import Form
from cheque.page import Mark, Shift
from cheque.picture.drawing import below, draw_form, part_caption
from cheque.picture.pdf import PAPERS, PdfPages
from cheque.picture.shapes import (
    CAPTION,
    EDGE,
    INK,
    OFF_PAPER,
    QUIET,
    SHADE,
    Box,
    Drawing,
    Group,
    Line,
    Shape,
    Words,
    set_words,
    width_of,
)
from cheque.picture.sheet import blank_sheet
from cheque.picture.strike import land
from cheque.tongue import mark, tr
from cheque.units import INCH, POINT

_EDGE = INCH // 2
_GAP = INCH // 5
_CAPTION = 11 * POINT
_HEAD = 26 * POINT

#: what a proof is looked at for, in the order of what goes wrong most
LOOK_AT = (
    mark("Each payee and amount against payroll's own list: two amounts exchanged agree with every total."),
    mark("The words against the figures on each cheque, and no open space in either."),
    mark("The print inside its frames and clear of the rules, on the first form and the last."),
    mark("Each part: what it must show is there, and what it must not show is not."),
)


class Totals(NamedTuple):
    """What the opening page says, all of it as it is to be read.

    pairs: for each payment in register order its payee and amount, and perhaps remarks ("new payee"). alone: when not
    all of the batch is drawn, what is; the code, which prints all of it, is then not shown.
    """

    batch: str
    account: str
    form: str
    stock: str
    item_count: int
    control_total: str
    hash_total: str
    proof_code: str
    pairs: Sequence[tuple[str, ...]]
    alone: str = ""

    @property
    def promise(self) -> str:
        """What the document is worth, in a sentence."""
        if self.alone:
            return tr(
                "{alone} alone is drawn here: this is not the proof to approve, and bears no code.", alone=self.alone
            )
        return tr("Nothing is printed but what this proof shows.")


class ProofBook:
    """A proof growing in `out`: the opening pages at once, then a page for each `add`; `close` completes it.

    paper: "a4" or "letter". frames: outline every place that can be struck. `out` is written forwards only, and
    stays open; who may read it is the caller's affair.
    """

    def __init__(self, out: BinaryIO, form: Form, totals: Totals, *, paper: str = "a4", frames: bool = False) -> None:
        self._form, self._totals, self._frames = form, totals, frames
        self._size = PAPERS[paper]
        self._pages = PdfPages(out, tr("Proof of {batch}", batch=totals.batch))
        self._forms = 0
        self._still = _still_shapes(form, self._size, frames)
        for page in opening(totals, self._size):
            self._pages.page(page)

    def add(self, marks: Iterable[Mark], heading: str, *, shift: Shift | None = None) -> None:
        """A page for one struck form: `marks` as decoded, the shift they carry, and what stands over it."""
        self._pages.page(self.page(marks, heading, shift=shift))
        self._forms += 1

    def page(self, marks: Iterable[Mark], heading: str, *, shift: Shift | None = None) -> Drawing:
        """The page that `add` would write now, as a drawing."""
        marks = tuple(marks)
        right, top = self._size[0] - _EDGE, _EDGE - POINT * 12
        corner = tr(
            "{proof_code} · form {forms}",
            proof_code="" if self._totals.alone else self._totals.proof_code,
            forms=self._forms + 1,
        )
        shapes: list[Shape] = [
            Words(_EDGE, top, 10 * POINT, heading, CAPTION, True, self._size[0] - 3 * INCH),
            set_words(right, top, 10 * POINT, corner, QUIET, align="right"),
        ]
        struck = [land(self._form, marks, index, shift) for index in range(len(self._form.parts))]
        if struck[0].off:
            shapes.append(self._with_room(marks, shift))
        else:
            shapes += self._still
            for landing, (x, y, scale) in zip(struck, layout(self._form, self._size), strict=True):
                shapes.append(Group(landing.shapes, x, y, scale))
        return Drawing(0, 0, *self._size, tuple(shapes), heading, "")

    def _with_room(self, marks: tuple[Mark, ...], shift: Shift | None) -> Group:
        """Something is off the paper: all parts under each other, small enough to show where it stands."""
        parts = [
            draw_form(self._form, marks, part_index=index, frames=self._frames, shift=shift)
            for index in range(len(self._form.parts))
        ]
        whole = below(parts)
        scale = min(
            Fraction(1),
            Fraction(self._size[0] - 2 * _EDGE, whole.width),
            Fraction(self._size[1] - 2 * _EDGE - _HEAD, whole.height),
        )
        x, y = _EDGE - int(whole.left * scale), _EDGE + _HEAD - int(whole.top * scale)
        return Group(whole.shapes, x, y, (scale.numerator, scale.denominator))

    def close(self) -> None:
        """Write the end of the file."""
        self._pages.finish()


@lru_cache(maxsize=32)
def layout(form: Form, size: tuple[int, int]) -> tuple[tuple[int, int, tuple[int, int]], ...]:
    """For each part its place on a page and its scale: x and y of the form's corner after bursting.

    Either all parts under each other at one scale, or the top part as wide as the page and the others in a row
    or two under it: whichever shows more, the top part counting double.
    """
    width, height = size[0] - 2 * _EDGE, size[1] - 2 * _EDGE - _HEAD
    wide, deep = form.paper.width + 2 * form.paper.strip, form.paper.length
    count = len(form.parts)
    ways: list[tuple[Fraction, int, Fraction, Fraction]] = []
    for across in range(1, count + 1):
        rows = -(-(count - 1) // across)
        captions = (1 + rows) * _CAPTION + rows * _GAP
        small = min(Fraction(1), Fraction(width - (across - 1) * _GAP, across * wide))
        room = height - captions
        large = min(Fraction(1), Fraction(width, wide), (room - rows * small * deep) / deep)
        if across == 1 or large < small:  # all alike
            large = small = min(Fraction(1), Fraction(width, wide), Fraction(room, (1 + rows) * deep))
        ways.append((2 * large + small, across, large, small))
    _, across, large, small = max(ways, key=lambda way: way[0])
    return tuple(_placed(index, across, large, small, form) for index in range(count))


def _placed(index: int, across: int, large: Fraction, small: Fraction, form: Form) -> tuple[int, int, tuple[int, int]]:
    row, column = divmod(index - 1, across) if index else (0, 0)
    scale = small if index else large
    y = _EDGE + _HEAD + _CAPTION
    x = _EDGE
    if index:
        wide = (form.paper.width + 2 * form.paper.strip) * small
        y += int(form.paper.length * large) + _GAP + _CAPTION
        y += row * (int(form.paper.length * small) + _GAP + _CAPTION)
        x += column * (int(wide) + _GAP)
    return x + int(form.paper.strip * scale), y, (scale.numerator, scale.denominator)


def _still_shapes(form: Form, size: tuple[int, int], frames: bool) -> tuple[Shape, ...]:
    """What every form's page shows before anything is struck: sheets, captions, the name of the form."""
    shapes: list[Shape] = []
    for index, (x, y, scale) in enumerate(layout(form, size)):
        strip = form.paper.strip * scale[0] // scale[1]
        room = (form.paper.width + 2 * form.paper.strip) * scale[0] // scale[1]
        caption = part_caption(form, index)
        shapes.append(Words(x - strip, y - _CAPTION, 8 * POINT, caption, CAPTION, False, room))
        shapes.append(blank_sheet(form, index, frames)._replace(x=x, y=y, scale=scale))
    foot = tr("{title} · drawn from the bytes that go to the printer", title=form.title)
    shapes.append(Words(_EDGE, size[1] - _EDGE + POINT * 6, 7 * POINT, foot, QUIET, False, size[0] - 2 * _EDGE))
    return tuple(shapes)


# ---------------------------------------------------------------- the opening pages


_ROW = 15 * POINT
_LIST = 9 * POINT


def opening(totals: Totals, size: tuple[int, int]) -> Iterable[Drawing]:
    """The page of totals, with the first of the pairs, and as many more pages as the pairs need."""
    shapes, y = _front(totals, size)
    done = 0
    while True:
        rows = (size[1] - _EDGE - y) // _ROW
        shapes += _pairs(totals.pairs[done : done + 2 * rows], done, rows, y, size)
        yield Drawing(0, 0, *size, tuple(shapes), tr("Proof of {batch}", batch=totals.batch), "")
        done += 2 * rows
        if done >= len(totals.pairs):
            return
        heading = tr("Proof of {batch} · payee and amount, continued", batch=totals.batch)
        shapes = [Words(_EDGE, _EDGE - POINT * 6, 10 * POINT, heading, CAPTION, True, size[0] - 2 * _EDGE)]
        y = _EDGE + POINT * 18


def _front(totals: Totals, size: tuple[int, int]) -> tuple[list[Shape], int]:
    right = size[0] - _EDGE
    y = _EDGE
    shapes: list[Shape] = [
        Words(
            _EDGE,
            y + 2 * POINT,
            19 * POINT,
            tr("Proof of {batch}", batch=totals.batch),
            INK,
            True,
            right - _EDGE - 3 * INCH,
        ),
        Words(_EDGE, y + 30 * POINT, 10 * POINT, totals.promise, QUIET),
    ]
    card = (right - INCH * 11 // 4, y, INCH * 11 // 4, 52 * POINT)
    middle = card[0] + card[2] // 2
    shapes += (
        []
        if totals.alone
        else [
            Box(*card, SHADE, EDGE, POINT // 2),
            set_words(middle, y + 5 * POINT, 7 * POINT, tr("PROOF CODE"), CAPTION, align="centre"),
            set_words(
                middle,
                y + 15 * POINT,
                28 * POINT,
                totals.proof_code,
                INK,
                align="centre",
                bold=True,
                room=card[2] - _GAP,
            ),
        ]
    )
    y += 72 * POINT
    rows = (
        (tr("Item count"), str(totals.item_count)),
        (tr("Control total"), totals.control_total),
        (tr("Hash total"), totals.hash_total or tr("none")),
        (tr("Account"), totals.account),
        (tr("Form"), totals.form),
        (tr("Stock"), totals.stock),
    )
    aside = (64 if max(len(name) for name, _ in rows) <= 14 else 100) * POINT  # other languages' names are longer
    for number, (name, value) in enumerate(rows):
        column, row = divmod(number, 3)
        x, top = _EDGE + column * (right - _EDGE) // 2, y + row * 20 * POINT
        shapes.append(Words(x, top + POINT, 8 * POINT, name, QUIET, room=aside - 4 * POINT))
        room = (right - _EDGE) // 2 - aside
        shapes.append(_fitting(x + aside, top - POINT, 11 * POINT, value, room, bold=column == 0))
    y += 68 * POINT
    shapes.append(Line(_EDGE, y, right, y, EDGE, POINT // 2))
    y += 8 * POINT
    shapes.append(Words(_EDGE, y, 9 * POINT, tr("What to look at"), CAPTION, True))
    for number, sentence in enumerate(map(tr, LOOK_AT), 1):
        y += 14 * POINT
        shapes.append(Words(_EDGE, y, 9 * POINT, f"{number}.", QUIET))
        shapes.append(Words(_EDGE + 14 * POINT, y, 9 * POINT, sentence, CAPTION, False, right - _EDGE - 14 * POINT))
    y += 26 * POINT
    shapes.append(Words(_EDGE, y, 9 * POINT, tr("Payee and amount, in the register's order"), CAPTION, True))
    return shapes, y + 18 * POINT


def _pairs(pairs: Sequence[tuple[str, ...]], done: int, rows: int, y: int, size: tuple[int, int]) -> list[Shape]:
    """Numbered payees with their amounts: one wide column, or two, down the first, then the second."""
    shapes: list[Shape] = []
    alone = done == 0 and len(pairs) <= rows
    width = (size[0] - 2 * _EDGE) * 2 // 3 if alone else (size[0] - 2 * _EDGE - 2 * _GAP) // 2
    for place, (payee, amount, *remark) in enumerate(pairs):
        column, row = divmod(place, rows)
        left, top = _EDGE + column * (width + 2 * _GAP), y + row * _ROW
        right = left + width
        if row % 2 == 0:
            shapes.append(Box(left - 3 * POINT, top - 3 * POINT, width + 6 * POINT, _ROW, SHADE))
        shapes.append(set_words(left + 20 * POINT, top, _LIST, str(done + place + 1), QUIET, align="right"))
        ends = [set_words(right, top, _LIST, amount, INK, align="right", room=width * 2 // 5)]
        if any(remark):
            end, said = ends[0].x - 8 * POINT, ", ".join(filter(None, remark))
            ends.append(set_words(end, top, _LIST, said, OFF_PAPER, align="right", room=(end - left) // 2))
        shapes.append(_fitting(left + 26 * POINT, top, _LIST, payee, ends[-1].x - left - 34 * POINT))
        shapes += reversed(ends)
    return shapes


def _fitting(x: int, y: int, size: int, text: str, room: int, *, bold: bool = False) -> Words:
    """Words in the room there is: long ones in smaller type before they are set narrower."""
    smaller = size * 3 // 4 if width_of(text, size) * 5 > room * 6 else size
    return Words(x, y + (size - smaller) * 3 // 4, smaller, text, INK, bold, room)
