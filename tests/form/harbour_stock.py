"""Stock that no definition describes yet: an invented cheque with its stub, as a printer of forms might have made it.

Its frames stand on no chart: they are the truth that a newcomer has only a ruler and a scanner to find. `scan` is a
photograph of its top part, a little aslant; `FRAMES` is where its fields are, in thousandths of an inch.
"""

from fractions import Fraction

from PIL import Image

from cheque.form.geometry import Area
from cheque.picture.png import to_image
from cheque.picture.shapes import Box, Drawing, Line, Shape, set_words
from cheque.units import INCH, POINT
from cheque.workbench.trace import perspective, read_corners

WIDTH, LENGTH = 8500, 5500
#: left, top, right, bottom, in thousandths of an inch from the upper left corner after bursting
FRAMES = {
    "stub.text": (530, 620, 4200, 1700),
    "stub.amount": (4200, 620, 5700, 1700),
    "stub-number": (6700, 100, 8100, 400),
    "number": (6700, 2100, 8100, 2420),
    "date": (6700, 2550, 8100, 2870),
    "amount_words": (900, 3050, 6000, 3580),
    "amount_figures": (6400, 3100, 8100, 3500),
    "payee": (900, 3700, 5200, 4050),
    "signature": (5100, 4250, 8050, 4700),
}
#: where the paper's corners are in the photograph, in its dots
CORNERS = "70,58 1352,74 1341,905 62,890"
_INK = "#7c8fb0"


def area(name: str) -> Area:
    """Where a field's frame truly is."""
    left, top, right, bottom = (units(side) for side in FRAMES[name])
    return Area(left, top, right - left, bottom - top)


def units(thousandths: int) -> int:
    """Thousandths of an inch, to the nearest unit."""
    return round(Fraction(thousandths * INCH, 1000))


def ruler(name: str) -> str:
    """A frame as somebody reads it off a ruler, to the nearest sixteenth of an inch."""
    read = []
    for side in FRAMES[name]:
        inches = Fraction(round(Fraction(side * 16, 1000)), 16)
        whole, part = divmod(inches, 1)
        read.append(f"{whole} {part} in" if whole and part else f"{part or whole} in")
    return ", ".join(read)


def blank() -> Drawing:
    """The stock's top part after bursting."""
    shapes: list[Shape] = []
    for name in ("stub.text", "stub.amount", "amount_words", "amount_figures"):
        frame = area(name)
        shapes.append(Box(frame.left, frame.top, frame.width, frame.height, "", _INK, POINT // 2))
    for text, x, y, size in (
        ("QUILLMERE BOATYARD COMPANY", 530, 120, 10),
        ("1 Slipway Lane, Quillmere, QM 00401", 530, 290, 7),
        ("FOR", 560, 480, 7),
        ("AMOUNT", 5150, 480, 7),
        ("QUILLMERE BOATYARD COMPANY", 530, 2120, 10),
        ("Tidewrack Savings Bank", 530, 2300, 8),
        ("PAY", 530, 3230, 8),
        ("DOLLARS", 5450, 3620, 7),
        ("TO THE ORDER OF", 900, 4110, 7),
        ("DATE", 6350, 2660, 7),
        ("No. 004417", 5200, 2120, 14),
        ("AUTHORIZED SIGNATURE", 5100, 4740, 6),
    ):
        shapes.append(set_words(units(x), units(y), size * POINT, text, _INK))
    shapes.append(Line(units(900), units(4050), units(5200), units(4050), _INK, POINT // 2))
    shapes.append(Line(units(5100), units(4700), units(8050), units(4700), _INK, POINT // 2))
    shapes.append(Line(0, units(2000), units(WIDTH), units(2000), _INK, POINT // 3, 3 * POINT))
    return Drawing(0, 0, units(WIDTH), units(LENGTH), tuple(shapes), "stock", "#f7f4ea")


def scan() -> Image.Image:
    """A photograph of it on a desk, its corners at CORNERS."""
    paper = to_image(blank(), 150)
    desk = Image.new("RGB", (1420, 960), (96, 84, 70))
    there = perspective(read_corners(CORNERS), paper.width, paper.height)
    aslant = paper.transform(desk.size, Image.Transform.PERSPECTIVE, _undone(there), Image.Resampling.BICUBIC)
    shape = Image.new("L", paper.size, 255)
    mask = shape.transform(desk.size, Image.Transform.PERSPECTIVE, _undone(there), Image.Resampling.BICUBIC)
    desk.paste(aslant, (0, 0), mask)
    return desk


def _undone(n: tuple[Fraction, ...]) -> tuple[float, ...]:
    """The perspective that undoes another: the inverse of its matrix, by cofactors."""
    a, b, c, d, e, f, g, h = n
    rows = (
        (e - f * h, c * h - b, b * f - c * e),
        (f * g - d, a - c * g, c * d - a * f),
        (d * h - e * g, b * g - a * h, a * e - b * d),
    )
    return tuple(float(value / rows[2][2]) for row in rows for value in row)[:8]
