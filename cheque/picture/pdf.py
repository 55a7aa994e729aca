"""Drawings as PDF pages. Struck characters are text in a font of dots: they can be selected and read back.

A page is written and forgotten; a sheet that many pages show is written once. What the file needs at its end
(fonts, resources, the tree of pages) is a few bytes a page.
"""

import io
from array import array
from collections.abc import Iterable
from functools import lru_cache
from typing import BinaryIO

from cheque.picture.dotface import ROW
from cheque.picture.pdffile import PdfFile, text_string
from cheque.picture.pdffonts import Font, baseline, dot_font, line_font
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
    points,
    width_of,
)
from cheque.units import INCH, MILLIMETRE, POINT

#: paper to print a proof on: width and height in units (A4, ISO 216; letter, ANSI Y14.1)
PAPERS = {"a4": (210 * MILLIMETRE, 297 * MILLIMETRE), "letter": (INCH * 17 // 2, 11 * INCH)}
_EDGE = INCH * 3 // 8
_KAPPA = 5523  # in 10,000


def to_pdf(drawings: Iterable[Drawing], *, title: str = "", paper: str = "") -> bytes:
    """Each drawing as a page: of the drawing's own size, or made to fit a sheet of `paper` ("a4", "letter")."""
    out = io.BytesIO()
    pages = PdfPages(out, title)
    for drawing in drawings:
        pages.page(fitted(drawing, paper) if paper else drawing)
    pages.finish()
    return out.getvalue()


def fitted(drawing: Drawing, paper: str) -> Drawing:
    """The drawing made smaller, never larger, to stand on a sheet of paper, turned if it is wider than high."""
    width, height = PAPERS[paper]
    if drawing.width > drawing.height:
        width, height = height, width
    room = (width - 2 * _EDGE, height - 2 * _EDGE)
    scale = min((room[0], drawing.width), (room[1], drawing.height), (1, 1), key=lambda pair: pair[0] / pair[1])
    num, den = scale
    x = (width - drawing.width * num // den) // 2 - drawing.left * num // den
    y = _EDGE - drawing.top * num // den
    group = Group(drawing.shapes, x, y, scale)
    return Drawing(0, 0, width, height, (group,), drawing.title, "")


class PdfPages:
    """A PDF growing page by page in `out`. `finish` completes it; `out` stays open."""

    def __init__(self, out: BinaryIO, title: str = "") -> None:
        self.file = PdfFile(out)
        self._title = title
        self._tree, self._resources = self.file.number(), self.file.number()
        self._pages = array("Q")
        self._fonts: dict[tuple[int, int, bool], Font] = {}
        self._sheets: dict[int, tuple[str, int, tuple[Shape, ...]]] = {}

    def page(self, drawing: Drawing) -> None:
        """Write one drawing as a page of its own size."""
        left, top, width, height = drawing[:4]
        content = _Content(self, f"1 0 0 1 {points(-left)} {points(top + height)} cm")
        if drawing.background:
            content.shape(Box(left, top, width, height, drawing.background))
        for shape in drawing.shapes:
            content.shape(shape)
        stream = self.file.stream(content.data())
        page = f"/MediaBox[0 0 {points(width)} {points(height)}]/Resources {self._resources} 0 R/Contents {stream} 0 R"
        self._pages.append(self.file.add(f"<</Type/Page/Parent {self._tree} 0 R{page}>>".encode("ascii")))

    def finish(self) -> None:
        """Write what stands at the end."""
        fonts: dict[str, int] = {}
        for font in self._fonts.values():
            fonts |= font.write(self.file)
        named = "".join(f"/{name} {number} 0 R" for name, number in fonts.items())
        sheets = "".join(f"/{name} {number} 0 R" for name, number, _ in self._sheets.values())
        resources = f"<</Font<<{named}>>/XObject<<{sheets}>>>>"
        self.file.add(resources.encode("ascii"), self._resources)
        kids = b" ".join(b"%d 0 R" % page for page in self._pages)
        self.file.add(b"<</Type/Pages/Count %d/Kids[%b]>>" % (len(self._pages), kids), self._tree)
        root = self.file.add(b"<</Type/Catalog/Pages %d 0 R/ViewerPreferences<</DisplayDocTitle true>>>>" % self._tree)
        info = self.file.add(b"<</Title %b>>" % text_string(self._title))
        self.file.finish(root, info)

    def dots(self, pitch: int, weight: int) -> Font:
        """The font of dots for a pitch and weight."""
        key = (pitch, weight, False)
        font = self._fonts.get(key)
        if font is None:
            font = self._fonts[key] = dot_font(f"D{len(self._fonts)}", pitch, weight)
        return font

    def letters(self, size: int, bold: bool) -> Font:
        """The line face at a size."""
        key = (-size, int(bold), True)
        font = self._fonts.get(key)
        if font is None:
            font = self._fonts[key] = line_font(f"L{len(self._fonts)}", size, bold)
        return font

    def sheet(self, group: Group) -> str:
        """The name of a shared group's shapes, written when they are first asked for."""
        known = self._sheets.get(id(group.shapes))
        if known is None:
            content = _Content(self)
            for shape in group.shapes:
                content.shape(shape)
            entries = b"/Type/XObject/Subtype/Form/BBox[-14400 -14400 14400 14400]/Resources %d 0 R" % self._resources
            number = self.file.stream(content.data(), entries)
            known = (f"S{len(self._sheets)}", number, group.shapes)
            self._sheets[id(group.shapes)] = known  # the shapes are kept, so that their identity is
        return known[0]


class _Content:
    """Operators of one page or sheet. y runs up in a PDF, so every y changes its sign here."""

    def __init__(self, pages: PdfPages, *first: str) -> None:
        self._pages = pages
        self._out: list[str] = [*first]
        self._forget()

    def _forget(self) -> None:
        self._font: Font | None = None
        self._ink = ""

    def data(self) -> bytes:
        return "\n".join(self._out).encode("ascii")

    def shape(self, shape: Shape) -> None:
        """Write one shape."""
        if isinstance(shape, Struck):
            self._struck(shape)
        elif isinstance(shape, Group):
            self._group(shape)
        elif isinstance(shape, Words):
            self._words(shape)
        elif isinstance(shape, Box):
            place = (
                f"{points(shape.x)} {points(-shape.y - shape.height)} {points(shape.width)} {points(shape.height)} re"
            )
            self._painted(place, shape.fill, shape.line, shape.thickness)
        elif isinstance(shape, Line):
            self._line(shape)
        elif isinstance(shape, Disc):
            self._painted(_circle(shape), shape.fill, shape.line, shape.thickness)
        else:
            self._fragment(shape)

    def _colour(self, colour: str) -> None:
        if colour != self._ink:
            self._ink = colour
            self._out.append(_colours(colour))

    def _use(self, font: Font) -> None:
        if font is not self._font:
            self._font = font
            self._out.append(f"/{font.name} {font.size} Tf")

    def _struck(self, run: Struck) -> None:
        font = self._pages.dots(run.pitch, run.weight)
        if run.colour != self._ink:
            self._colour(run.colour)
        if font is not self._font:
            self._use(font)
        place = f"BT 1 0 0 1 {points(run.x)} {points(-run.y - 7 * ROW)} Tm"
        self._out.append(f"{place} {font.show(run.text)} ET")

    def _words(self, words: Words) -> None:
        if not words.text:
            return
        natural = width_of(words.text, words.size)
        wide = min(natural, words.room) if words.room else natural
        font = self._pages.letters(words.size, words.bold)
        self._colour(words.colour)
        self._use(font)
        x, y = points(words.x), points(-baseline(words.y, words.size))
        line = f"BT 1 0 0 1 {x} {y} Tm {font.show(words.text)} ET"
        if wide < natural:  # set narrower, and back at once: groups and what follows take this over
            line = f"{points(100 * POINT * wide // natural)} Tz {line} 100 Tz"
        self._out.append(line)

    def _group(self, group: Group) -> None:
        num, den = group.scale
        scale = f"{num / den:.6f}".rstrip("0").rstrip(".")
        self._out.append(f"q {scale} 0 0 {scale} {points(group.x)} {points(-group.y)} cm")
        self._forget()
        if group.shared:
            self._out.append(f"/{self._pages.sheet(group)} Do")
        else:
            for shape in group.shapes:
                self.shape(shape)
        self._out.append("Q")
        self._forget()

    def _painted(self, path: str, fill: str, line: str, thickness: int) -> None:
        paint = {(True, True): "B", (True, False): "f", (False, True): "S"}.get((bool(fill), bool(line)), "n")
        colours = (f"{_rgb(fill)} rg " if fill else "") + (f"{_rgb(line)} RG {points(thickness)} w " if line else "")
        self._out.append(f"{colours}{path} {paint}")
        self._ink = ""

    def _line(self, line: Line) -> None:
        dash = f"[{points(line.dash)}] 0 d " if line.dash else ""
        ends = f"{points(line.x1)} {points(-line.y1)} m {points(line.x2)} {points(-line.y2)} l S"
        after = " [] 0 d" if line.dash else ""
        self._out.append(f"{_rgb(line.colour)} RG {points(line.thickness)} w {dash}{ends}{after}")
        self._ink = ""

    def _fragment(self, piece: Fragment) -> None:
        self._colour(piece.colour)
        dots = " ".join(f"{points(x)} {points(-y)} m {points(x)} {points(-y)} l" for x, y in piece.centres)
        self._out.append(f"1 J {points(2 * piece.radius)} w {dots} S 0 J")


@lru_cache(maxsize=64)
def _rgb(colour: str) -> str:
    return " ".join(f"{int(colour[at : at + 2], 16) / 255:.3f}".rstrip("0").rstrip(".") for at in (1, 3, 5))


@lru_cache(maxsize=64)
def _colours(colour: str) -> str:
    """Both colours: a Type 3 character is stroked, and viewers differ in which one they take for it."""
    return f"{_rgb(colour)} rg {_rgb(colour)} RG"


def _circle(disc: Disc) -> str:
    """Four cubic curves."""
    x, y, r = disc.x, -disc.y, disc.radius
    k = r * _KAPPA // 10_000
    turns = (
        (x + r, y + k, x + k, y + r, x, y + r),
        (x - k, y + r, x - r, y + k, x - r, y),
        (x - r, y - k, x - k, y - r, x, y - r),
        (x + k, y - r, x + r, y - k, x + r, y),
    )
    curves = " ".join(" ".join(points(value) for value in turn) + " c" for turn in turns)
    return f"{points(x + r)} {points(y)} m {curves} h"
