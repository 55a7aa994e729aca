"""The documents as tests read them: blocks that are run, commands that must exist, links that must lead somewhere.

Below a line `<!-- run: empty -->`, or another of these words, the ```console blocks of a page are run, in order, in a
folder of their own that begins so; the next such line begins a folder anew:

    empty   nothing in it
    desk    the demo's registers, in `demo/`, and nothing else
    firm    Quillmere's settings, an empty book, a box of forms 100501 to 101000, the demo's registers in `demo/`
    sent    the same; the demo's payday is batch 1, and went to the printer's file, 100501 to 100524; nobody has looked
    printed the same; and somebody has looked: 24 good cheques
    quarter the same, and all that went wrong until the demo's statement of the quarter came
    server  the same as `firm`; a server of the tests' own stands for `postgresql:///cheques?host=/run/postgresql`
    demo    what `cheque demo` leaves

In such a block a line that begins with `$ ` is a command for the shell; what follows up to the next is what it says
(answers and talk together), in order, and `…` stands for any text within a line, or for any lines when alone.
A line `$ …  # exits 3` ends with that status; all others with 0. A block after `<!-- write FILE -->` or
`<!-- append to FILE -->` is that file, or the end of it: what the reader is told to write.

A command that no test can run stands in a block ```sh that begins with UNRUN and why; `python tests/documents/pages.py`
lists them all.
"""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
PAGES = sorted([*(ROOT / "docs").glob("*.md"), *(ROOT / "docs").glob("how-to/*.md"), ROOT / "README.md",
                ROOT / "DEVELOPERS.md"])  # fmt: skip
#: pages whose blocks have a test of their own, and the page that is made from the help
OWN = ("docs/first-payday.md", "docs/forms-step-by-step.md", "docs/commands.md")
UNRUN = "# Not run by the tests: "
_BLOCK = re.compile(r"^```(\w*)[^\n]*\n(.*?)^```", re.M | re.S)
_ACT = re.compile(r"(?:^<!-- (write|append to) (\S+) -->\n)?^```(\w*)[^\n]*\n(.*?)^```", re.M | re.S)
_EXITS = re.compile(r"\s+# exits (\d)$")
_RUN = re.compile(r"^<!-- run: (\w+) -->$", re.M)


class Step(NamedTuple):
    """One command of a page: what is typed, the status it ends with, and the lines shown after it."""

    typed: str
    status: int
    shown: tuple[str, ...]


class Written(NamedTuple):
    """What the reader is told to write into a file, or to add to its end."""

    path: str
    text: str
    added: bool


def sections(text: str) -> list[tuple[str, str]]:
    """The stretches of a page that are run: how the folder of each begins, and its text."""
    pieces = _RUN.split(text)
    return list(zip(pieces[1::2], pieces[2::2], strict=True))


def acts(text: str) -> Iterator[Step | Written]:
    """What a reader does on a page, in order."""
    for verb, path, kind, block in _ACT.findall(text):
        if verb:
            yield Written(path, block, verb == "append to")
        elif kind == "console":
            yield from _steps(block)


def steps(text: str) -> Iterator[Step]:
    """The commands of a page's console blocks."""
    yield from (act for act in acts(text) if isinstance(act, Step))


def _steps(block: str) -> Iterator[Step]:
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


def not_run(text: str) -> Iterator[tuple[str, str]]:
    """The commands in blocks of a page that are not run: each with the reason that its block states, or ""."""
    before, *_ = _RUN.split(text)
    for kind, block in _BLOCK.findall(text):
        if kind not in ("", "sh", "console") or (kind == "console" and f"\n{block}```" not in before):
            continue
        first = block.partition("\n")[0]
        reason = first.removeprefix(UNRUN).strip() if first.startswith(UNRUN) else ""
        for line in block.replace("\\\n", " ").splitlines():
            if re.match(r"(\$ )?(cheque|sh|pip|pipx|createdb|lpadmin) ", line):
                yield " ".join(line.removeprefix("$ ").partition("  #")[0].split()), reason
    for line in _BLOCK.sub("", text).splitlines():
        if re.match(r"(    |\t)\s*cheque ", line):
            yield line.strip(), ""


def every_command_not_run() -> dict[str, list[tuple[str, str]]]:
    """By page, what `not_run` gives; pages with tests of their own are left out."""
    named = ((page.relative_to(ROOT).as_posix(), page) for page in PAGES)
    found = {name: list(not_run(page.read_text("utf-8"))) for name, page in named if name not in OWN}
    return {name: listed for name, listed in found.items() if listed}


def links(text: str) -> Iterator[str]:
    """Where links and pictures of a page lead."""
    text = _BLOCK.sub("", text)
    yield from re.findall(r"\]\(([^)\s]+)\)", text)
    yield from re.findall(r"<img[^>]* src=\"([^\"]+)\"", text)


if __name__ == "__main__":
    for page, listed in every_command_not_run().items():
        for command, reason in listed:
            print(f"{page}: {command}  ({reason or 'no reason is stated'})")
