"""The page on the form library shows every part of every form, as it is."""

import json
import re

import pytest
from form.samples import DEMO, SHIPPED
from PIL import Image

from cheque import library
from cheque.units import write_length

DOCS = DEMO.parent / "docs"
PAGES = {name: (DOCS / name).read_text("utf-8") for name in ("forms-library.md", "forms-step-by-step.md", "forms.md")}
PAGE = PAGES["forms-library.md"]
DRAWN = json.loads((DOCS / "images" / "forms" / "drawn.json").read_text("utf-8"))


@pytest.mark.parametrize("name", SHIPPED)
def test_a_form_is_listed_and_every_part_of_it_shown(name: str) -> None:
    form = library.read(name)
    size = f"{write_length(form.paper.width)} x {write_length(form.paper.length)}"
    assert f"| [`{name}`](#{name}) | {form.title} | {size} | {len(form.parts)} |" in PAGE
    for number, part in enumerate(form.parts, 1):
        assert f"(images/forms/{name}-{number}-{part.name}.png)" in PAGE


@pytest.mark.parametrize("name", SHIPPED)
def test_its_pictures_are_of_the_form_as_it_is_now(name: str) -> None:
    assert DRAWN[name] == library.read(name).digest, "run docs/images/forms/draw.py"


@pytest.mark.parametrize("page", PAGES)
def test_every_link_of_the_pages_on_forms_leads_somewhere(page: str) -> None:
    for link in re.findall(r"\]\(([^)#\s]+)\)", PAGES[page]):
        path = DOCS / link
        assert path.is_file(), link
        if path.suffix == ".png":
            with Image.open(path) as image:
                assert image.width >= 400
            assert path.stat().st_size < 60_000


def test_every_picture_of_a_form_is_shown_somewhere() -> None:
    shown = {link for text in PAGES.values() for link in re.findall(r"\(images/forms/([^)]+\.png)\)", text)}
    assert shown == {path.name for path in (DOCS / "images" / "forms").glob("*.png")}
