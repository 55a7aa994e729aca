"""`cheque report` and `cheque reconcile` as they are typed: options, files, exit statuses, messages."""

import csv
import io
import json
import stat
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

import pytest
from report.payday import MAIN, Payday, crew, payment, played

from cheque.cli import status_of
from cheque.settings import template

REPORTS = ("issued", "control", "numbers", "outstanding", "cleared", "owed", "letters", "voids", "handover")
#: a payday that is over, whenever the tests run
START = datetime(2024, 3, 1, 12, tzinfo=UTC)


class Said(NamedTuple):
    """What a command said, and its exit status."""

    status: int
    out: str
    err: str


class Desk:
    """The command line over a payday's book."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.folder, self._capsys = folder, capsys
        (folder / "cheque.toml").write_text(
            template(
                drawer=MAIN.drawer,
                address=MAIN.address,
                bank=MAIN.bank,
                routing=MAIN.routing,
                number=MAIN.number,
                currency=MAIN.currency,
                locale=MAIN.locale,
            )
        )

    def run(self, *arguments: str, expect: int = 0) -> Said:
        """Run one command; it must end with the exit status expected."""
        status = status_of(["--settings", str(self.folder / "cheque.toml"), *arguments])
        said = Said(status, *self._capsys.readouterr())
        assert status == expect, said.err + said.out
        assert "fault of the tool's own" not in said.err
        return said


@pytest.fixture
def desk(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Iterator[Desk]:
    """The whole payday of `played`, on 1 March 2024."""
    with played(tmp_path, start=START).book:
        yield Desk(tmp_path, capsys)


@pytest.fixture
def begun(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Iterator[tuple[Payday, Desk]]:
    """A book with a box of forms and nothing else."""
    with (day := Payday(tmp_path, start=START)).book:
        day.receive()
        yield day, Desk(tmp_path, capsys)


@pytest.mark.parametrize("name", REPORTS)
def test_every_report_comes_in_every_format(desk: Desk, name: str) -> None:
    arguments = ("report", name, *(("--batch", "1") if name == "control" else ()))
    text = desk.run(*arguments).out
    assert text.startswith("Quillmere Boatyard Company")
    assert max(map(len, text.split("\n"))) <= 80
    assert json.loads(desk.run(*arguments, "--json").out)["report"] == name
    assert desk.run(*arguments, "--format", "json").out.startswith("{")
    found = list(csv.reader(io.StringIO(desk.run(*arguments, "--format", "csv").out, newline="")))
    assert found[0][:3] == ["table", "line", "group"]
    assert desk.run(*arguments, "--format", "html").out.startswith("<!doctype html>")


@pytest.mark.parametrize("name", REPORTS)
def test_talk_never_mixes_with_the_answer(desk: Desk, name: str) -> None:
    said = desk.run("report", name, *(("--batch", "1") if name == "control" else ()), "--json")
    assert said.err == ""
    json.loads(said.out)


def test_a_report_is_written_to_a_file_that_only_its_owner_can_read_and_never_over_another(desk: Desk) -> None:
    path = desk.folder / "issued.csv"
    said = desk.run("report", "issued", "--format", "csv", "-o", str(path))
    assert said.out == ""
    assert "only you can read it" in " ".join(said.err.split())
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    before = path.read_bytes()
    assert before.startswith(b"table,line,group,")
    assert b"\r\n" in before
    said = desk.run("report", "issued", "-o", str(path), expect=3)
    assert "is there already: nothing is written over" in said.err
    assert path.read_bytes() == before


def test_a_file_is_never_written_through_a_link(desk: Desk) -> None:
    target, link = desk.folder / "elsewhere", desk.folder / "link.txt"
    link.symlink_to(target)
    desk.run("report", "issued", "-o", str(link), expect=3)
    assert not target.exists()


def test_a_folder_that_is_not_there_is_told(desk: Desk) -> None:
    said = desk.run("report", "issued", "-o", str(desk.folder / "no" / "issued.txt"), expect=3)
    assert "No such file or directory" in said.err


class TestAsOf:
    def test_the_book_as_it_stood_at_the_end_of_a_day(self, begun: tuple[Payday, Desk]) -> None:
        day, desk = begun
        day.print(day.accept(crew(2)), 100501)
        day.clock.later(days=3)
        day.void(100501)
        now = json.loads(desk.run("report", "issued", "--json").out)
        then = json.loads(desk.run("report", "issued", "--as-of", "2024-03-02", "--json").out)
        assert [row["state"] for row in now["tables"][0]["rows"]] == ["good", "voided"]
        assert [row["state"] for row in then["tables"][0]["rows"]] == ["good", "good"]
        assert then["as_of"] == "the end of 2024-03-02"

    def test_ages_are_counted_to_that_day(self, begun: tuple[Payday, Desk]) -> None:
        day, desk = begun
        day.print(day.accept([payment(1, "Ay Li", 100, date="2024-03-01")]), 100501)
        found = json.loads(desk.run("report", "outstanding", "--as-of", "2024-03-31", "--json").out)
        assert [row["days"] for row in found["tables"][1]["rows"]] == [30]
        assert [row["cheques"] for row in found["tables"][0]["rows"]] == [1, 0, 0, 0, 0]
        found = json.loads(desk.run("report", "outstanding", "--as-of", "2024-09-01", "--json").out)
        assert [row["group"] for row in found["tables"][1]["rows"]] == ["Stale: over 180 days"]

    @pytest.mark.parametrize("text", ["1 March", "2024-02-30", "20240301"])
    def test_what_is_no_day_is_refused(self, desk: Desk, text: str) -> None:
        assert "wanted a day such as" in desk.run("report", "issued", "--as-of", text, expect=2).err

    def test_a_day_to_come_and_a_day_before_the_book_are_refused(self, desk: Desk) -> None:
        assert "has not come yet" in desk.run("report", "issued", "--as-of", "9999-01-01", expect=2).err
        assert "was not begun" in desk.run("report", "issued", "--as-of", "2020-01-01", expect=5).err


class TestWhatIsAskedFor:
    def test_an_account_or_a_batch_that_is_not_there_is_refused(self, desk: Desk) -> None:
        assert "no account 'mian'" in desk.run("report", "issued", "--account", "mian", expect=3).err
        assert "no batch 77" in desk.run("report", "issued", "--batch", "77", expect=5).err
        assert "wanted a batch's number" in desk.run("report", "voids", "--batch", "one", expect=2).err

    def test_days_the_wrong_way_round_are_refused(self, desk: Desk) -> None:
        said = desk.run("report", "issued", "--from", "2026-12-01", "--to", "2026-11-01", expect=2)
        assert "wanted the earlier day first" in said.err
        assert "wanted a day" in desk.run("report", "issued", "--from", "yesterday", expect=2).err

    def test_issued_by_days(self, desk: Desk) -> None:
        found = json.loads(desk.run("report", "issued", "--from", "2026-11-27", "--to", "2026-11-27", "--json").out)
        assert len(found["tables"][0]["rows"]) == 8
        found = json.loads(desk.run("report", "issued", "--to", "2026-11-26", "--json").out)
        assert found["tables"][0]["rows"] == []

    def test_numbers_of_a_range(self, desk: Desk) -> None:
        found = json.loads(desk.run("report", "numbers", "100503-100504", "--json").out)
        assert [row["state"] for row in found["tables"][0]["rows"]] == ["spoiled", "printed"]
        assert "give one of them" in desk.run("report", "numbers", "100503", "--batch", "1", expect=2).err
        assert "on no stock" in desk.run("report", "numbers", "7", expect=5).err

    def test_the_control_report_wants_a_batch_where_there_are_several(self, desk: Desk) -> None:
        assert "which batch? --batch with one of 1 to 2" in desk.run("report", "control", expect=2).err

    def test_the_only_batch_need_not_be_named(self, begun: tuple[Payday, Desk]) -> None:
        day, desk = begun
        assert "there is no batch yet" in desk.run("report", "control", expect=5).err
        day.accept(crew(1))
        assert "Control report, batch 1" in desk.run("report", "control").out

    def test_handover_without_and_with_amounts(self, desk: Desk) -> None:
        assert "863.79" not in desk.run("report", "handover").out
        assert "863.79" in desk.run("report", "handover", "--amounts").out
        assert "handed over" in desk.run("report", "handover", "--all").out

    def test_a_batch_of_another_account_is_refused(self, begun: tuple[Payday, Desk]) -> None:
        day, desk = begun
        day.receive("000201", "000240", account="quay")
        day.accept(crew(1))
        said = desk.run("report", "issued", "--batch", "1", "--account", "quay", expect=2)
        assert "is not of account quay" in said.err


class TestPages:
    def test_form_feeds_and_lines_are_the_texts_own(self, desk: Desk) -> None:
        text = desk.run("report", "control", "--batch", "1", "--form-feed", "--page-lines", "40").out
        assert text.count("\f") >= 2
        assert "\f" not in desk.run("report", "control", "--batch", "1").out
        assert "Page" not in desk.run("report", "control", "--batch", "1", "--page-lines", "0").out

    @pytest.mark.parametrize(
        ("options", "message"),
        [
            (("--format", "csv", "--form-feed"), "are for text, not for csv"),
            (("--json", "--page-lines", "60"), "are for text, not for json"),
            (("--json", "--format", "html"), "found --json and --format html"),
            (("--page-lines", "5"), "wanted at least 18"),
            (("--page-lines", "-1"), "wanted at least 18"),
            (("--page-lines", "0", "--form-feed"), "a form feed ends a page"),
            (("--format", "pdf"), "pdf"),
        ],
    )
    def test_options_that_make_no_sense_together_are_refused(
        self, desk: Desk, options: tuple[str, ...], message: str
    ) -> None:
        assert message in desk.run("report", "issued", *options, expect=2).err


class TestReconcile:
    def test_a_batch_that_agrees_ends_with_0(self, desk: Desk) -> None:
        said = desk.run("reconcile", "numbers", "1")
        assert "Everything agrees." in said.out
        assert "100503 was spoiled (torn at the perforation)" in said.out
        found = json.loads(desk.run("reconcile", "numbers", "1", "--json").out)
        assert found["agrees"] is True
        assert found["about"]["unexplained"] == 0

    def test_a_batch_in_doubt_ends_with_1_and_says_what(self, begun: tuple[Payday, Desk]) -> None:
        day, desk = begun
        day.run(day.accept(crew(2)), 100501)
        said = desk.run("reconcile", "numbers", "1", expect=1)
        assert "IT DOES NOT ALL AGREE" in said.out
        assert "nobody has said what became of them" in " ".join(said.out.split())
        found = json.loads(desk.run("reconcile", "numbers", "1", "--json", expect=1).out)
        assert found["agrees"] is False
        assert found["about"]["unexplained"] == 1
        unexplained = next(table for table in found["tables"] if table["table"] == "unexplained")
        assert unexplained["notes"][0].startswith("100501-100502 are sent with payments")

    def test_a_batch_of_which_nothing_was_printed(self, begun: tuple[Payday, Desk]) -> None:
        day, desk = begun
        day.accept(crew(2))
        said = desk.run("reconcile", "numbers", "1")
        assert "Nothing of the batch was printed." in said.out
        assert "payment 1 and 1 more still wait for a form." in said.out

    def test_a_batch_that_is_not_there(self, desk: Desk) -> None:
        assert "no batch 9" in desk.run("reconcile", "numbers", "9", expect=5).err
        assert "wanted a batch's number" in desk.run("reconcile", "numbers", "x", expect=2).err

    def test_it_can_be_kept_in_the_binder(self, desk: Desk) -> None:
        path = desk.folder / "numbers.html"
        desk.run("reconcile", "numbers", "1", "--format", "html", "-o", str(path))
        assert path.read_text().startswith("<!doctype html>")
        assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_box_that_does_not_add_up_ends_with_1(begun: tuple[Payday, Desk]) -> None:
    day, desk = begun
    with day.book.store.writing():
        day.book.store.execute("UPDATE tally SET forms = forms - 1 WHERE state = 'on hand'")
    assert "IT DOES NOT ALL AGREE" in desk.run("report", "numbers", expect=1).out


def test_reports_change_nothing(desk: Desk) -> None:
    from cheque.book.book import open_book

    with open_book(desk.folder / "book") as book:
        before = book.head
    for name in REPORTS:
        desk.run("report", name, *(("--batch", "1") if name == "control" else ()))
    desk.run("reconcile", "numbers", "1")
    with open_book(desk.folder / "book") as book:
        assert book.head == before


@pytest.mark.parametrize("digest", ["", " ", "\t"])
def test_a_digest_of_nothing_proves_nothing_and_is_refused(desk: Desk, digest: str) -> None:
    assert "proves nothing" in desk.run("book", "verify", "--digest", digest, expect=2).err
