"""Faults in French: the same faults, at the same places, in the same order as in English, each in whole sentences."""

import csv
import re
from collections.abc import Iterator

import pytest
from journeys.firm import DEMO, REGISTER, Firm

from cheque import library, tongue

#: where a fault is: the file, its line, and the column, key or field if it has one
_WHERE = re.compile(r"^  (?P<file>\S+) (?:line|ligne) (?P<line>\d+)(?P<more>[^:]*?) ?: (?P<said>.*)$", re.MULTILINE)


@pytest.fixture(autouse=True)
def english_after() -> Iterator[None]:
    yield
    tongue.speak(None)


@pytest.fixture(scope="module")
def firm(tmp_path_factory: pytest.TempPathFactory) -> Firm:
    """A firm with settings and stock, that refuses nothing yet."""
    return Firm(tmp_path_factory.mktemp("french")).set_up()


def bad_register(firm: Firm) -> str:
    """The demo's register with a fault of each of seven kinds, each on its line."""
    with (DEMO / REGISTER).open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    at = rows[0].index
    rows[1][at("amount")] = "12x"
    rows[2][at("date")] = "2026-02-30"
    rows[3][at("payee")] = ""
    rows[5] = list(rows[4])
    rows[6].append("one cell too many")
    rows[7][at("payee")] = "Zo\u200bMarlinspike"
    rows[8][at("amount")] = "0.01"
    with (firm.folder / "bad.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)
    return "bad.csv"


def places(said: str) -> list[tuple[str, str, str]]:
    """Where each fault is."""
    return [(found["file"], found["line"], found["more"]) for found in _WHERE.finditer(said)]


def test_a_bad_register_is_told_in_french_fault_by_fault_as_in_english(firm: Firm) -> None:
    name = bad_register(firm)
    english = firm.run("register", "check", name, expect=3).err
    french = firm.run("--language", "fr", "register", "check", name, expect=3).err
    assert [line for _, line, _ in places(english)] == ["2", "3", "4", "6", "7", "8", "9"]
    assert places(french) == places(english)
    assert "bad.csv est refusé : 7 fautes." in french
    for found in _WHERE.finditer(french):
        assert found["said"].startswith("trouvé ")
        assert " ; attendu " in found["said"]
    assert "mêmes bénéficiaire, montant, date et référence que la ligne 5" in french
    assert "U+200B ZERO WIDTH SPACE (un caractère sans largeur) au caractère 3" in french


def test_a_bad_form_is_told_in_french_fault_by_fault_as_in_english(firm: Firm) -> None:
    text = library.find("payroll-us").read_text("utf-8").replace("[grid]", "[grid]\nwobble = 3", 1)
    text = text.replace('what = "date"', 'what = "dote"').replace('country = "US"', 'country = "Us of A"')
    (firm.folder / "bad.toml").write_text(text, "utf-8")
    english = firm.run("form", "check", "bad.toml", expect=3).err
    french = firm.run("--language", "fr", "form", "check", "bad.toml", expect=3).err
    assert len(places(english)) >= 3
    assert places(french) == places(english)
    assert "une clé inconnue" in french
    assert "vouliez-vous dire 'date' ?" in french


def test_totals_that_disagree_are_explained_in_french(firm: Firm) -> None:
    """The names of the totals are looked up by their English ones: the language must not lose an explanation."""
    firm.register()
    slip = ("--control-total", "18241.77", "--item-count", "23", "--hash-total", "51877")
    accept = ("batch", "accept", REGISTER, "--form", "payroll-us", "--account", "main", *slip)
    english = firm.run(*accept, expect=3).err
    french = firm.run("--language", "fr", *accept, expect=3).err
    assert len(french.splitlines()) == len(english.splitlines())
    assert "total de contrôle : 18241.77 sur le bordereau et 18214.77 dans le registre, qui a 27.00 de moins." in french
    assert "total de contrôle : peut-être saisi avec deux chiffres intervertis : 18241.77 pour 18214.77." in french
