"""Whatever is said was marked for translation: in a language of brackets, nothing but data stands outside them."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from journeys.firm import Firm

from cheque import tongue, tongues

#: what is not ours to say: the firm's and the forms' own texts, what was typed, what a standard or a statute is called
THEIRS = re.compile(
    r"Quillmere|Tidewrack|Slipway|payroll-us: Payroll, United States|wrong hours|coffee spilt|torn|"
    r"Marisol Quiñónez de la|Twelve and 34/100|by hand|N\. Vault|cheque\.toml|"
    r"Show this message|Usage:|Try '"  # click's own, which asks the standard library: test_in_french has them
)
#: two words of prose side by side
PROSE = re.compile(r"[a-zà-ÿ]{3,} [a-zà-ÿ]{2,} [a-zà-ÿ]{2,}|^\s*[A-Z][a-z]+ [a-z]{3,} [a-z]{2,}")


class Brackets:
    """A language in which every message stands in brackets."""

    def gettext(self, message: str) -> str:
        return "".join(f"⟦{part}⟧" if part.strip() else part for part in re.split(r"(\n+)", message))

    def ngettext(self, one: str, many: str, number: int) -> str:
        return self.gettext(one if number == 1 else many)


@pytest.fixture
def brackets(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    def choose(language: str | None = None) -> str:
        tongue.speak(Brackets(), "zz")
        return "zz"

    monkeypatch.setattr(tongues, "choose", choose)
    yield
    tongue.speak(None)


def outside(text: str) -> list[str]:
    """What stands outside all brackets, line by line."""
    depth, kept = 0, ""
    for letter in text:
        depth += {"⟦": 1, "⟧": -1}.get(letter, 0)
        if letter == "\n" or (not depth and letter != "⟧"):
            kept += letter
    assert not depth, f"brackets that do not close in:\n{text}"
    return [line for line in kept.splitlines() if PROSE.search(line) and not THEIRS.search(line)]


def test_what_stands_outside_is_seen() -> None:
    assert outside("⟦The ⟦item count⟧ is 23⟧") == []
    assert outside("⟦Form⟧ 100501 came out unprinted on it") == [" 100501 came out unprinted on it"]
    assert outside("⟦over\ntwo lines⟧\nand one more thing") == ["and one more thing"]


COMMANDS: list[list[str]] = [
    ["--help"],
    ["print", "--help"],
    ["register", "check", "payday-2026-11-27.csv"],
    ["register", "check", "bad.csv"],
    ["register", "check", "none.csv"],
    ["form", "check", "payroll-us"],
    ["batch", "show", "1"],
    ["batch", "list"],
    ["batch", "withdraw", "1"],
    ["batch", "approve", "1", "--proof-code", "2222-2222"],
    ["stock", "list"],
    ["stock", "count", "100501-101000", "--forms", "3"],
    ["stock", "receive", "payroll-us", "--account", "main", "--first", "100501", "--last", "100600"],
    ["proof", "1", "-o", "p.png"],
    ["print", "1"],
    ["print", "9"],
    ["resume", "1"],
    ["confirm", "1"],
    ["spoil", "100600", "--reason", "torn"],
    ["spoil", "100501", "--reason", "torn"],
    ["void", "100503", "--reason", "wrong hours", "--paper", "not-in-hand"],
    ["show", "100503"],
    ["find", "Underkeel"],
    ["find", "nobody of that name"],
    ["notice", "stopped", "100503", "--reason", "lost"],
    ["notice", "stopped", "100503", "--confirmed-by", "N. Vault"],
    ["notice", "issued", "1"],
    ["reprint", "100503"],
    ["manual", "100700", "--payment", "1:1", "--reason", "by hand"],
    ["custody", "100501-100502", "handed-over", "--to", "S. Mooring"],
    ["reconcile", "numbers", "1"],
    ["book", "verify"],
    ["book", "here", "--moved"],
    ["tidy", "--look"],
    ["words", "12.345"],
    ["payday"],
    ["nope"],
    ["print", "--nope"],
    ["report", "control", "--batch", "1"],
    *(
        ["report", name]
        for name in ("issued", "numbers", "outstanding", "voids", "handover", "owed", "stops", "cleared")
    ),
]


@pytest.mark.usefixtures("brackets")
def test_nothing_is_said_that_is_not_marked(paid: Firm, tmp_path: Path) -> None:
    (paid.folder / "bad.csv").write_text("payee,amount,date\nA,x,2026-13-01\n,1.2.3,\n")
    said_so_far, wrong = 0, []
    for command in COMMANDS:
        said = paid.run(*command, expect=None)
        said_so_far += said.err.count("⟦") + said.out.count("⟦")
        wrong += [f"cheque {' '.join(command)}: {line}" for text in (said.err, said.out) for line in outside(text)]
    assert not wrong, "\n".join(wrong)
    assert said_so_far > 400, "nearly nothing was said, so nearly nothing was tried"
