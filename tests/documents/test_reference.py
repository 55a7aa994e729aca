"""The reference cannot drift: what is generated is what the commands and the readers say now."""

import importlib
import sys
from difflib import unified_diff
from types import ModuleType

import pytest
from documents.pages import ROOT


@pytest.fixture(scope="module")
def reference() -> ModuleType:
    sys.path.insert(0, str(ROOT / "docs"))
    try:
        return importlib.import_module("reference")
    finally:
        sys.path.remove(str(ROOT / "docs"))


def test_the_commands_the_keys_and_the_manual_pages_are_as_the_tool_says_now(reference: ModuleType) -> None:
    wanted = reference.pages()
    there = {path: path.read_text("utf-8") if path.exists() else "" for path in wanted}
    old = [path.relative_to(ROOT).as_posix() for path, text in wanted.items() if there[path] != text]
    gone = [path.relative_to(ROOT).as_posix() for path in (ROOT / "man").glob("*.1") if path not in wanted]
    first = next(iter(path for path, text in wanted.items() if there[path] != text), None)
    lines = unified_diff(there[first].splitlines(), wanted[first].splitlines(), lineterm="", n=0) if first else ()
    assert old + gone == [], "run: python docs/reference.py\n" + "\n".join(list(lines)[:20])


def test_a_key_that_nobody_told_and_one_that_nobody_asks_for_are_found(
    reference: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    keys = reference.keys
    told = dict(keys.keys_told.STATEMENT)
    monkeypatch.setattr(keys.keys_told, "STATEMENT", {**told, "": {**told[""], "colour": "of the ink"}})
    with pytest.raises(AssertionError, match=r"not asked for .*colour"):
        keys.pages()
    monkeypatch.setattr(keys.keys_told, "STATEMENT", {**told, "columns": {}})
    with pytest.raises(AssertionError, match=r"not told .*booked"):
        keys.pages()


def test_every_default_of_a_setting_is_the_readers(reference: ModuleType) -> None:
    """A few, known otherwise: UCC § 4-404 (six months), and what the printers of the settings have unless told."""
    found = reference.keys.settings_keys()
    assert found["accounts.NAME"]["stale_after_days"].default == 180
    assert found["accounts.NAME"]["near_duplicate_days"].default == 5
    assert found["printers.NAME"]["speed"].default == 200
    assert found["printers.NAME"]["language"].required
    assert not found["book"]["place"].required
