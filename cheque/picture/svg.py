"""A drawing as SVG: shapes by hand, every struck character a use of its dots, its text selectable over it.

Lengths are points. Dots are strokes without length and with round ends. All text is escaped, and a character
that XML does not allow becomes U+FFFD in the text, while its picture stays what it is.
"""

import re
from collections.abc import Iterable
from html import escape

from cheque.picture.dotface import ROW, dots
from cheque.picture.lineface import ASCENT, BOLD, EM, REGULAR, glyph
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

_NOT_XML = re.compile("[^\t\n\r -\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def to_svg(drawing: Drawing, prefix: str = "") -> str:
    """The drawing as one SVG document, without any script, style sheet, font or reference to elsewhere.

    prefix: put before every identifier, when several drawings stand in one page.
    """
    ink = _Ink(prefix)
    body: list[str] = []
    for shape in drawing.shapes:
        _write(body, shape, ink)
    left, top, width, height = (points(side) for side in drawing[:4])
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}pt" height="{height}pt" '
        f'viewBox="{left} {top} {width} {height}" fill="none" stroke-linecap="round" stroke-linejoin="round">'
    )
    ground = f'<rect x="{left}" y="{top}" width="{width}" height="{height}" fill="{drawing.background or "#fff"}"/>'
    defs = f"<defs>\n{ink.definitions()}\n</defs>"
    return "\n".join([head, f"<title>{clean(drawing.title)}</title>", defs, ground, *body, "</svg>\n"])


def to_html(drawings: list[Drawing], title: str) -> str:
    """Several drawings as one HTML page that needs nothing else."""
    pictures = "".join(to_svg(drawing, f"p{number}") for number, drawing in enumerate(drawings, 1))
    style = "body{margin:1em;background:#e9e7e1}svg{display:block;max-width:100%;height:auto;margin:0 auto 1em}"
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><title>{clean(title)}</title>'
        f"<style>{style}</style></head>\n<body>\n{pictures}</body></html>\n"
    )


def clean(text: str) -> str:
    """Text made safe inside markup: `<`, `&` and quotes escaped, what XML forbids replaced."""
    return escape(_NOT_XML.sub("\ufffd", text))


def markup(shapes: Iterable[Shape]) -> str:
    """Shapes as SVG to stand in another picture; none of them struck. ValueError for a struck one."""
    ink = _Ink("")
    body: list[str] = []
    for shape in shapes:
        _write(body, shape, ink)
    if ink.definitions():
        raise ValueError("a struck character needs its dots defined")
    return "".join(body)


class _Ink:
    """The struck characters of one document: each shape defined once."""

    def __init__(self, prefix: str) -> None:
        self._prefix = prefix
        self._names: dict[tuple[str, int, int], str] = {}

    def name(self, char: str, pitch: int, weight: int) -> str:
        """The identifier of one character's dots."""
        key = (char, pitch, weight)
        return self._names.setdefault(key, f"{self._prefix}d{len(self._names)}")

    def definitions(self) -> str:
        """All of them, as paths of strokes that have no length."""
        lines = []
        for (char, pitch, weight), name in self._names.items():
            centres, radius = dots(char, pitch, weight)
            lines.append(f'<path id="{name}" stroke-width="{points(2 * radius)}" d="{dot_path(centres)}"/>')
        return "\n".join(lines)


def dot_path(centres: tuple[tuple[int, int], ...]) -> str:
    """Dots as strokes that have no length, for the `d` of a path."""
    return "".join(f"M{points(x)} {points(y)}h0" for x, y in centres)


def _write(out: list[str], shape: Shape, ink: _Ink) -> None:
    if isinstance(shape, Struck):
        _struck(out, shape, ink)
    elif isinstance(shape, Group):
        move = f"translate({points(shape.x)} {points(shape.y)})"
        if shape.scale[0] != shape.scale[1]:
            move += f" scale({shape.scale[0] / shape.scale[1]:.6f})"
        out.append(f'<g transform="{move}">')
        for inner in shape.shapes:
            _write(out, inner, ink)
        out.append("</g>")
    elif isinstance(shape, Words):
        _words(out, shape)
    elif isinstance(shape, Fragment):
        width = points(2 * shape.radius)
        out.append(f'<path stroke="{shape.colour}" stroke-width="{width}" d="{dot_path(shape.centres)}"/>')
    else:
        out.append(_plain(shape))


def _plain(shape: Box | Line | Disc) -> str:
    if isinstance(shape, Box):
        place = f'x="{points(shape.x)}" y="{points(shape.y)}"'
        size = f'width="{points(shape.width)}" height="{points(shape.height)}"'
        return f"<rect {place} {size}{_paint(shape.fill, shape.line, shape.thickness)}/>"
    if isinstance(shape, Disc):
        place = f'cx="{points(shape.x)}" cy="{points(shape.y)}" r="{points(shape.radius)}"'
        return f"<circle {place}{_paint(shape.fill, shape.line, shape.thickness)}/>"
    ends = (
        f'x1="{points(shape.x1)}" y1="{points(shape.y1)}" x2="{points(shape.x2)}" y2="{points(shape.y2)}" '
        f'stroke-linecap="butt"'
    )
    dash = f' stroke-dasharray="{points(shape.dash)}"' if shape.dash else ""
    return f"<line {ends}{_paint('', shape.colour, shape.thickness)}{dash}/>"


def _paint(fill: str, line: str, thickness: int) -> str:
    text = f' fill="{fill}"' if fill else ""
    return text + (f' stroke="{line}" stroke-width="{points(thickness)}"' if line else "")


def _struck(out: list[str], run: Struck, ink: _Ink) -> None:
    y = points(run.y)
    uses = "".join(
        f'<use href="#{ink.name(char, run.pitch, run.weight)}" x="{points(run.x + place * run.pitch)}" y="{y}"/>'
        for place, char in enumerate(run.text)
        if char != " "
    )
    long = points(run.pitch * len(run.text))
    text = (
        f'<text x="{points(run.x)}" y="{points(run.y + 7 * ROW)}" font-family="monospace" font-size="9" '
        f'textLength="{long}" lengthAdjust="spacingAndGlyphs" xml:space="preserve" fill="#000" fill-opacity="0" '
        f'stroke="none">{clean(run.text)}</text>'
    )
    out.append(f'<g stroke="{run.colour}">{uses}{text}</g>')


def _words(out: list[str], words: Words) -> None:
    if not words.text.strip():
        return
    natural = width_of(words.text, words.size)
    wide = min(natural, words.room) if words.room else natural
    line = words.y + ASCENT * words.size // EM
    path: list[str] = []
    run = 0

    def place(x: int, y: int) -> str:
        right = (run + x) * words.size * wide // (EM * natural)
        return f"{points(words.x + right)} {points(line - y * words.size // EM)}"

    for char in words.text:
        shape = glyph(char)
        for kind, ends in shape.strokes:
            pairs = zip(ends[::2], ends[1::2], strict=True)
            path.append(kind.upper() + " ".join(place(x, y) for x, y in pairs))
        path += [f"M{place(x, y)}h0" for x, y in shape.dots]
        run += shape.advance
    stroke = points(words.size * (BOLD if words.bold else REGULAR) // EM)
    label = f'aria-label="{clean(words.text)}" role="img"'
    out.append(f'<path {label} stroke="{words.colour}" stroke-width="{stroke}" d="{"".join(path)}"/>')
