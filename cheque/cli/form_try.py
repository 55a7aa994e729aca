"""`cheque form try`: a shipped form from an empty folder to printed forms, on its own invented register."""

import json
import tomllib
from pathlib import Path
from typing import NamedTuple

import click

from cheque import library
from cheque.cli.demo import Stage, demo_data
from cheque.cli.desk import answer
from cheque.errors import InputRefused, UsageRefused
from cheque.form import Form
from cheque.form.feeding import feeding
from cheque.tongue import tr

FIRST, LAST = 100501, 100600


class Slip(NamedTuple):
    """What came with a form's invented register: its file, its account's currency and locale, and the totals."""

    register: str
    currency: str
    locale: str
    control_total: str
    item_count: int


def slips() -> dict[str, Slip]:
    """The slip of every form that has an invented register."""
    return {name: Slip(**table) for name, table in tomllib.loads(demo_data("forms/slips.toml").decode()).items()}


@click.command("try")
@click.argument("form")
@click.argument("folder", metavar="[DIR]", default="")
def try_form(form: str, folder: str) -> None:
    """Try shipped FORM in DIR (else try-FORM, here), from an empty folder to printed forms.

    Set up, register, proof, print to a file, numbers accounted for: through the real commands, on invented data of the
    Quillmere boatyard. Nothing is printed on paper; everything stays in DIR to be looked at, and to go on from.
    """
    known = slips()
    found = library.read(form)
    if found.name not in known:
        raise UsageRefused(
            tr("found {form!r}; wanted a form that comes with the tool: {known}.", form=form, known=", ".join(known))
        )
    place = Path(folder or f"try-{found.name}")
    if place.exists() and (not place.is_dir() or any(place.iterdir())):
        raise InputRefused(tr("{place} is there already: nothing is written over. Name another folder.", place=place))
    try:
        place.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise InputRefused(
            tr("{place} cannot be made: {strerror}. Name another place.", place=place, strerror=error.strerror)
        ) from None
    _played(Stage(place.resolve()), found, known[found.name])
    answer()
    answer(
        tr(
            "Look in {place}: proof.pdf (every form, part by part), proof-1.png (the first form), "
            "payroom.prn (the printer's bytes). The book and its settings are there too: go on from them.",
            place=place,
        )
    )


def _played(stage: Stage, form: Form, slip: Slip) -> None:
    stage.tell(
        tr("{title}. The tool is set up with an account in {currency}:", title=form.title, currency=slip.currency)
    )
    stage.run(
        "setup",
        "--drawer",
        "Quillmere Boatyard Company",
        "--address",
        "1 Slipway Lane",
        "--address",
        "Quillmere, QM 00401",
        "--bank",
        "Tidewrack Savings Bank",
        "--account-number",
        "000417293355",
        "--currency",
        slip.currency,
        "--locale",
        slip.locale,
    )
    _settled(stage.folder / "cheque.toml", form)
    (stage.folder / "register.csv").write_bytes(demo_data(slip.register))
    stage.tell(tr("A box of forms is entered, with the numbers that are on them:"))
    stage.run("stock", "receive", form.name, "--account", "main", "--first", str(FIRST), "--last", str(LAST))
    stage.tell(tr("Its register agrees with the slip that came with it:"))
    totals = ("--control-total", slip.control_total, "--item-count", str(slip.item_count))
    stage.run("batch", "accept", "register.csv", "--form", form.name, *totals)
    stage.tell(tr("A proof, drawn from the very bytes that the printer would get:"))
    code = stage.run("proof", "1", "-o", "proof.pdf").split()[-1]
    stage.run("proof", "1", "-o", "proof-1.png", "--payment", "1", quiet=True)
    stage.tell(tr("It is printed, to a file in place of a printer, and looked at:"))
    stage.run(
        "print",
        "1",
        "--first-number",
        str(FIRST),
        "--proof-code",
        code,
        "--paper-loaded",
        "--after-first",
        "go-on",
    )
    forms = json.loads(stage.run("batch", "show", "1", "--json", quiet=True))["payments"]
    stage.run("confirm", "1", "--good-count", str(len(forms)))
    stage.tell(tr("Every number is accounted for:"))
    stage.run("reconcile", "numbers", "1")


def _settled(settings: Path, form: Form) -> None:
    """What the template leaves as a comment, and a printer that can feed the form and print its letters."""
    spoken = [row.language for row in feeding(form) if row.straight]
    text = settings.read_text("utf-8")
    text = text.replace('# place = "Quillmere"  ', 'place = "Quillmere"    ')
    text = text.replace('language = "escp9" ', f'language = "{"escp9" if "escp9" in spoken else spoken[0]}" ')
    settings.write_text(text.replace('table = "cp437"', 'table = "cp850"'), "utf-8")
