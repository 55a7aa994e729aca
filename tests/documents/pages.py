"""The documents as tests read them: blocks that are run, commands that must exist, links that must lead somewhere.

A page with `<!-- run: empty -->`, or another of these words, in its first line has its ```console
blocks run, in order, in one folder that begins so:

    empty   nothing in it
    desk    the demo's registers, in `demo/`, and nothing else
    firm    Quillmere's settings, an empty book, a box of forms 100501 to 101000, the demo's registers in `demo/`
    demo    what `cheque demo` leaves

In such a block a line that begins with `$ ` is a command for the shell; what follows up to the next is what it says
(answers and talk together), in order, and `…` stands for any text within a line, or for any lines when alone.
A line `$ …  # exits 3` ends with that status; all others with 0.
"""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
PAGES = sorted([*(ROOT / "docs").glob("*.md"), ROOT / "README.md", ROOT / "DEVELOPERS.md"])
_BLOCK = re.compile(r"^```(\w*)[^\n]*\n(.*?)^```", re.M | re.S)
_EXITS = re.compile(r"\s+# exits (\d)$")


class Step(NamedTuple):
    """One command of a page: what is typed, the status it ends with, and the lines shown after it."""

    typed: str
    status: int
    shown: tuple[str, ...]


def begins(text: str) -> str:
    """How the folder of a page begins, or "" when its blocks are not run."""
    found = re.match(r"<!-- run: (\w+) -->", text)
    return found[1] if found else ""


def steps(text: str) -> Iterator[Step]:
    """The commands of a page's console blocks."""
    for kind, block in _BLOCK.findall(text):
        if kind != "console":
            continue
        typed, shown = "", []
        for line in [*block.splitlines(), "$ "]:
            if line.startswith("$ "):
                if typed:
                    exits = _EXITS.search(typed)
                    yield Step(_EXITS.sub("", typed), int(exits[1]) if exits else 0, tuple(shown))
                typed, shown = line[2:], []
            elif typed.endswith("\\"):
                typed = typed[:-1] + line.strip()
            else:
                shown.append(line)


def agrees(shown: tuple[str, ...], said: str) -> str:
    """The first line that a page shows and the command did not say, in order; "" when all were said."""
    lines = [re.sub(r"\s+", " ", line).strip() for line in said.splitlines()]
    at = 0
    for line in shown:
        wanted = re.sub(r"\s+", " ", line.partition("  # ")[0]).strip()
        if wanted in ("", "…"):
            continue
        pattern = re.compile(".*".join(map(re.escape, wanted.split("…"))))
        for place in range(at, len(lines)):
            if pattern.fullmatch(lines[place]):
                at = place + 1
                break
        else:
            return line
    return ""


def commands(text: str) -> Iterator[str]:
    """Everything on a page that is a call of `cheque`: lines of blocks, and code in the midst of text."""
    for kind, block in _BLOCK.findall(text):
        if kind in ("", "console", "sh"):
            joined = block.replace("\\\n", " ")
            yield from (line.removeprefix("$ ") for line in joined.splitlines() if re.match(r"(\$ )?cheque ", line))
    yield from (" ".join(code.split()) for code in re.findall(r"`(cheque [^`]+)`", _BLOCK.sub("", text)))


def links(text: str) -> Iterator[str]:
    """Where links and pictures of a page lead."""
    text = _BLOCK.sub("", text)
    yield from re.findall(r"\]\(([^)\s]+)\)", text)
    yield from re.findall(r"<img[^>]* src=\"([^\"]+)\"", text)
