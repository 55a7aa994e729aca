"""The page on reports says what the commands do: its examples are run, its options and columns are looked up."""

import re
import time
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from report.payday import MAIN, played

from cheque.cli import status_of
from cheque.cli.reconcile import reconcile_command
from cheque.cli.report import report_command
from cheque.settings import template

PAGE = Path(__file__).resolve().parents[2] / "docs" / "reports.md"
TEXT = PAGE.read_text("utf-8")
EXAMPLES = re.findall(r"<!-- tested: (.+?) -->\n```text\n(.*?)```", TEXT, re.DOTALL)
#: what differs from one reading to the next
_WHEN = re.compile(r"(as of) \d{4}-\d\d-\d\d \d\d:\d\d")


@pytest.fixture
def settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """The settings of a firm whose payday was played."""
    monkeypatch.setenv("TZ", "UTC")
    time.tzset()
    path = tmp_path / "cheque.toml"
    path.write_text(
        template(
            drawer=MAIN.drawer, address=MAIN.address, bank=MAIN.bank, routing=MAIN.routing,
            number=MAIN.number, currency=MAIN.currency, locale=MAIN.locale,
        )
    )  # fmt: skip
    with played(tmp_path).book:
        yield str(path)
    monkeypatch.undo()
    time.tzset()


@pytest.mark.parametrize(("command", "shown"), EXAMPLES, ids=[command for command, _ in EXAMPLES])
def test_an_example_is_what_the_command_says(
    settings: str, capsys: pytest.CaptureFixture[str], command: str, shown: str
) -> None:
    assert status_of(["--settings", settings, *command.split()]) == 0
    said = capsys.readouterr().out
    assert _WHEN.sub(r"\1 WHEN", shown) == _WHEN.sub(r"\1 WHEN", said)


def test_there_are_examples() -> None:
    assert len(EXAMPLES) == 2


def test_every_report_and_every_option_is_on_the_page() -> None:
    for name, command in {**report_command.commands, **reconcile_command.commands}.items():
        text = (PAGE.parent / "bank-statements.md").read_text("utf-8") if name == "bank" else TEXT
        assert f"`{name}`" in text or f"reconcile {name}" in text
        for parameter in command.params:
            if isinstance(parameter, click.Option):
                assert any(option in text + TEXT for option in parameter.opts), f"{name} {parameter.opts}"
    assert set(re.findall(r"^\| `(\w+)` \| (?:which|does|what|who|all)", TEXT, re.MULTILINE)) >= set(
        report_command.commands
    )
