"""What one part carries before it is struck, as it is to be drawn: wording with its room, rules and frames."""

from collections.abc import Iterator
from typing import NamedTuple

from cheque.form.geometry import Area
from cheque.form.model import Box, Form, Part, Rule


class Wording(NamedTuple):
    """Preprinted wording in its place: fit `text` to `area`, whose height is the type size."""

    text: str
    area: Area
    bold: bool
    what: str


def wordings(form: Form, part: Part, number: str = "") -> Iterator[Wording]:
    """All preprinted wording of one part: legends resolved, and `number` (or a specimen) where it is preprinted."""
    for caption in form.preprint.captions:
        if caption.parts and part.name not in caption.parts:
            continue
        text = caption.text
        if caption.what == "legend":
            text = part.legend
        elif caption.what == "number" and number:
            text = number
        if text:
            yield Wording(text, caption.area(text), caption.bold, caption.what)


def rules(form: Form, part: Part) -> Iterator[Rule]:
    """All preprinted lines of one part."""
    return (rule for rule in form.preprint.rules if not rule.parts or part.name in rule.parts)


def boxes(form: Form, part: Part) -> Iterator[Box]:
    """All preprinted frames of one part that are drawn."""
    return (box for box in form.preprint.boxes if box.drawn != "none" and (not box.parts or part.name in box.parts))
