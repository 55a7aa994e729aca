"""The dot face and the line face as Type 3 fonts of a PDF: drawn text that can still be read and copied.

ISO 32000-1, 9.6.5 (Type 3 fonts) and 9.10.3 (ToUnicode). A font is made for each pitch and weight, so that
the dots stay round; only characters that were used are written, when the file is finished.
"""

from collections.abc import Callable

from cheque.picture.dotface import ROW, dots
from cheque.picture.lineface import ASCENT, BOLD, EM, REGULAR, glyph
from cheque.picture.pdffile import PdfFile
from cheque.picture.shapes import points

#: codes of a font that stand for ASCII itself, and the first of those given out in order of use
_FIRST_OTHER, _OTHERS = 128, 128
_ESCAPES = str.maketrans({"\\": "\\\\", "(": "\\(", ")": "\\)"})
#: glyph space: thousandths of the type size
_THOUSAND = 1000

#: what a character is in glyph space: its width, and the operators that draw it
Draw = Callable[[str], tuple[int, str]]


class Font:
    """One face at one pitch and weight. `size` is its type size as written in the page; `name` its first name.

    ASCII has its own codes; other characters get the next free one, in further fonts when 128 are in use.
    """

    def __init__(self, name: str, size: str, draw: Draw) -> None:
        self.name, self.size, self._draw = name, size, draw
        self._plain: set[str] = set()
        self._others: dict[str, int] = {}
        #: as written: text -> operators that show it
        self._known: dict[str, str] = {}

    def show(self, text: str) -> str:
        """The operators that show `text` from the present place on, this font being the present one."""
        if text.isascii() and text.isprintable():
            self._plain.update(text)
            if "\\" in text or "(" in text or ")" in text:
                text = text.translate(_ESCAPES)
            return f"({text})Tj"
        known = self._known.get(text)
        if known is None:
            known = self._mixed(text)
            if len(self._known) < 1024:
                self._known[text] = known
        return known

    def _mixed(self, text: str) -> str:
        """Text that goes through several fonts, ending in the first again."""
        pieces: list[tuple[int, list[int]]] = []
        for char in text:
            if " " <= char <= "~":
                self._plain.add(char)
                font, code = 0, ord(char)
            else:
                order = self._others.setdefault(char, len(self._others))
                font, code = order // _OTHERS, _FIRST_OTHER + order % _OTHERS
            if not pieces or pieces[-1][0] != font:
                pieces.append((font, []))
            pieces[-1][1].append(code)
        out = []
        current = 0
        for font, codes in pieces:
            if font != current:
                out.append(f"/{self._named(font)} {self.size} Tf")
                current = font
            out.append("<" + bytes(codes).hex() + ">Tj")
        if current:
            out.append(f"/{self.name} {self.size} Tf")
        return "\n".join(out)

    def _named(self, font: int) -> str:
        return f"{self.name}.{font}" if font else self.name

    def write(self, file: PdfFile) -> dict[str, int]:
        """Write the font's objects; names of fonts -> numbers of their objects."""
        fonts: list[dict[int, str]] = [{ord(char): char for char in self._plain}]
        for char, order in self._others.items():
            while len(fonts) <= order // _OTHERS:
                fonts.append({})
            fonts[order // _OTHERS][_FIRST_OTHER + order % _OTHERS] = char
        return {self._named(index): self._write(file, codes) for index, codes in enumerate(fonts)}

    def _write(self, file: PdfFile, codes: dict[int, str]) -> int:
        widths: dict[int, int] = {}
        procedures = []
        for code, char in sorted(codes.items()):
            widths[code], operators = self._draw(char)
            number = file.stream(operators.encode("ascii"))
            procedures.append(f"/c{code} {number} 0 R")
        first, last = (min(widths), max(widths)) if widths else (32, 32)
        row = " ".join(str(widths.get(code, 0)) for code in range(first, last + 1))
        names = " ".join(f"{code}/c{code}" for code in sorted(widths))
        unicode = file.stream(_to_unicode(codes))
        return file.add(
            (
                f"<</Type/Font/Subtype/Type3/Name/{self.name}/FontBBox[0 0 0 0]/FontMatrix[.001 0 0 .001 0 0]"
                f"/FirstChar {first}/LastChar {last}/Widths[{row}]"
                f"/Encoding<</Type/Encoding/Differences[{names}]>>/CharProcs<<{''.join(procedures)}>>"
                f"/Resources<<>>/ToUnicode {unicode} 0 R>>"
            ).encode("ascii")
        )


def _to_unicode(codes: dict[int, str]) -> bytes:
    pairs = [
        f"<{code:02X}><{char.encode('utf-16-be', 'replace').hex().upper()}>" for code, char in sorted(codes.items())
    ]
    blocks = [pairs[start : start + 100] for start in range(0, len(pairs), 100)]
    body = "\n".join(f"{len(block)} beginbfchar\n" + "\n".join(block) + "\nendbfchar" for block in blocks)
    return (
        "/CIDInit/ProcSet findresource begin 12 dict begin begincmap\n"
        "/CIDSystemInfo<</Registry(Adobe)/Ordering(UCS)/Supplement 0>>def\n"
        "/CMapName/Adobe-Identity-UCS def/CMapType 2 def\n"
        f"1 begincodespacerange<00><FF>endcodespacerange\n{body}\n"
        "endcmap CMapName currentdict/CMap defineresource pop end end\n"
    ).encode("ascii")


def dot_font(name: str, pitch: int, weight: int) -> Font:
    """The dot face: type of a size at which a character is 3/5 of it wide, standing on its seventh row."""
    size = pitch * 5 // 3

    def draw(char: str) -> tuple[int, str]:
        centres, radius = dots(char, pitch, weight)
        placed = [(x * _THOUSAND // size, (7 * ROW - y) * _THOUSAND // size) for x, y in centres]
        return 600, _dotted(600, placed, radius * _THOUSAND // size)

    return Font(name, points(size), draw)


def line_font(name: str, size: int, bold: bool) -> Font:
    """The line face at a type size."""
    width = BOLD if bold else REGULAR
    scale = _THOUSAND // EM

    def draw(char: str) -> tuple[int, str]:
        shape = glyph(char)
        advance = shape.advance * scale
        if shape.dots:
            return advance, _dotted(advance, [(x * scale, y * scale) for x, y in shape.dots], width * scale // 2)
        out = [f"{advance} 0 -200 -400 {advance + 200} 1100 d1 1 J 1 j {width * scale} w"]
        for kind, ends in shape.strokes:
            out.append(" ".join(str(end * scale) for end in ends) + f" {kind}")
        return advance, "\n".join([*out, "S"])

    return Font(name, points(size), draw)


def _dotted(advance: int, centres: list[tuple[int, int]], radius: int) -> str:
    """Dots as strokes of next to no length with round ends."""
    if not centres:
        return f"{advance} 0 0 0 0 0 d1"
    edges = [
        min(x for x, _ in centres) - radius,
        min(y for _, y in centres) - radius,
        max(x for x, _ in centres) + radius,
        max(y for _, y in centres) + radius,
    ]
    head = f"{advance} 0 {' '.join(map(str, edges))} d1 1 J {2 * radius} w"
    return head + "\n" + "\n".join(f"{x} {y} m {x} {y} l" for x, y in centres) + "\nS"


def baseline(units: int, size: int) -> int:
    """From the top of words down to the line they stand on."""
    return units + ASCENT * size // EM
