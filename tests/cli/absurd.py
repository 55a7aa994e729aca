"""Command lines that nobody would mean, made from what the command line says of itself.

Every option and argument of every command is found by asking, so that a new one is tried without anybody thinking
of it. One is absurd, what is needed beside it plausible, so that the absurd one is reached.
"""

import shutil
from collections.abc import Iterator
from pathlib import Path

import click
from journeys.firm import REGISTER, Firm

from cheque.cli import cli

#: played in processes of their own elsewhere, or doing what no test wants done a hundred times
LEFT_OUT = {("demo",), ("practice",)}
ABSURD = [
    "", " ", "-", "--", "--help", "0", "-1", "1", "2", "24", "9" * 24, "1" * 5000, "1.5", "1e9", "nan", "100501",
    "100502", "100501-100504", "100504-100501", "100501-", "main:100501", "main:", ":", "nobody:100501", "١٢٣", "²",
    "NaN:1", "1:1", "1:0", "1:99", f"1:{'9' * 5000}", "100501=torn", "100501=", "=torn", "100501-100503=torn",
    "100600-100601=\udcff", f"{'9' * 5000}=torn", f"1-{'9' * 5000}=torn", "18214.77", "18,214.77", "1,8,2.1", "-0.00",
    "USD", "en_US", "payroom", "payroll-us", "main", "none", "in-hand", "2026-11-27", "2026-11-31", "0001-01-01",
    "9999-12-31", "9999-99-99", "\udcff", "a\nb", "\x1b[2J", "\u202ered", "x" * 300, "no/such/folder/file.csv",
    REGISTER, "K7QF-29HM", "2 dots right", "1/0 in right", "99999999999 lines low", f"{'9' * 5000} dots left",
    "out.pdf", "out.csv", "out.html", "as", "ÿ", "'; DROP TABLE number; --", "%s%n", "{}", "\\",
]  # fmt: skip


#: options that get further into a command than it would get with what is required only
HELPING = {
    "account", "after", "control_total", "first_number", "good_count", "item_count", "last_good", "next_number",
    "paper_loaded", "power_cycled", "proof_code", "reading",
}  # fmt: skip


def every_command() -> dict[tuple[str, ...], click.Command]:
    """Every command of the tool, by the words that call it."""
    found: dict[tuple[str, ...], click.Command] = {}

    def walk(words: tuple[str, ...], command: click.Command) -> None:
        if isinstance(command, click.Group):
            context = click.Context(command)
            for name in command.list_commands(context):
                inner = command.get_command(context, name)
                assert inner is not None, name
                walk((*words, name), inner)
        elif words not in LEFT_OUT:
            found[words] = command

    walk((), cli)
    return found


COMMANDS = every_command()


#: what would be right for a parameter of this name, so that what is absurd beside it is reached
PLAUSIBLE = {
    "account": ["main"],
    "after": ["go-on", "stop"],
    "batch": ["2", "1", "3"],
    "between": ["torn"],
    "blank": ["100526"],
    "confirmed_by": ["S. Mooring"],
    "control_total": ["18214.77", "3016.07"],
    "first": ["100901"],
    "first_number": ["100526", "100560"],
    "form": ["payroll-us"],
    "forms": ["476"],
    "good_count": ["1", "0"],
    "hash_total": ["51877"],
    "item_count": ["24", "6"],
    "last": ["100999"],
    "last_good": ["100525", "none"],
    "missing": ["100525=gone"],
    "next_number": ["100526", "100525", "100560"],
    "number": ["100501", "100502", "100525", "100560"],
    "numbers": ["100560-100570", "100501", "100503-100504"],
    "output": ["new.pdf", "new.txt", "new.csv"],
    "payment": ["2:2", "1", "3:1"],
    "place": ["mailed"],
    "printer": ["payroom"],
    "reading": ["right", "1 dot low"],
    "reason": ["wrong hours"],
    "register": [REGISTER, "payday-with-advice.csv", "-"],
    "spoiled": ["100525=torn"],
    "witness": ["S. Mooring"],
}


def inside(text: str) -> str:
    """The text as it may be typed in a test: no path that leaves its folder."""
    return text.lstrip("/").replace("..", "")


def line_with(words: tuple[str, ...], odd: click.Parameter, value: str) -> list[str]:
    """A command with what it needs, and one thing absurd."""
    line = list(words)
    options, arguments = [], []
    for param in COMMANDS[words].params:
        if not param.required and param is not odd and param.name not in HELPING:
            continue
        text = inside(value) if param is odd else known(param)
        if isinstance(param, click.Argument):
            arguments.append(text)
        else:
            options += [param.opts[0]] if param.is_flag else [param.opts[0], text]  # type: ignore[attr-defined]
    return [*line, *options, *arguments]


def known(param: click.Parameter) -> str:
    """What would be right for a parameter."""
    if isinstance(param.type, click.Choice):
        return str(param.type.choices[0])
    return PLAUSIBLE.get(param.name or "", ["1"])[0]


def sweep() -> Iterator[list[str]]:
    """Every command, with each of its parameters absurd in every way."""
    for words, command in sorted(COMMANDS.items()):
        for param in command.params:
            if not getattr(param, "is_flag", False):
                for value in ABSURD:
                    yield line_with(words, param, value)


def ready(folder: Path) -> Firm:
    """A firm with a batch printed, one stopped after its first form, and one waiting for its proof code."""
    folder.mkdir(parents=True, exist_ok=True)
    firm = Firm(folder).set_up().paid()
    firm.accept("payday-with-advice.csv", "--control-total", "3016.07", "--item-count", "6")
    firm.run(
        "print", "2", "--first-number", "100525", "--proof-code", firm.proof(2), "--paper-loaded",
        "--after-first", "stop", expect=4,
    )  # fmt: skip
    firm.run("void", "100502", "--paper", "in-hand", "--reason", "wrong hours")
    firm.run("reprint", "100502")
    PLAUSIBLE["proof_code"] = [firm.proof(3), firm.proof(2)]
    return firm


def wrong(firm: Firm, copy: Path, line: list[str], stdin: bytes = b"") -> str:
    """What is wrong with the answer to a command line, run in a copy of the firm; "" when nothing is."""
    said = firm.copy(copy).run(*line, expect=None, stdin=stdin)
    shutil.rmtree(copy)
    if "fault of the tool's own" in said.err or "Traceback" in said.err:
        return said.err
    if said.status not in (0, 1, 2, 3, 4, 5):
        return f"exit status {said.status}"
    if said.status > 1 and not any(text.startswith("cheque: ") for text in said.err.splitlines()):
        return f"exit status {said.status}, and no reason given: {said.err}"
    return ""
