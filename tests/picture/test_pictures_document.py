"""The document on pictures shows every picture that is kept for it, and names only what is there."""

import re
from pathlib import Path

DOCS = Path(__file__).resolve().parents[2] / "docs"


def test_the_document_and_its_pictures_belong_together():
    text = (DOCS / "pictures.md").read_text("utf-8")
    named = set(re.findall(r"\(images/([^)]+)\)", text))
    kept = {path.name for path in (DOCS / "images").iterdir() if path.suffix in (".png", ".txt")}
    assert named
    assert {name for name in kept if name.startswith(("proof-", "faces", "frames", "off-", "part-"))} == named


def test_every_colour_that_is_explained_is_one_that_is_drawn():
    from cheque.picture import shapes

    assert shapes.OFF_PAPER.startswith("#c0")  # red
    assert shapes.FRAME[3:5] > shapes.FRAME[1:3]  # green
