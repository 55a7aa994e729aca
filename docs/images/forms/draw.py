"""Draws the pictures of docs/forms-library.md anew, a picture for every part of every shipped form, into this folder.

    .venv/bin/python docs/images/forms/draw.py [FORM …]

Each shows the first payment of the form's invented register, struck by way of a printer's bytes. `drawn.json` keeps
the digest of every form as drawn, so that a test can tell when a picture has fallen behind its form.
"""

import io
import json
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parents[2] / "tests"))

from form.samples import SHIPPED, drawer_of, payments_of, printers_of, strikes_of  # noqa: E402

from cheque import layout, library  # noqa: E402
from cheque.form import Form  # noqa: E402
from cheque.picture.drawing import draw_form  # noqa: E402
from cheque.picture.png import to_image  # noqa: E402

DPI = 96
#: colours of a picture: the drawing has hardly more, and the file is a fifth of the size
COLOURS = 48


def draw(form: Form) -> None:
    """Every part of one form."""
    payment = payments_of(form)[0]
    (page,) = layout.lay_out(payment, form, drawer_of(form))
    marks = strikes_of(form, page, printers_of(form)[0]).marks
    for index, part in enumerate(form.parts):
        image = to_image(draw_form(form, marks, part_index=index), DPI).quantize(COLOURS)
        data = io.BytesIO()
        image.save(data, "PNG", dpi=(DPI, DPI), optimize=True)
        (HERE / f"{form.name}-{index + 1}-{part.name}.png").write_bytes(data.getvalue())


def main() -> None:
    """The forms named, or all."""
    kept = HERE / "drawn.json"
    drawn = json.loads(kept.read_text("utf-8")) if kept.exists() else {}
    for name in sys.argv[1:] or SHIPPED:
        form = library.read(name)
        draw(form)
        drawn[name] = form.digest
    kept.write_text(json.dumps(drawn, indent=1, sort_keys=True) + "\n", "utf-8")


if __name__ == "__main__":
    main()
