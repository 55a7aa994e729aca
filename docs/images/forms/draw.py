"""Draws the pictures of docs/forms-library.md anew, a picture for every part of every shipped form, into this folder.

    .venv/bin/python docs/images/forms/draw.py [FORM …]

Each shows the first payment of the form's invented register, struck by way of a printer's bytes. `drawn.json` keeps
the digest of every form as drawn, so that a test can tell when a picture has fallen behind its form.
"""

import io
import json
import re
import shlex
import subprocess
import sys
import tempfile
from functools import partial
from pathlib import Path

from PIL import Image

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parents[2] / "tests"))

from form import harbour_stock  # noqa: E402
from form.samples import SHIPPED, drawer_of, payments_of, printers_of, strikes_of  # noqa: E402

from cheque import layout, library  # noqa: E402
from cheque.form import Form  # noqa: E402
from cheque.picture.drawing import below, draw_form  # noqa: E402
from cheque.picture.png import to_image  # noqa: E402
from cheque.workbench.show import draw_matrix, draw_part  # noqa: E402

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


def bench() -> None:
    """What the workbench draws: a form shown with its slack, who sees what, and a photograph traced."""
    shown = [draw_part(library.read("cheque-in"), 0, with_slack=True)]
    small(to_image(below(shown), DPI), "show-cheque-in")
    small(to_image(draw_matrix(library.read("delivery-note")), DPI), "who-delivery-note")
    photograph = harbour_stock.scan()
    small(photograph.resize((photograph.width * 2 // 3, photograph.height * 2 // 3)), "harbour-scan")
    page = (HERE.parents[1] / "forms-step-by-step.md").read_text("utf-8")
    with tempfile.TemporaryDirectory() as folder:
        photograph.save(Path(folder) / "harbour-scan.png")
        run = partial(subprocess.run, cwd=folder, check=True, capture_output=True)
        for command in re.findall(r"```sh\n(.*?)```", page, re.DOTALL)[:4]:
            words = shlex.split(command.replace("\\\n", " "))
            run([sys.executable, "-m", *words])
            if words[1] == "setup":
                settings = Path(folder) / "cheque.toml"
                text = settings.read_text("utf-8").replace('# forms = "forms"', 'forms = "forms"')
                settings.write_text(text, "utf-8")
        with Image.open(Path(folder) / "harbour-traced.png") as traced:
            small(traced.resize((traced.width * 2 // 3, traced.height * 2 // 3)), "harbour-traced")


def small(image: Image.Image, name: str) -> None:
    """A picture of few colours in this folder."""
    data = io.BytesIO()
    image.convert("RGB").quantize(COLOURS).save(data, "PNG", optimize=True)
    (HERE / f"{name}.png").write_bytes(data.getvalue())


def main() -> None:
    """The forms named, or all and the workbench's pictures."""
    kept = HERE / "drawn.json"
    drawn = json.loads(kept.read_text("utf-8")) if kept.exists() else {}
    for name in sys.argv[1:] or SHIPPED:
        form = library.read(name)
        draw(form)
        drawn[name] = form.digest
    if not sys.argv[1:]:
        bench()
    kept.write_text(json.dumps(drawn, indent=1, sort_keys=True) + "\n", "utf-8")


if __name__ == "__main__":
    main()
