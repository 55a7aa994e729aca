"""The newcomer's path: every command of docs/forms-step-by-step.md, in order, on stock that no definition knew before.

The page's readings are what a ruler shows on the invented stock; whether the form that comes of them is right is held
against the stock's true frames, which the page does not know.
"""

import re
import shlex
from pathlib import Path

import pytest
from form import harbour_stock as stock
from form.samples import DEMO, printers_of, strikes_of
from journeys.firm import Firm

from cheque import layout, library
from cheque.form.places import places
from cheque.form.rulers import corners, depth_of_ten
from cheque.payment import Kind, Payment, StubLine
from cheque.run import drawer_of
from cheque.settings import load as settings_of
from cheque.units import INCH, read_length

PAGE = (DEMO.parent / "docs" / "forms-step-by-step.md").read_text("utf-8")
COMMANDS = [
    " ".join(line.split("\\\n")) for block in re.findall(r"```sh\n(.*?)```", PAGE, re.DOTALL) for line in [block]
]
ADDED = dict(re.findall(r"<!-- (.*?) -->\n```toml\n(.*?)```", PAGE, re.DOTALL))


@pytest.fixture(scope="module")
def harbour(tmp_path_factory: pytest.TempPathFactory) -> Firm:
    """The page walked to its end."""
    firm = Firm(tmp_path_factory.mktemp("harbour"))
    stock.scan().save(firm.folder / "harbour-scan.png")
    form = firm.folder / "forms" / "harbour.toml"
    for command in COMMANDS:
        program, *words = shlex.split(command)
        assert program == "cheque"
        if words[:2] == ["form", "check"]:
            _edit(form)
        firm.run(*words)
        if words[0] == "setup":
            firm.change('# forms = "forms"', 'forms = "forms"')
    return firm


def _edit(form: Path) -> None:
    """Steps 8 and 9, as the page says."""
    text = form.read_text("utf-8") + "\n" + ADDED["append to forms/harbour.toml"]
    after = 'goes_to = "the cheque file"'
    assert text.count(after) == 1
    text = text.replace(after, after + "\n" + ADDED[f"add to forms/harbour.toml after: {after}"])
    form.write_text(text, "utf-8")


def test_the_page_counts_its_own_steps_and_commands() -> None:
    steps = re.findall(r"(?m)^## (\d+)\. ", PAGE)
    assert steps == [str(number) for number in range(1, 12)]
    assert "eleven steps, of which eight are commands" in PAGE
    assert len(COMMANDS) == 8


def test_settings_not_yet_filled_in_do_not_hide_the_folder_of_forms(tmp_path: Path) -> None:
    firm = Firm(tmp_path)
    firm.run("setup")  # drawer and bank are blank
    firm.change('# forms = "forms"', 'forms = "forms"')
    firm.run("form", "new", "harbour", "--like", "side-stub-us")
    assert (firm.folder / "forms" / "harbour.toml").exists()
    firm.run("form", "check", "harbour")
    firm.change('forms = "forms"', "forms = 3")
    assert "forms: found 3; wanted a folder" in firm.run("form", "check", "harbour", expect=3).err
    firm.change("forms = 3", "forms = ")
    assert "is not TOML" in firm.run("form", "list", expect=3).err
    assert "no such file" in firm.run("--settings", "other.toml", "form", "list", expect=3).err


def test_its_readings_are_what_a_ruler_shows_on_the_stock() -> None:
    """Ten forms of 5 1/2 in, read a sixteenth short; every side to the nearest sixteenth."""
    assert depth_of_ten("54 15/16 in").usual == (read_length("5 1/2 in"),)
    frames = dict(re.findall(r'--frame "([^=]+)=([^"]+)"', PAGE))
    for name in stock.FRAMES:
        given = frames.get(name) or frames["stub-number:number"]
        assert given == stock.ruler(name)
        read, true = corners(given), stock.area(name)
        for side in ("left", "top", "right", "bottom"):
            assert abs(getattr(read, side) - getattr(true, side)) <= INCH // 32


def test_the_form_can_be_put_to_use_and_keeps_its_rules(harbour: Firm) -> None:
    form = library.load(str(harbour.folder / "forms" / "harbour.toml"))
    told = harbour.run("form", "check", "harbour", "--json").json
    assert told["faults"] == []
    assert {rule["outcome"] for rule in told["rules"]} <= {"kept", "ask", "not on it"}
    assert told["parts"][1]["hides"] == ["stub.text", "stub.amount"]
    assert form.parts[1].must_not_show == ("text",)
    assert (harbour.folder / "harbour-traced.png").exists()


def test_what_it_prints_stands_in_the_stocks_true_frames(harbour: Firm) -> None:
    form = library.load(str(harbour.folder / "forms" / "harbour.toml"))
    account = settings_of(harbour.folder / "cheque.toml").account("main")
    invoices = tuple(StubLine(Kind.INVOICE, f"TT-44{n:02d}", 50_000 + n) for n in range(4))
    amount = sum(line.amount or 0 for line in invoices)
    payment = Payment(1, "Tarn & Tiller Chandlery", amount, "2026-11-27", "26110307", stub=invoices)
    (page,) = layout.lay_out(payment, form, drawer_of(account))
    frames = [stock.area(name) for name in stock.FRAMES]
    for printer in printers_of(form):
        for mark in strikes_of(form, page, printer, "4402").marks:
            x, y = mark.x + form.grid.left, mark.y + form.grid.top
            for place, letter in enumerate(mark.text):
                if letter != " ":
                    cell = (x + place * mark.pitch, y, x + (place + 1) * mark.pitch, y + form.grid.spacing)
                    assert any(
                        f.left <= cell[0] and f.top <= cell[1] and cell[2] <= f.right and cell[3] <= f.bottom
                        for f in frames
                    ), (mark, letter)


def test_every_place_stands_within_its_own_true_frame(harbour: Firm) -> None:
    form = library.load(str(harbour.folder / "forms" / "harbour.toml"))
    assert {place.name for place in places(form)} == set(stock.FRAMES)
    for place in places(form):
        assert stock.area(place.name).holds(place.area), place.name


def test_the_shift_is_kept_for_the_printer_and_the_form(harbour: Firm) -> None:
    assert harbour.run("align", "harbour", "--printer", "payroom", "--reading", "right", "--json").json == {
        "printer": "payroom",
        "form": "harbour",
        "right": 0,
        "down": -INCH // 72,
    }


def test_the_form_without_measuring_is_as_the_page_says(tmp_path: Path) -> None:
    assert "`cheque form new harbour --like side-stub-us`" in PAGE
    firm = Firm(tmp_path)
    firm.run("form", "new", "harbour", "--like", "side-stub-us")
    firm.run("form", "check", "harbour.toml")
