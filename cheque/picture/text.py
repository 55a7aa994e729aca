"""A struck part as plain text: the lines numbered, the columns counted, the sheet outlined.

Every character stands at its line and column; two that are struck in the same place stand on two rows of the
same line number. Characters of a finer pitch than the form's make the columns finer, and each word then starts
at its own place. `░` takes no image; `▒` is a character that an edge cuts; nothing struck is left out.
"""

import unicodedata
from collections.abc import Iterable
from typing import NamedTuple

from cheque.form.model import Form
from cheque.page import Mark, Shift
from cheque.picture.drawing import part_caption
from cheque.picture.shapes import Fragment, Struck
from cheque.picture.strike import land
from cheque.tongue import tr

#: how many columns and lines beyond the paper a character is still drawn at its place
BEYOND = 12
_CUT, _NO_IMAGE, _UNPRINTABLE = "▒", "░", "\ufffd"
_LABEL = 4


class _Chart(NamedTuple):
    """From places on the paper to rows and columns, counted from 0 at the form's line 1, column 1."""

    left: int
    top: int
    column: int
    line: int

    def at(self, x: int, y: int) -> tuple[int, int]:
        return (y - self.top) // self.line, (x - self.left) // self.column


class _Word(NamedTuple):
    row: int
    column: int
    text: str


def to_text(
    form: Form, marks: Iterable[Mark], part_index: int, *, shift: Shift | None = None, outlined: bool = True
) -> str:
    """One part of one struck form as text, ending with a line feed. The shift is taken back, as in `draw_form`.

    Not `outlined`: only what is struck, each at its place from the first column that anything is struck in.
    """
    marks = tuple(marks)
    landing = land(form, marks, part_index, shift)
    finest = min([form.grid.pitch, *(mark.pitch for mark in marks)])
    chart = _Chart(form.grid.left, form.grid.top, finest, form.grid.spacing)
    words, cut = [], False
    for shape in landing.shapes:
        if isinstance(shape, Struck):
            words += _words(chart, shape)
        elif isinstance(shape, Fragment):
            x, y = min(x for x, _ in shape.centres), min(y for _, y in shape.centres)
            words.append(_Word(*chart.at(x, y), _CUT))
            cut = True
    sheet = _Sheet(form, part_index, chart)
    near = [word for word in words if sheet.near(word)]
    lines = [part_caption(form, part_index), *(sheet.rows(near) if outlined else sheet.bare_rows(near))]
    if cut:
        lines.append(tr("{cut} a character that an edge cuts", cut=_CUT))
    if landing.off:
        lines.append(tr("OFF THE FORM: {off} of the characters struck", off=landing.off))
    far = [word for word in words if not sheet.near(word)]
    lines += [
        tr(
            "far off the form, line {row}, column {column}: {text}",
            row=word.row + 1,
            column=word.column + 1,
            text=word.text,
        )
        for word in far
    ]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _words(chart: _Chart, run: Struck) -> list[_Word]:
    found = []
    start = 0
    for piece in run.text.split(" "):
        if piece:
            shown = "".join(_UNPRINTABLE if unicodedata.category(char)[0] == "C" else char for char in piece)
            found.append(_Word(*chart.at(run.x + start * run.pitch, run.y), shown))
        start += len(piece) + 1
    return found


class _Sheet:
    """The outline of one part on the chart, and the rows in it."""

    def __init__(self, form: Form, part_index: int, chart: _Chart) -> None:
        part = form.parts[part_index]
        area = form.part_area(part)
        self.chart = chart
        self.first, self.left = chart.at(area.left, area.top)
        self.end, self.right = chart.at(area.right - 1, area.bottom - 1)
        self.end, self.right = self.end + 1, self.right + 1
        self.perforated = {chart.at(0, y + chart.line - 1)[0] for y in form.paper.perforations}
        self.empty = part.blocked
        _, self.paper_left = chart.at(0, 0)
        self.paper_right = chart.at(form.paper.width - 1, 0)[1] + 1

    def near(self, word: _Word) -> bool:
        """Whether a word is close enough to be drawn at its place."""
        level = self.first - BEYOND <= word.row < self.end + BEYOND
        return (
            level
            and word.column >= self.paper_left - BEYOND
            and word.column + len(word.text) <= self.paper_right + BEYOND
        )

    def rows(self, words: list[_Word]) -> list[str]:
        """Ruler, edges, and every line of the form with what is struck on it."""
        layers: dict[int, list[dict[int, str]]] = {}
        for word in words:
            _lay(layers.setdefault(word.row, [{}]), word)
        leftmost = min([self.left - 1, *(word.column for word in words)])
        out = self._ruler(leftmost)
        first = min([self.first, *layers])
        end = max([self.end, *(row + 1 for row in layers)])
        for row in range(first, end + 1):
            if row in (self.first, self.end):
                out.append(" " * (_LABEL + self.left - 1 - leftmost) + "+" + "-" * (self.right - self.left) + "+")
            elif row in self.perforated:
                dashes = ("- " * self.right)[: self.right - self.left]
                out.append(" " * (_LABEL + self.left - 1 - leftmost) + ":" + dashes + ":")
            if row < end:
                out += self._line(row, leftmost, layers.get(row, [{}]))
        return out

    def bare_rows(self, words: list[_Word]) -> list[str]:
        """Every line of the form with what is struck on it, and nothing else."""
        layers: dict[int, list[dict[int, str]]] = {}
        for word in words:
            _lay(layers.setdefault(word.row, [{}]), word)
        left = min((word.column for word in words), default=0)
        return [
            "".join(layer.get(column, " ") for column in range(left, max(layer, default=left) + 1))
            for row in range(min([self.first, *layers]), max([self.end, *(row + 1 for row in layers)]))
            for layer in layers.get(row, [{}])
        ]

    def _ruler(self, leftmost: int) -> list[str]:
        tens, units = "", ""
        for column in range(leftmost, self.right):
            number = column + 1
            tens += str(number // 10)[-1] if number > 0 and number % 10 == 0 else " "
            units += "|" if number > 0 and number % 10 == 0 else "." if number > 0 else " "
        return [" " * _LABEL + tens, " " * _LABEL + units]

    def _line(self, row: int, leftmost: int, layers: list[dict[int, str]]) -> list[str]:
        out = []
        inside = self.first <= row < self.end
        for number, layer in enumerate(layers):
            text = []
            for column in range(leftmost, max([self.right, *layer]) + 1):
                blank = " "
                if inside and column in (self.left - 1, self.right):
                    blank = "|"
                elif inside and self.left <= column < self.right and self._takes_no_image(row, column):
                    blank = _NO_IMAGE
                text.append(layer.get(column, blank))
            label = f"{row + 1:3d}" if number == 0 else "  +"
            out.append(label + " " + "".join(text))
        return out

    def _takes_no_image(self, row: int, column: int) -> bool:
        x = self.chart.left + column * self.chart.column + self.chart.column // 2
        y = self.chart.top + row * self.chart.line + self.chart.line // 2
        return any(area.left <= x < area.right and area.top <= y < area.bottom for area in self.empty)


def _lay(layers: list[dict[int, str]], word: _Word) -> None:
    """Put a word on the first row of its line where its places are free."""
    places = range(word.column, word.column + len(word.text))
    for layer in layers:
        if not any(place in layer for place in places):
            break
    else:
        layer = {}
        layers.append(layer)
    layer.update(zip(places, word.text, strict=True))
