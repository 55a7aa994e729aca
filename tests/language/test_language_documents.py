"""The documents say what the languages can do, word for word."""

from pathlib import Path

import pytest

from cheque.language import NAMES, VOUCHABLE, get
from cheque.language.escp import ASSIGNED
from cheque.language.ppds import PAGES
from cheque.language.tables import NATIONAL, TABLES
from cheque.prove import ALPHABET, PAGE_TAG, PAYMENT_TAG, PROOF_TAG

ROWS = (Path(__file__).parents[2] / "docs" / "printer-languages.md").read_text(encoding="utf-8").splitlines()


def test_every_ability_is_in_the_table_and_no_other():
    begin = ROWS.index("| language | ability | what it is |") + 2
    table = ROWS[begin : ROWS.index("", begin)]
    assert table == [f"| {name} | {key} | {what} |" for name in NAMES for key, what in get(name).abilities.items()]


@pytest.mark.parametrize("table", TABLES)
def test_every_character_table_is_there_with_the_command_that_chooses_it(table):
    escp = "panel"
    if table == "cp437":
        escp = "ESC t 1"
    elif table in ASSIGNED:
        escp = "ESC ( t {} {}".format(*map(ord, ASSIGNED[table]))
    elif table in NATIONAL:
        escp = f"ESC R {NATIONAL[table][0]}"
    ppds = "with 437" if table == "ascii" else "panel"
    if table in PAGES:
        ppds = " ".join(f"{ord(c):02X}" for c in PAGES[table])
    assert f"| {table} | {TABLES[table]} | {escp} | {ppds} |" in ROWS


def test_what_a_printer_can_be_vouched_for_is_told_with_its_key():
    assert all(any(f'`vouched = ["{name}"]`' in row for row in ROWS) for name in VOUCHABLE)


def test_the_serial_form_is_named_as_in_the_code():
    text = "\n".join(ROWS)
    for tag in (PAGE_TAG.decode().strip(), PAYMENT_TAG.decode().strip(), PROOF_TAG, ALPHABET):
        assert f"`{tag}`" in text
