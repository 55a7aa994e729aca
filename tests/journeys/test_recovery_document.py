"""The document on recovery speaks of commands and options that there are, and its hard cases go as it says."""

import re
from pathlib import Path

import click
import pytest
from journeys.firm import Firm

from cheque.cli import cli

DOCUMENT = Path(__file__).parents[2] / "docs" / "recovery.md"
GO = ("--paper-loaded", "--after-first", "go-on")


def options(command: click.Command) -> set[str]:
    return {option for parameter in command.params for option in parameter.opts}


def test_every_command_and_option_in_the_document_exists() -> None:
    text = DOCUMENT.read_text()
    context = click.Context(cli)
    known: set[str] = set()
    for line in re.findall(r"(?m)(?:`|^)cheque ([a-z]+[^`\n]*)", text):
        words = line.split()
        command = cli.get_command(context, words[0])
        assert command is not None, line
        if isinstance(command, click.Group):
            command = command.get_command(context, words[1])
            assert command is not None, line
        given = {word for word in words if word.startswith("--")}
        assert given <= options(command), line
        known |= options(command)
    assert set(re.findall(r"`(--[a-z-]+)", text)) <= known


def test_every_file_the_document_points_to_is_there() -> None:
    for path in re.findall(r"`(docs/[^`]+)`", DOCUMENT.read_text()):
        assert (DOCUMENT.parents[1] / path).is_file(), path


@pytest.fixture
def firm(tmp_path: Path) -> Firm:
    return Firm(tmp_path).set_up()


def test_out_of_paper_with_no_sensor_goes_as_the_document_says(firm: Firm) -> None:
    for first, last in (("103001", "103010"), ("102001", "102500")):
        firm.run("stock", "receive", "payroll-us", "--account", "main", "--first", first, "--last", last)
    firm.accept()
    firm.print(1, 103001, "--count", "10")
    firm.run("confirm", "1", "--good-count", "6", "--blank", "103007-103010")
    firm.run("resume", "1", "--next-number", "102001", "--power-cycled", *GO)
    firm.run("confirm", "1", "--good-count", "18")
    firm.run("book", "verify")
    assert firm.run("show", "102001", "--json").json["payment"] == "7 of batch 1"


def test_a_jam_goes_as_the_document_says(firm: Firm) -> None:
    firm.accept()
    firm.print(1, 100501)
    firm.run(
        "resume", "1", "--last-good", "100507", "--next-number", "100509", "--between", "crumpled",
        "--power-cycled", *GO,
    )  # fmt: skip
    assert firm.run("show", "100508", "--json").json["is"] == "spoiled"
    assert firm.run("show", "100509", "--json").json["payment"] == "8 of batch 1"
    firm.run("confirm", "1", "--good-count", "17")
    firm.run("reconcile", "numbers", "1")


def test_a_torn_form_among_good_ones_goes_as_the_document_says(firm: Firm) -> None:
    firm.accept()
    firm.print(1, 100501)
    firm.run("confirm", "1", "--good-count", "23", "--spoiled", "100507=torn")
    firm.run("resume", "1", "--next-number", "100525", "--power-cycled", *GO)
    firm.run("confirm", "1", "--good-count", "1")
    assert firm.run("show", "100525", "--json").json["payment"] == "7 of batch 1"
    firm.run("reconcile", "numbers", "1")
