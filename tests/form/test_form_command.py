"""`cheque form`, as a user runs it."""

from pathlib import Path

import pytest
from form.small_form import SMALL, changed
from journeys.firm import Firm
from PIL import Image


@pytest.fixture
def bench(tmp_path: Path) -> Firm:
    """A folder with the small form in it and no settings."""
    (tmp_path / "small.toml").write_text(SMALL, "utf-8")
    return Firm(tmp_path)


def test_the_library_is_listed_with_ones_own_marked(bench: Firm) -> None:
    told = bench.run("form", "list").out
    assert "delivery-note" in told
    assert "8 1/2 in x 7 in" in told
    assert {one["form"] for one in bench.run("form", "list", "--json").json} >= {"payroll-us", "cheque-in"}


def test_a_form_without_faults_is_checked_with_0_and_one_with_faults_with_1(bench: Firm) -> None:
    good = bench.run("form", "check", "payroll-us")
    assert "Rules of US: 11 kept, 2 ask. `--rules us` lists each." in good.out
    assert "can be put to use" in good.err
    (bench.folder / "small.toml").write_text(changed(("line = 22", "line = 24")), "utf-8")
    bad = bench.run("form", "check", "small.toml", expect=1)
    assert "fault: form small, signature (line 24, column 50): found print down to 4 in" in bad.out
    assert "small has 2 faults and cannot be put to use." in bad.err
    assert "clear-band" in bad.out


def test_each_rule_is_listed_with_what_was_found_by_how_much_and_its_source(bench: Firm) -> None:
    told = bench.run("form", "check", "payroll-us", "--rules", "in", expect=1)
    assert "broken    date-boxes: 0 digits in boxes of their own" in told.out
    assert "doubtful  length: the cheque is 8 1/2 in long, by 11.7 mm" in told.out
    assert "Reserve Bank of India, CTS-2010 annexure, 2010-02-22 and 2010-06-22 (published)." in told.out
    assert "payroll-us breaks 4 rules of IN; as a form of US it can be used." in told.err
    assert "wanted one of us, ca, gb" in bench.run("form", "check", "payroll-us", "--rules", "xx", expect=2).err


def test_the_answer_as_json_has_rules_and_parts(bench: Firm) -> None:
    told = bench.run("form", "check", "cheque-ca", "--json").json
    assert {rule["outcome"] for rule in told["rules"]} == {"kept", "ask"}
    assert all(rule["source"] and rule["basis"] for rule in told["rules"])
    assert told["parts"][2]["must_not_show"] == ["text", "hours", "rate", "identity"]
    assert "stub.text" in told["parts"][2]["hides"]
    assert told["parts"][2]["broken"] == []


def test_papers_and_countries_without_rules_say_so(bench: Firm) -> None:
    assert "It is no cheque" in bench.run("form", "check", "petty-cash").out
    (bench.folder / "small.toml").write_text(changed(('country = "US"', 'country = "NZ"')), "utf-8")
    assert "There are no rules of NZ here" in bench.run("form", "check", "small.toml").out


def test_a_form_is_shown_as_text_with_its_parts_its_fields_and_who_sees_what(bench: Firm) -> None:
    told = bench.run("form", "show", "small.toml", "--slack").out
    assert "Part 2 of 2 · copy · goes to the file" in told
    assert " 17 | [payee.......................]" in told
    assert "[#2....]" in told  # its name, cheque-number, is longer than its place
    assert "#2   cheque-number" in told
    assert "  7 |░░░░" in told
    (row,) = [line for line in told.splitlines() if line.startswith("#1 ")]
    assert row.endswith("2     2       1      8     1/10 in     1 in         1/6 in    0 in")
    assert "payee  " in bench.run("form", "show", "small.toml", "--who").out


@pytest.mark.parametrize(
    ("kind", "begins"), [("svg", b"<svg"), ("pdf", b"%PDF"), ("png", b"\x89PNG"), ("txt", b"small")]
)
def test_a_form_is_drawn_as_a_file_of_each_kind(bench: Firm, kind: str, begins: bytes) -> None:
    bench.run("form", "show", "small.toml", "-o", f"form.{kind}", "--slack")
    path = bench.folder / f"form.{kind}"
    assert path.read_bytes().startswith(begins)
    assert path.stat().st_mode & 0o077 == 0
    assert "is there already" in bench.run("form", "show", "small.toml", "-o", f"form.{kind}", expect=3).err
    bench.run("form", "show", "small.toml", "-o", f"form.{kind}", "--replace", "--part", "2")
    if kind == "png":
        with Image.open(path) as image:
            assert image.width > image.height  # one part alone


def test_a_part_or_a_kind_of_file_that_there_is_not_is_refused(bench: Firm) -> None:
    assert (
        "wanted 1 to 2, for small has so many" in bench.run("form", "show", "small.toml", "--part", "3", expect=2).err
    )
    assert "ends in .txt, .svg, .pdf, .png" in bench.run("form", "show", "small.toml", "-o", "a.gif", expect=2).err
    assert bench.run("form", "show", "small.toml", "--json").json["parts"][0]["goes_to"] == "the payee"
    assert "there is no form 'xyzzy'" in bench.run("form", "show", "xyzzy", expect=3).err


def test_the_help_lists_the_commands_of_a_form(bench: Firm) -> None:
    told = bench.run("form", "--help").out
    assert all(name in told for name in ("list", "show", "check"))
    assert "No such command" in bench.run("form", "xyzzy", expect=2).err
