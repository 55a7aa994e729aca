"""The tutorial of a first payday, done as it stands: both terminals, every command, every answer, every line shown."""

import re
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from documents.pages import ROOT, steps
from journeys.terminal import Terminal

PAGE = ROOT / "docs" / "first-payday.md"
BLOCK = re.compile(r"^```(\w*)\n(.*?)^```", re.M | re.S)
#: what differs from one time to the next
TIMES = re.compile(r"\d+ (?:second|minute)s?|less than a second")


def free_port() -> int:
    """A port that nothing listens at."""
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


def said(lines: list[str]) -> str:
    """Lines as one, without what depends on the hour and the machine; of progress only what stands at the end."""
    kept = [line.rpartition("\r")[2] for line in lines]
    kept = [line for line in kept if not re.match(r"form \d+  \d+ of", line)]
    return TIMES.sub("a while", re.sub(r"\s+", " ", " ".join(kept))).strip()


class Lesson:
    """The two terminals of the page."""

    def __init__(self, folder: Path, tools: Any) -> None:
        self._folder, self._run = folder, tools
        self._open: dict[str, Terminal] = {}
        self._answered = ""
        self._rest: list[str] = []  # what was shown after the last answer of a stretch

    def console(self, block: str) -> None:
        """Commands of the first terminal, each with what it says."""
        for step in steps(f"```console\n{block}```"):
            done = self._run(step.typed)
            assert done.returncode == step.status, f"$ {step.typed}\n{done.stdout}"
            for line in step.shown:
                for piece in line.split("…"):
                    assert piece.strip() in done.stdout, f"$ {step.typed}\n{done.stdout}"

    def text(self, block: str) -> None:
        """A stretch of one of the two conversations."""
        lines = block.rstrip("\n").split("\n")
        if lines[0].startswith("$ cheque "):
            words = lines[0].split()[2:]
            environment = {"TERM": "xterm", "NO_COLOR": "1"}
            self._open[words[0]] = Terminal(self._folder, *words, columns=80, lines=24, environment=environment)
            lines = lines[1:]
        if "payday" in self._open and not any(line.startswith(">") for line in lines):
            for line in lines[:-1]:
                self._open["practice"].expect(line)
            self._open["practice"].type(lines[-1])
            self._open["practice"].expect(f"{lines[-1]}: done")
        elif "payday" in self._open:
            self._conversation(lines)
        else:
            self._open["practice"].expect("payroll-us at the head.")

    def _conversation(self, lines: list[str]) -> None:
        """Questions as the page has them, and its answers."""
        shown: list[str] = []
        for line in lines:
            if not line.startswith(">"):
                shown.append(line)
                continue
            self._asked(shown)
            self._answered = line[1:].strip()
            self._open["payday"].type(self._answered)
            shown = []
        self._rest = shown

    def _asked(self, shown: list[str]) -> None:
        told = self._open["payday"].question("> ")
        assert told is not None, self._open["payday"].text
        lines = told.split("\r\n")[:-1]
        if self._answered or lines[:1] == [""]:
            lines = lines[1:] if lines and lines[0].strip() == self._answered else lines
        assert said(lines) == said([*self._rest, *shown])
        self._rest = []

    def ended(self) -> None:
        """Both are done, as the page leaves them."""
        payday, practice = self._open["payday"], self._open["practice"]
        assert payday.ended() == 0
        for line in self._rest:
            assert line in payday.text
        practice.type("quit")
        assert practice.ended() == 0

    def abandon(self) -> None:
        """Nothing is left running."""
        for one in self._open.values():
            one.abandon()


@pytest.fixture
def lesson(tmp_path: Path) -> Iterator[Lesson]:
    (tmp_path / "cheque").write_text(f'#!/bin/sh\nexec "{sys.executable}" -m cheque "$@"\n')
    (tmp_path / "cheque").chmod(0o755)
    folder = tmp_path / "lesson"
    folder.mkdir()

    def run(typed: str) -> "subprocess.CompletedProcess[str]":
        return subprocess.run(
            ["sh", "-c", f'PATH="{tmp_path}:$PATH"; {typed}'], cwd=folder, stdin=subprocess.DEVNULL, text=True,
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False,
        )  # fmt: skip

    found = Lesson(folder, run)
    yield found
    found.abandon()


def test_the_first_payday_goes_as_the_page_shows(lesson: Lesson) -> None:
    text = PAGE.read_text("utf-8").replace("127.0.0.1:9100", f"127.0.0.1:{free_port()}")
    last_payday = max(found.start() for found in BLOCK.finditer(text) if found[1] == "text")
    for found in BLOCK.finditer(text):
        (lesson.console if found[1] == "console" else lesson.text)(found[2])
        if found.start() == last_payday:
            time.sleep(0.1)
            lesson.ended()
