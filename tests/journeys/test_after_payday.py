"""After payday, by commands: void with a disposition, what is owed, whom to write to, any day looked back at."""

import csv
import io
import json

import pytest
from journeys.firm import Firm

from cheque.cli.reconcile import reconcile_command
from cheque.cli.report import report_command

REPORTS = (
    "issued",
    "control",
    "numbers",
    "outstanding",
    "cleared",
    "owed",
    "unclaimed",
    "letters",
    "voids",
    "handover",
    "stops",
)


@pytest.fixture
def after(paid: Firm) -> Firm:
    """The payday done; 100501 void and undecided, 100502 void and paid otherwise, an age stated for unclaimed money."""
    paid.change('currency = "USD"', 'currency = "USD"\nunclaimed_after_days = 400')
    paid.run("void", "100501", "--reason", "stale", "--paper", "returned")
    paid.run("void", "100502", "--reason", "paid in cash on Monday", "--paper", "in-hand",
             "--disposition", "paid-otherwise")  # fmt: skip
    return paid


def test_a_void_that_decides_nothing_says_where_the_debt_is_listed(paid: Firm) -> None:
    said = paid.run("void", "100501", "--reason", "stale", "--paper", "returned").err
    assert "voiding a wage cheque does not cancel the wage" in said
    assert "`cheque report owed` lists it" in said
    told = paid.run("report", "owed", "--json").json
    assert [(row["number"], row["group"]) for row in told["tables"][0]["rows"]] == [("100501", "Nothing decided")]


def test_what_is_settled_is_not_printed_again(after: Firm) -> None:
    told = after.run("reprint", "100502", expect=5).err
    assert "is paid otherwise (paid in cash on Monday): it is not printed again" in told
    after.run("disposition", "100502", "reissue", "--reason", "the cash came back")
    after.run("reprint", "100502")
    assert "waits to be printed again as batch" in after.run(
        "disposition", "100502", "not-owed", "--reason", "x", expect=5).err  # fmt: skip
    story = after.run("show", "100502").out
    assert "paid otherwise: paid in cash on Monday" in story
    assert "reissue: the cash came back" in story
    assert after.run("book", "verify", "--json").json["whole"] is True


@pytest.mark.parametrize("words", [
    ("disposition", "100503", "not-owed", "--reason", "x"),  # not void
    ("disposition", "100599", "not-owed", "--reason", "x"),  # in the box
    ("disposition", "1", "not-owed", "--reason", "x"),  # on no stock
])  # fmt: skip
def test_only_a_void_cheque_has_a_debt_to_decide(after: Firm, words: tuple[str, ...]) -> None:
    assert after.run(*words, expect=5).err.startswith("cheque: ")


def test_a_disposition_without_reason_or_of_another_name_is_refused(after: Firm) -> None:
    assert "--reason" in after.run("disposition", "100501", "reissue", expect=2).err
    assert "is not one of 'reissue', 'still-owed'" in after.run(
        "disposition", "100501", "lost", "--reason", "x", expect=2).err  # fmt: skip
    assert "for a reason" in after.run("disposition", "100501", "reissue", "--reason", " ", expect=2).err


def test_unclaimed_needs_an_age_and_assumes_none(paid: Firm) -> None:
    assert "no figure is assumed" in paid.run("report", "unclaimed", expect=3).err
    paid.change('currency = "USD"', 'currency = "USD"\nunclaimed_after_days = 1\nunclaimed_after_years = 1')
    assert "unclaimed_after_days as well; wanted one of the two" in paid.run("report", "unclaimed", expect=3).err


def test_the_list_for_letters_is_read_by_any_program_of_tables(after: Firm) -> None:
    said = after.run("report", "letters", "--over", "0", "--merge")
    records = list(csv.DictReader(io.StringIO(said.out, newline="")))
    assert "wanted one of them" in after.run("report", "letters", "--merge", "--json", expect=2).err
    told = after.run("report", "letters", "--over", "0", "--json").json["tables"][0]["rows"]
    assert [record["numbers"] for record in records] == [row["numbers"] for row in told]
    after.run("report", "letters", "--merge", "-o", "letters.csv")
    assert (after.folder / "letters.csv").read_text("utf-8").startswith("payee,cheques,total,address,address1,")


@pytest.mark.parametrize("words", [("report", name) for name in REPORTS] + [
    ("report", "control", "--batch", "1"), ("report", "listing", "1", "--payment", "3"), ("reconcile", "numbers", "1"),
], ids=" ".join)  # fmt: skip
def test_every_report_looks_back_at_any_day_in_every_format(after: Firm, words: tuple[str, ...]) -> None:
    """A day before the book was begun is refused, as is one to come; the day itself tells what there is now."""
    day = after.run("report", "issued", "--json").json["as_of"][:10]
    for form in ("text", "csv", "json", "html"):
        assert after.run(*words, "--as-of", day, "--format", form, expect=None).out
    now = after.run(*words, "--json", expect=None).json
    then = after.run(*words, "--as-of", day, "--json", expect=None).json
    assert then["as_of"] == f"the end of {day}"
    assert json.dumps(then["tables"]) == json.dumps(now["tables"])
    assert "was not begun by" in after.run(*words, "--as-of", "2020-01-01", expect=5).err
    assert "has not come yet" in after.run(*words, "--as-of", "2999-01-01", expect=2).err


def test_every_report_and_the_numbers_reconciled_take_a_day() -> None:
    tried = {*REPORTS, "control", "listing", "payroll"}
    assert set(report_command.commands) == tried
    for command in [*report_command.commands.values(), reconcile_command.commands["numbers"]]:
        assert any("--as-of" in parameter.opts for parameter in command.params), command.name


def test_the_file_back_to_payroll_looks_back_too(after: Firm) -> None:
    day = after.run("report", "issued", "--json").json["as_of"][:10]
    after.run("report", "payroll", "-o", "now.csv")
    after.run("report", "payroll", "--as-of", day, "-o", "then.csv")
    assert (after.folder / "now.csv").read_bytes() == (after.folder / "then.csv").read_bytes()
    assert "was not begun by" in after.run("report", "payroll", "--as-of", "2020-01-01", expect=5).err
