"""Numbered papers that pay nothing, through the command line: accounted for by number, never money out."""

import shutil
from pathlib import Path

import pytest
from form.samples import DEMO
from journeys.firm import Firm

from cheque import library
from cheque.errors import InputRefused


@pytest.fixture
def yard(tmp_path: Path) -> Firm:
    """The boatyard with a box of delivery notes and one of petty-cash vouchers."""
    firm = Firm(tmp_path)
    firm.run("setup", "--drawer", "Quillmere Boatyard Company", "--address", "1 Slipway Lane",
             "--bank", "Tidewrack Savings Bank", "--currency", "GBP", "--locale", "en_GB")  # fmt: skip
    for name, first in (("delivery-note", 7001), ("petty-cash", 9001)):
        firm.run("stock", "receive", name, "--account", "main", "--first", str(first), "--last", str(first + 99))
        shutil.copy(DEMO / "forms" / f"{name}.csv", tmp_path)
    return firm


@pytest.mark.parametrize(
    ("name", "first", "items"),
    [("delivery-note", 7001, ("--hash-total", "4224")), ("petty-cash", 9001, ("--hash-column", ""))],
)
def test_a_numbered_paper_is_accounted_for_like_a_cheque_and_is_no_money_out(
    yard: Firm, name: str, first: int, items: tuple[str, ...]
) -> None:
    said = yard.run("batch", "accept", f"{name}.csv", "--form", name, "--control-total", "0.00", "--item-count", "2",
                    *items)  # fmt: skip
    assert "the form pays nothing by itself: the control total covers cheques, so that it is 0.00" in said.err
    assert "transfer" not in said.err
    yard.print(1, first)
    yard.run("confirm", "1", "--good-count", "2")
    assert yard.state(first) == yard.state(first + 1) == "printed"
    yard.run("reconcile", "numbers", "1")
    assert yard.run("report", "outstanding", "--format", "csv").out.count(str(first)) == 0
    yard.run("book", "verify")


def test_a_control_total_that_counts_what_is_no_money_is_refused(yard: Firm) -> None:
    said = yard.run("batch", "accept", "delivery-note.csv", "--form", "delivery-note", "--control-total", "558.40",
                    "--item-count", "2", "--hash-total", "4224", expect=3)  # fmt: skip
    assert "0.00" in said.err


def test_a_file_named_without_its_ending_is_asked_after(tmp_path: Path) -> None:
    (tmp_path / "harbour.toml").write_text('name = "harbour"\n', "utf-8")
    with pytest.raises(InputRefused, match=r"no form definition at .*harbour; did you mean .*harbour\.toml\?"):
        library.find(str(tmp_path / "harbour"))
