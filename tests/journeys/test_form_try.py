"""`cheque form try`: every shipped form from an empty folder to printed forms."""

import csv
from decimal import Decimal
from pathlib import Path

import pytest
from form.samples import DEMO, SHIPPED, register_of
from journeys.firm import Firm

from cheque import library
from cheque.cli.form_try import slips


@pytest.mark.parametrize("form", SHIPPED)
def test_every_shipped_form_can_be_tried_from_an_empty_folder(form: str, tmp_path: Path) -> None:
    firm = Firm(tmp_path)
    said = firm.run("form", "try", form).out
    assert "Every payment of batch 1 has its form." in said
    assert "Nothing: every number is accounted for." in said
    folder = firm.folder / f"try-{form}"
    assert (folder / "proof.pdf").read_bytes().startswith(b"%PDF")
    assert (folder / "payroom.prn").stat().st_size > 300
    assert (folder / "register.csv").read_bytes() == register_of(library.read(form)).read_bytes()
    tried = Firm(folder)
    assert tried.run("book", "verify", "--json").json["whole"] is True
    assert "is there already" in firm.run("form", "try", form, expect=3).err


def test_the_slips_are_what_the_registers_add_up_to_by_cheque() -> None:
    """Added up here from the files' text; a paper that pays nothing adds up to nothing."""
    assert sorted(slips()) == sorted(SHIPPED)
    for name, slip in slips().items():
        with (DEMO / slip.register).open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        paid = [Decimal(row["amount"]) for row in rows if row.get("paid_by") != "transfer"]
        assert slip.item_count == len(rows)
        assert Decimal(slip.control_total) == (sum(paid) if library.read(name).payable else 0)


def test_only_a_shipped_form_has_a_register_to_be_tried_on(tmp_path: Path) -> None:
    firm = Firm(tmp_path)
    assert "did you mean cheque-gb?" in firm.run("form", "try", "cheque-bg", expect=3).err
    firm.run("form", "new", "harbour", "--like", "cheque-gb")
    assert "wanted a form that comes with the tool" in firm.run("form", "try", "harbour.toml", expect=2).err
    (firm.folder / "taken").write_text("x")
    assert "is there already" in firm.run("form", "try", "cheque-gb", "taken", expect=3).err
