"""The page on forms says what the code does: its example loads, its lists are complete."""

import re
from pathlib import Path
from typing import Any

import pytest

from cheque import library
from cheque.form import load
from cheque.form.check import check
from cheque.form.what import COLUMNS, WHAT
from cheque.tomlfile import Checker

PAGE = (Path(__file__).parents[2] / "docs" / "forms.md").read_text(encoding="utf-8")
EXAMPLE, CONDITIONS = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)


def test_the_example_can_be_put_to_use() -> None:
    assert check(load(EXAMPLE, "docs/forms.md")) == []


def test_the_conditional_constants_can_be_added_to_a_form_of_two_signatures() -> None:
    form = library.read("payroll-us")
    text = library.find("payroll-us").read_text(encoding="utf-8")
    assert len(load(text + CONDITIONS, "payroll-us.toml").constants) == len(form.constants) + 3


def test_everything_a_field_or_a_column_can_show_is_listed_in_the_same_words() -> None:
    rows = re.findall(r"^\| `(\w+)` \| (.*) \|$", PAGE, re.MULTILINE)
    assert [row for row in rows if row[0] in WHAT and row in [(w, WHAT[w].says) for w in WHAT]] == [
        (what, WHAT[what].says) for what in WHAT
    ]
    for name, (_, says) in COLUMNS.items():
        assert (name, says) in rows


def test_every_key_that_is_read_is_documented(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: set[str] = set()
    take = Checker.take

    def noted(self: Checker, key: str, *args: Any, **keywords: Any) -> Any:
        asked.add(key)
        return take(self, key, *args, **keywords)

    monkeypatch.setattr(Checker, "take", noted)
    load(EXAMPLE, "docs/forms.md")
    prose = re.sub(r"```toml\n.*?```", "", PAGE, flags=re.DOTALL)
    said = set(re.findall(r"[a-z_]+", " ".join(re.findall(r"`([^`]+)`", prose))))
    assert asked - said == set()
