"""A drawing as a PNG, straight from its shapes, with Pillow.

Everything but the struck characters is drawn four times as fine and brought down, in bands, so that a wide
picture needs no more memory than a narrow one. Struck characters are stamped over it: each shape of the dot
face is drawn once for each of the places in which it can fall between the picture's own dots.
"""

import io
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from cheque.picture.dotface import DEPTH, dots
from cheque.picture.lineface import ASCENT, BOLD, EM, REGULAR, flattened, glyph
from cheque.picture.shapes import (
    Box,
    Disc,
    Drawing,
    Fragment,
    Group,
    Line,
    Shape,
    Struck,
    Words,
    width_of,
)
from cheque.tongue import tr
from cheque.units import INCH

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageDraw import ImageDraw

#: how much finer lines are drawn, and struck dots
_FINER, _FINEST = 4, 8
#: struck ink is this much darker than its share of a dot, in hundredths: small dots stay black, not grey
_DARKER = 130
#: fine dots of one band
_BAND = 8_000_000
#: the largest picture that is drawn, in dots: a larger one is a mistake in the resolution
LARGEST = 120_000_000


class TooLarge(ValueError):
    """The picture would be larger than `LARGEST` dots."""


class _View(NamedTuple):
    """Units to dots: x * num // den + left, in dots of a picture `finer` times as fine."""

    num: int
    den: int
    left: int
    top: int

    def moved(self, group: Group) -> "_View":
        num, den = group.scale
        return _View(
            self.num * num,
            self.den * den,
            self.left + group.x * self.num // self.den,
            self.top + group.y * self.num // self.den,
        )

    def x(self, units: int) -> int:
        return units * self.num // self.den + self.left

    def y(self, units: int) -> int:
        return units * self.num // self.den + self.top

    def size(self, units: int) -> int:
        return units * self.num // self.den


def to_png(drawing: Drawing, dpi: int = 150) -> bytes:
    """The drawing as PNG bytes at `dpi` dots to the inch; the same drawing gives the same dots.

    Raises TooLarge for more than `LARGEST` dots.
    """
    image = to_image(drawing, dpi)
    out = io.BytesIO()
    image.save(out, "PNG", dpi=(dpi, dpi), optimize=False)
    return out.getvalue()


def to_image(drawing: Drawing, dpi: int) -> "Image":
    """The drawing as a Pillow image, RGB."""
    from PIL import Image

    if dpi < 1:
        raise ValueError(tr("{dpi} dots to the inch is no resolution", dpi=dpi))
    width = -(-drawing.width * dpi // INCH)
    height = -(-drawing.height * dpi // INCH)
    if width * height > LARGEST:
        raise TooLarge(
            tr(
                "the picture would be {width} by {height} dots; choose fewer dots to the inch",
                width=width,
                height=height,
            )
        )
    image = Image.new("RGB", (width, height))
    scale = dpi * _FINER
    view = _View(scale, INCH, -drawing.left * scale // INCH, -drawing.top * scale // INCH)
    rows = max(16, _BAND // (width * _FINER) // _FINER)
    for top in range(0, height, rows):
        deep = min(rows, height - top)
        band = _band(drawing, view._replace(top=view.top - top * _FINER), width, deep)
        image.paste(band, (0, top))
    scale = dpi * _FINEST
    view = _View(scale, INCH, -drawing.left * scale // INCH, -drawing.top * scale // INCH)
    _strike(image, drawing.shapes, view)
    return image


def _band(drawing: Drawing, view: _View, width: int, height: int) -> "Image":
    from PIL import Image, ImageDraw

    fine = Image.new("RGB", (width * _FINER, height * _FINER), drawing.background or "#ffffff")
    _draw(ImageDraw.Draw(fine), drawing.shapes, view, height * _FINER)
    return fine.reduce(_FINER)


def _draw(pen: "ImageDraw", shapes: tuple[Shape, ...], view: _View, height: int) -> None:
    for shape in shapes:
        if isinstance(shape, Group):
            _draw(pen, shape.shapes, view.moved(shape), height)
        elif isinstance(shape, Box):
            if view.y(shape.y) <= height and view.y(shape.y + shape.height) >= 0:
                _box(pen, shape, view)
        elif isinstance(shape, Line):
            _line(pen, shape, view)
        elif isinstance(shape, Disc):
            _disc(pen, shape, view)
        elif isinstance(shape, Words):
            top = view.y(shape.y)
            if top <= height and top + 2 * view.size(shape.size) >= 0:
                _words(pen, shape, view)


def _box(pen: "ImageDraw", box: Box, view: _View) -> None:
    left, top = view.x(box.x), view.y(box.y)
    right, bottom = view.x(box.x + box.width), view.y(box.y + box.height)
    if box.fill:
        pen.rectangle((left, top, max(left, right - 1), max(top, bottom - 1)), fill=box.fill)
    if box.line:
        half = _stroke(box.thickness, view) // 2
        wide = 2 * half + 1
        corners = (left - half, top - half, right + half, bottom + half)
        pen.rectangle(corners, outline=box.line, width=wide)


def _stroke(thickness: int, view: _View) -> int:
    return max(2, view.size(thickness))


def _line(pen: "ImageDraw", line: Line, view: _View) -> None:
    wide = _stroke(line.thickness, view)
    dash = max(_FINER, view.size(line.dash)) if line.dash else 0
    x1, y1, x2, y2 = view.x(line.x1), view.y(line.y1), view.x(line.x2), view.y(line.y2)
    long = max(abs(x2 - x1), abs(y2 - y1))
    if not dash or not long:
        pen.line((x1, y1, x2, y2), fill=line.colour, width=wide)
        return
    for start in range(0, long, 2 * dash):
        stop = min(start + dash, long)
        ends = [(x1 + (x2 - x1) * at // long, y1 + (y2 - y1) * at // long) for at in (start, stop)]
        pen.line(ends, fill=line.colour, width=wide)


def _disc(pen: "ImageDraw", disc: Disc, view: _View) -> None:
    x, y, radius = view.x(disc.x), view.y(disc.y), view.size(disc.radius)
    edge = _stroke(disc.thickness, view) if disc.line else 0
    pen.ellipse((x - radius, y - radius, x + radius, y + radius), disc.fill, disc.line or None, edge)


def _words(pen: "ImageDraw", words: Words, view: _View) -> None:
    natural = width_of(words.text, words.size)
    wide = min(natural, words.room) if words.room else natural
    squeeze = (wide, natural) if wide < natural else (1, 1)
    stroke = max(2, view.size(words.size * (BOLD if words.bold else REGULAR) // EM))
    x, line = words.x, words.y + ASCENT * words.size // EM

    def place(point: tuple[int, int]) -> tuple[int, int]:
        right = point[0] * words.size * squeeze[0] // (EM * squeeze[1])
        return view.x(x + right), view.y(line - point[1] * words.size // EM)

    half = stroke / 2
    for char in words.text:
        shape = glyph(char)
        for chain in flattened(shape.strokes, 6):
            points = [place(point) for point in chain]
            pen.line(points, fill=words.colour, width=stroke, joint="curve")
            for px, py in (points[0], points[-1]):
                pen.ellipse((px - half, py - half, px + half, py + half), fill=words.colour)
        for point in shape.dots:
            px, py = place(point)
            pen.ellipse((px - half, py - half, px + half, py + half), fill=words.colour)
        x += shape.advance * words.size * squeeze[0] // (EM * squeeze[1])


def _strike(image: "Image", shapes: tuple[Shape, ...], view: _View) -> None:
    for shape in shapes:
        if isinstance(shape, Group):
            _strike(image, shape.shapes, view.moved(shape))
        elif isinstance(shape, Struck):
            _stamp_run(image, shape, view)
        elif isinstance(shape, Fragment):
            _stamp_fragment(image, shape, view)


def _stamp_run(image: "Image", run: Struck, view: _View) -> None:
    y = view.y(run.y)
    for place, char in enumerate(run.text):
        if char != " ":
            x = view.x(run.x + place * run.pitch)
            phase = (x % _FINEST, y % _FINEST)
            mask, margin = _mask(char, run.pitch, run.weight, view.num, view.den, phase)
            image.paste(run.colour, (x // _FINEST - margin, y // _FINEST - margin), mask)


def _stamp_fragment(image: "Image", piece: Fragment, view: _View) -> None:
    from PIL import Image, ImageDraw

    radius = view.size(piece.radius)
    for x, y in piece.centres:
        fine_x, fine_y = view.x(x), view.y(y)
        box = 2 * (radius // _FINEST + 2)
        mask = Image.new("L", (box * _FINEST, box * _FINEST))
        left, top = fine_x // _FINEST - box // 2, fine_y // _FINEST - box // 2
        _dot(ImageDraw.Draw(mask), fine_x - left * _FINEST, fine_y - top * _FINEST, radius)
        image.paste(piece.colour, (left, top), _ink(mask))


@lru_cache(maxsize=4096)
def _mask(char: str, pitch: int, weight: int, num: int, den: int, phase: tuple[int, int]) -> tuple["Image", int]:
    """One character's ink as a mask, drawn at a place between dots; and its margin, in dots."""
    from PIL import Image, ImageDraw

    centres, radius = dots(char, pitch, weight)
    margin = 1
    wide = -(-pitch * num // (den * _FINEST)) + 2 * margin + 2
    deep = -(-(DEPTH + radius) * num // (den * _FINEST)) + 2 * margin + 2
    mask = Image.new("L", (wide * _FINEST, deep * _FINEST))
    pen = ImageDraw.Draw(mask)
    for x, y in centres:
        fine_x = x * num // den + phase[0] + margin * _FINEST
        fine_y = y * num // den + phase[1] + margin * _FINEST
        _dot(pen, fine_x, fine_y, radius * num // den)
    return _ink(mask), margin


def _ink(fine: "Image") -> "Image":
    return fine.reduce(_FINEST).point([min(255, value * _DARKER // 100) for value in range(256)])


def _dot(pen: "ImageDraw", x: int, y: int, radius: int) -> None:
    pen.ellipse((x - radius, y - radius, x + radius, y + radius), fill=255)
