"""A scanned or photographed form laid flat, at true scale, under the fields of its definition.

The four corners of the paper after bursting (where strips and perforations are torn off) are marked by their places in
the picture; what lies between them is stretched to the paper's own size. Four pairs of points fix a perspective, so a
photograph taken at a slant lies flat as well as a scan does. Nothing is measured from the result: it is for the eye.
"""

import io
import re
import warnings
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from cheque.errors import InputRefused
from cheque.form.model import Form
from cheque.picture.png import to_image
from cheque.picture.shapes import Drawing, Group, Line, Shape
from cheque.tongue import tr
from cheque.units import INCH, POINT
from cheque.workbench.show import overlay

if TYPE_CHECKING:
    from PIL.Image import Image

#: dots of a picture that is taken in, at most: a bigger one is a mistake in the scanner's settings
LARGEST = 200_000_000
Point = tuple[Fraction, Fraction]
Corners = tuple[Point, Point, Point, Point]
_PAIR = re.compile(r"(\d+(?:\.\d+)?),(\d+(?:\.\d+)?)")


def read_corners(text: str) -> Corners:
    """Four points of a picture, "x,y x,y x,y x,y" in its dots: upper left, upper right, lower right, lower left.

    ValueError when there are not four, or they do not go round in that order.
    """
    pairs = [_PAIR.fullmatch(part) for part in text.split()]
    if len(pairs) != 4 or None in pairs:
        raise ValueError(tr("{text!r}; wanted four points, as in '31,40 2571,38 2580,2140 28,2133'", text=text))
    a, b, c, d = ((Fraction(p[1]), Fraction(p[2])) for p in pairs if p)
    for one, two, three in ((a, b, c), (b, c, d), (c, d, a), (d, a, b)):
        turn = (two[0] - one[0]) * (three[1] - two[1]) - (two[1] - one[1]) * (three[0] - two[0])
        if turn <= 0:
            raise ValueError(
                tr("{text!r}; wanted upper left, upper right, lower right, lower left, in that order", text=text)
            )
    return a, b, c, d


def perspective(corners: Corners, width: int, height: int) -> tuple[Fraction, ...]:
    """The eight numbers a … h by which a point (x, y) of the flat picture is found in the slanted one, exactly:
    ((a x + b y + c) / (g x + h y + 1), (d x + e y + f) / (g x + h y + 1))."""
    flat = ((0, 0), (width, 0), (width, height), (0, height))
    rows = []
    for (x, y), (u, v) in zip(flat, corners, strict=True):
        rows.append([Fraction(n) for n in (x, y, 1, 0, 0, 0, -x * u, -y * u, u)])
        rows.append([Fraction(n) for n in (0, 0, 0, x, y, 1, -x * v, -y * v, v)])
    return _solved(rows)


def _solved(rows: list[list[Fraction]]) -> tuple[Fraction, ...]:
    """Eight linear equations, each with its right-hand side last."""
    size = len(rows)
    for column in range(size):
        best = max(range(column, size), key=lambda row: abs(rows[row][column]))
        rows[column], rows[best] = rows[best], rows[column]
        lead = rows[column][column]
        if not lead:
            raise ValueError(tr("the four corners do not make a form"))
        rows[column] = [value / lead for value in rows[column]]
        for row in range(size):
            if row != column and (by := rows[row][column]):
                rows[row] = [value - by * over for value, over in zip(rows[row], rows[column], strict=True)]
    return tuple(row[-1] for row in rows)


def load_scan(path: Path) -> "Image":
    """A picture from a file. InputRefused when it is none, or too big."""
    from PIL import Image, ImageOps

    Image.MAX_IMAGE_PIXELS = LARGEST
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(path) as image:
                return ImageOps.exif_transpose(image).convert("RGB")
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise InputRefused(
            tr("{path} has more than {largest:,} dots, more than any scan of a form.", path=path, largest=LARGEST)
        ) from None
    except OSError as error:
        raise InputRefused(
            tr("{path} is no picture that can be read: {strerror}.", path=path, strerror=error.strerror or error)
        ) from None


def flat(scan: "Image", corners: Corners, form: Form, dpi: int) -> "Image":
    """The paper of a scan, of the form's own size at `dpi` dots to the inch."""
    from PIL import Image

    width, height = -(-form.paper.width * dpi // INCH), -(-form.paper.length * dpi // INCH)
    numbers = tuple(float(number) for number in perspective(corners, width, height))
    return scan.transform(
        (width, height), Image.Transform.PERSPECTIVE, numbers, Image.Resampling.BICUBIC, fillcolor=(255, 255, 255)
    )


def traced(form: Form, scan: "Image", corners: Corners, index: int, *, dpi: int = 150, slack: bool = False) -> "Image":
    """The flat scan of one part with its fields over it, and the form's chart at its edges."""
    from PIL import ImageChops

    paper = flat(scan, corners, form, dpi)
    over = to_image(_over(form, index, slack=slack), dpi)
    return ImageChops.multiply(paper, over if over.size == paper.size else over.resize(paper.size))


def _over(form: Form, index: int, *, slack: bool) -> Drawing:
    """Everything that is laid over a scan: the places, the clear band's edge, the chart's ticks; white elsewhere."""
    shapes: list[Shape] = [Group(tuple(overlay(form, index, with_slack=slack)))]
    if form.cheque:
        band = form.cheque.clear_band
        shapes.append(Line(band.left, band.top, band.right, band.top, "#7a8fa3", POINT // 2, 2 * POINT))
    grid, tick = form.grid, INCH // 16
    for column in range(0, (form.paper.width - grid.left) // grid.pitch + 1, 5):
        x = grid.left + column * grid.pitch
        shapes.append(Line(x, 0, x, tick * (2 if column % 10 == 0 else 1), "#7a8fa3", POINT // 3))
    for line in range((form.paper.length - grid.top) // grid.spacing + 1):
        y = grid.top + line * grid.spacing
        shapes.append(Line(0, y, tick * (2 if line % 6 == 0 else 1), y, "#7a8fa3", POINT // 3))
    return Drawing(0, 0, form.paper.width, form.paper.length, tuple(shapes), form.title, "#ffffff")


def to_bytes(image: "Image", dpi: int, kind: str) -> bytes:
    """The picture as a PNG, or as a PDF page of its true size."""
    out = io.BytesIO()
    if kind == ".pdf":
        image.save(out, "PDF", resolution=dpi)
    else:
        image.save(out, "PNG", dpi=(dpi, dpi))
    return out.getvalue()
