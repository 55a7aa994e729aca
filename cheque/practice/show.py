"""The practice printer's paper for people to see: text for a terminal, a file of every form in a folder."""

import re
from dataclasses import replace
from pathlib import Path

from cheque.form.model import Form
from cheque.practice.paper import Sheet
from cheque.tongue import tr
from cheque.units import INCH

DPI = 100


def what_became(sheet: Sheet) -> str:
    """One line about a form."""
    if sheet.blank:
        told = tr("blank")
    elif sheet.whole:
        told = tr("struck, whole")
    else:
        told = tr("NOT GOOD: {harm}", harm=", ".join(tr(one) for one in sheet.harm) or tr("not finished"))
    return tr("form {number}: {told}", number=sheet.number, told=told)


def as_text(form: Form, sheet: Sheet, *, parts: int = 0) -> str:
    """A form as text: its line, then its parts (the first `parts` of them, 0 for all)."""
    from cheque.picture.text import to_text

    count = parts or len(form.parts)
    return "\n".join([what_became(sheet), *(to_text(form, sheet.marks, part) for part in range(count))])


def on_terminal(form: Form, sheet: Sheet, width: int = 80) -> str:
    """A form for a terminal, no line longer than `width`: its line, and what is struck on its first part.

    A line that is too long has the gaps between its words narrowed; what is too long even so goes on in the next
    line. Nothing struck is left out.
    """
    from cheque.picture.text import to_text

    lines = [what_became(sheet), *to_text(form, sheet.marks, 0, outlined=False).splitlines()]
    return "\n".join(piece for line in lines for piece in _within(line, width))


def _within(line: str, width: int) -> list[str]:
    """A line in pieces of a width at the most."""
    gap = 40
    while len(line) > width and gap > 1:
        gap -= 1
        line = re.sub(f"(?<=\\S) {{{gap},}}(?=\\S)", " " * gap, line)
    return [line[at : at + width] for at in range(0, len(line), width)] or [""]


def numbered(form: Form, number: int) -> Form:
    """The form as it came out of the box: with its own number preprinted where the definition keeps a place for it."""
    captions = tuple(
        replace(caption, what="text", text=str(number)) if caption.what == "number" else caption
        for caption in form.preprint.captions
    )
    return replace(form, preprint=replace(form.preprint, captions=captions))


class Folder:
    """A folder that gets a file of every form: a PNG with all its parts side by side, or text.

    A form that changes later (torn in the stack) is written again.
    """

    def __init__(self, place: Path, form: Form, kind: str) -> None:
        place.mkdir(mode=0o700, parents=True, exist_ok=True)
        self._place, self._form, self._kind = place, form, kind
        self._shown: dict[int, Sheet] = {}

    def show(self, sheet: Sheet) -> bool:
        """Write a form unless the folder shows it so already; True when it was written."""
        if self._shown.get(sheet.number) == sheet:
            return False
        path = self._place / f"form-{sheet.number}.{self._kind}"
        path.write_bytes(self._picture(sheet))
        path.chmod(0o600)
        self._shown[sheet.number] = sheet
        return True

    def _picture(self, sheet: Sheet) -> bytes:
        if self._kind == "txt":
            return as_text(self._form, sheet).encode()
        from cheque.picture.drawing import below, draw_parts
        from cheque.picture.png import to_png
        from cheque.picture.shapes import CAPTION, Drawing, Words

        paper = draw_parts(numbered(self._form, sheet.number), sheet.marks)
        said = Words(0, 0, INCH // 4, what_became(sheet), CAPTION, True, paper.width)
        head = Drawing(0, 0, paper.width, INCH * 2 // 5, (said,), "")
        return to_png(below([head, paper]), DPI)
