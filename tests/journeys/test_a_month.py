"""A month of the boatyard's registers, accepted one after the other from each kind of file: the same proof codes.

Weekly wages that are the same from week to week are nobody's duplicates.
"""

import csv
from pathlib import Path

import pytest
from journeys.firm import Firm
from register.november import KINDS, NOVEMBER, SUPPLIERS, Kind, csv_of, hash_column, registers


def slip(register: str) -> tuple[str, ...]:
    """The totals that payroll worked out, by other means than the tool's."""
    rows = list(csv.DictReader(csv_of(register).read_text("utf-8").splitlines()))
    total = sum(round(float(row["amount"]) * 100) for row in rows if row.get("paid_by") != "transfer")
    return ("--control-total", f"{total // 100}.{total % 100:02}", "--item-count", str(len(rows)))


def codes(folder: Path, kind: Kind | None) -> list[str]:
    """The proof code of each register of the month, accepted in one book from one kind of file."""
    firm = Firm(folder).set_up()
    found = []
    for batch, register in enumerate(registers(), 1):
        form = "remittance-us" if register == SUPPLIERS else "payroll-us"
        path = NOVEMBER / f"{register}{kind.suffix}" if kind else csv_of(register)
        name = (kind.suppliers if register == SUPPLIERS else kind.payroll) if kind else ""
        by = ("--map", str(NOVEMBER / name)) if name else ()
        how = ("--form", form, "--hash-column", hash_column(register), *by)
        firm.run("batch", "accept", str(path), *how, *slip(register))
        found.append(firm.proof(batch))
    firm.run("book", "verify")
    return found


@pytest.fixture(scope="module")
def of_csv(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """The codes of the month from CSV."""
    return codes(tmp_path_factory.mktemp("csv"), None)


@pytest.mark.parametrize("kind", KINDS, ids=[kind.suffix for kind in KINDS])
def test_a_month_of_registers_has_the_same_proof_codes_from_every_kind_of_file(
    tmp_path: Path, of_csv: list[str], kind: Kind
) -> None:
    assert len(set(of_csv)) == 5
    assert codes(tmp_path, kind) == of_csv
