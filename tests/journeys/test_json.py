"""Every command that reports takes --json: it parses, stands alone on standard output, and has the figures."""

import json
import re
from pathlib import Path

import pytest
from cli.absurd import COMMANDS
from journeys.firm import REGISTER, TOTALS, Firm, Said

#: how each command that takes --json is called on a firm that has been paid, and its exit status
CALLS: dict[tuple[str, ...], tuple[str, ...]] = {
    ("align",): ("payroll-us", "--reading", "right"),
    ("batch", "accept"): ("payday-with-advice.csv", "--form", "payroll-us", "--control-total", "3016.07",
                          "--item-count", "6"),
    ("batch", "list"): (),
    ("batch", "show"): ("1",),
    ("book", "verify"): (),
    ("find",): ("Ay Li",),
    ("form", "check"): ("payroll-us",),
    ("form", "list"): (),
    ("form", "show"): ("payroll-us",),
    ("proof",): ("1",),
    ("reconcile", "numbers"): ("1",),
    ("register", "check"): ("payday-with-advice.csv",),
    ("report", "cleared"): (),
    ("report", "control"): (),
    ("report", "handover"): (),
    ("report", "issued"): (),
    ("report", "letters"): (),
    ("report", "numbers"): (),
    ("report", "outstanding"): (),
    ("report", "owed"): (),
    ("report", "voids"): (),
    ("show",): ("100501",),
    ("stock", "list"): (),
    ("words",): ("18214.77",),
}  # fmt: skip
#: when something was asked or done
_TIME = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d+)?Z?)?")
#: called in a journey of their own, below or elsewhere, because they need something to have happened before
ELSEWHERE = {("confirm",), ("print",), ("renumber",), ("reprint",), ("resume",)}


def reporting() -> set[tuple[str, ...]]:
    """Every command that takes --json."""
    return {words for words, command in COMMANDS.items() if any("--json" in param.opts for param in command.params)}


@pytest.mark.parametrize("words", sorted(CALLS), ids=" ".join)
def test_json_stands_alone_on_standard_output(paid: Firm, words: tuple[str, ...]) -> None:
    paid.register("payday-with-advice.csv")
    assert paid.run(*words, *CALLS[words], "--json").json not in (None, "", [], {})


@pytest.mark.parametrize("words", sorted(CALLS), ids=" ".join)
def test_json_is_the_same_in_every_language(paid: Firm, words: tuple[str, ...], tmp_path: Path) -> None:
    """Each language asks the same firm in the same state; only the times of the asking may differ."""
    paid.register("payday-with-advice.csv")
    said = []
    for language in ("en", "fr"):
        (tmp_path / language).mkdir()
        firm = paid.copy(tmp_path / language)
        answer = firm.run("--language", language, *words, *CALLS[words], "--json").out
        said.append(_TIME.sub("TIME", answer.replace(str(firm.folder), "FOLDER")))
    assert said[0] == said[1]


def test_every_command_that_reports_is_called_so() -> None:
    """A new command that takes --json is added to CALLS above, or called so by the tests of its own room."""
    known = {*CALLS, *ELSEWHERE}
    assert known <= reporting()
    files = [path.read_text("utf-8") for path in Path(__file__).parents[1].rglob("test_*.py")]
    untried = {
        words
        for words in reporting() - known
        if not any(", ".join(f'"{word}"' for word in words) in text and '"--json"' in text for text in files)
    }
    assert untried == set()


def test_a_whole_payday_in_json_has_the_figures(firm: Firm) -> None:
    def told(*line: str, expect: int = 0) -> Said:
        return firm.run(*line, "--json", expect=expect)

    checked = told("register", "check", firm.register()).json
    assert checked["item_count"] == 24
    assert checked["new_payees"][0] == {"payee": "Niamh O'Dunmarrow", "amount": "863.79", "reference": "W48-2101"}
    accepted = told("batch", "accept", REGISTER, "--form", "payroll-us", *TOTALS).json
    assert accepted["batch"] == 1
    assert accepted["control_total"] == "18214.77"
    assert accepted["hash_total"] == "51877"
    assert accepted["pairs_digest"] == checked["pairs_digest"]
    proof = told("proof", "1").json
    assert proof["payments"] == 24
    assert len(proof["digest"]) == 64
    printed = told(
        "print", "1", "--first-number", "100501", "--proof-code", proof["proof_code"], "--paper-loaded",
        "--after-first", "go-on", "--count", "20",
    ).json  # fmt: skip
    assert (printed["run"], printed["sent"], printed["first"], printed["last"]) == (1, 20, 100501, 100520)
    confirmed = told("confirm", "1", "--good-count", "19", "--spoiled", "100502=torn").json
    assert confirmed == {
        "batch": 1,
        "good": 19,
        "spoiled": [100502],
        "missing": [],
        "blank": [],
        "held_back": [],
        "still_to_print": 5,
    }
    resumed = told(
        "resume", "1", "--power-cycled", "--next-number", "100521", "--paper-loaded", "--after-first", "go-on"
    ).json
    assert (resumed["run"], resumed["sent"], resumed["first"], resumed["last"]) == (2, 5, 100521, 100525)
    told("confirm", "1", "--good-count", "5")
    shown = told("batch", "show", "1").json
    assert shown["is"] == "done"
    assert shown["payments"][1] == {
        "payment": 2, "payee": "Aurélie Thornquay-Baptiste", "amount": "678.73", "date": "2026-11-27",
        "reference": "W48-2104", "role": "cheque", "expected": "100502", "number": 100521, "is": "printed",
    }  # fmt: skip
    firm.run("void", "100503", "--paper", "in-hand", "--reason", "wrong hours")
    again = told("reprint", "100503").json
    assert again == {"batch": 2, "replaces": "main:100503", "payee": "Björn Saltängen"}
    show = told("show", "100503").json
    assert show["is"] == "voided"
    assert show["amount"] == "627.28 USD"
    assert show["reason"] == "wrong hours"
    assert "18214.77" in told("report", "control", "--batch", "1").out
    assert told("stock", "list").json[0]["states"]["printed"] == 23
    assert told("book", "verify").json["whole"] is True


def test_a_refusal_leaves_standard_output_empty(paid: Firm) -> None:
    for line in (
        ("batch", "show", "9", "--json"),
        ("show", "300501", "--json"),
        ("print", "1", "--proof-code", "2222-2222", "--json"),
        ("confirm", "1", "--good-count", "1", "--json"),
        ("register", "check", "nothere.csv", "--json"),
    ):
        said = paid.run(*line, expect=None)
        assert said.status in (3, 5)
        assert said.out == ""
        assert said.err.splitlines()[-1].startswith("cheque: ")


def test_words_as_json_one_line_each_with_every_part(firm: Firm) -> None:
    said = firm.run("words", "-", "--json", stdin=b"1234.56\n0.07\n")
    first, second = (json.loads(line) for line in said.out.splitlines())
    assert first.pop("shorter") == ["Twelve hundred thirty-four and 56/100"]
    assert first == {
        "amount": "1234.56", "minor_units": 123456, "currency": "USD", "locale": "en_US",
        "whole": "one thousand two hundred thirty-four", "legal": "One thousand two hundred thirty-four and 56/100",
        "figures": "1,234.56",
    }  # fmt: skip
    assert second["minor_units"] == 7
    said = firm.run("words", "-", "--json", stdin=b"1.00\n1.005\n\xff\n", expect=3)
    assert json.loads(said.out)["legal"] == "One and 00/100"
    assert "2 amounts refused." in said.err
    assert "line 2" in said.err
    assert "line 3" in said.err
    assert "UTF-8" in said.err
