"""The published JSON Schema: every shipped form keeps it, and what it refuses the reader refuses, and the other way.

The schema is held with the `jsonschema` package, an implementation of the standard that shares no code with ours.
"""

import copy
import json
import re
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from form.samples import SHIPPED
from form.small_form import SMALL, changed
from form.test_form_read import REFUSED
from hypothesis import given, settings
from hypothesis import strategies as st
from journeys.firm import Firm

from cheque import library
from cheque.errors import InputRefused
from cheque.form import load
from cheque.form.schema import schema
from cheque.form.write import to_toml

PUBLISHED = Path(__file__).parents[2] / "docs" / "form.schema.json"
VALIDATOR = jsonschema.Draft7Validator(schema())

#: what only the whole form can tell, or arithmetic, and so the reader alone
ONLY_THE_READER = re.compile(
    r"a second |not a whole number of units|divides by zero|off any paper|not between 0 and 24 in|not more than 0"
    r"|no distance|before the start|after the start|neither across nor down|an ISO 4217 code|not before since"
    r"|day is out of range|month must be|year 0|day of month"
    r"|\.(hidden_from|parts|kinds|box|when\.roles): found '[^']*'; wanted one of"
)


def judged(document: dict[str, Any]) -> tuple[list[str], list[str]]:
    """What the schema says of a definition, and what the reader says: each a list of faults."""
    schemas = [f"{'.'.join(map(str, e.absolute_path))}: {e.message}"[:200] for e in VALIDATOR.iter_errors(document)]
    try:
        load("\n".join(f"{_key(key)} = {_inline(value)}" for key, value in document.items()), "x")
    except InputRefused as refused:
        return schemas, [str(fault) for fault in refused.faults]
    return schemas, []


def _key(key: str) -> str:
    return json.dumps(key)


def _inline(value: Any) -> str:
    """A value as TOML on one line."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_key(k)} = {_inline(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_inline, value)) + "]"
    return json.dumps(value)  # texts, whole numbers, true and false are written alike


def agree(document: dict[str, Any]) -> None:
    """Both refuse, or neither; but for what only the reader can tell."""
    by_schema, by_reader = judged(document)
    assert not by_schema or by_reader, f"only the schema refuses: {by_schema}"
    known = [fault for fault in by_reader if not ONLY_THE_READER.search(fault)]
    assert by_schema or not known, f"only the reader refuses: {known}"


def test_the_published_schema_is_the_one_made_from_the_readers_lists() -> None:
    assert json.loads(PUBLISHED.read_text("utf-8")) == schema()
    jsonschema.Draft7Validator.check_schema(schema())


@pytest.mark.parametrize("name", SHIPPED)
def test_every_shipped_form_keeps_the_schema_as_written_and_written_anew(name: str) -> None:
    for text in (library.find(name).read_text("utf-8"), to_toml(library.read(name))):
        document = tomllib.loads(text)
        assert list(VALIDATOR.iter_errors(document)) == []
        assert judged(document) == ([], [])


@pytest.mark.parametrize(("old", "new"), [(old, new) for old, new, _ in REFUSED])
def test_what_the_reader_refuses_the_schema_refuses_unless_only_the_reader_can_tell(old: str, new: str) -> None:
    agree(tomllib.loads(changed((old, new))))


BASES = [tomllib.loads(SMALL), *(tomllib.loads(library.find(name).read_text("utf-8")) for name in SHIPPED)]
KEYS = [
    *("name", "what", "form", "lines", "width", "right", "bottom", "fill", "when", "box", "advice", "wrap", "text"),
    *("roles", "payable", "kinds", "hidden_from", "prefix", "currency", "pitch", "over", "strange"),
]
VALUES: list[Any] = [
    *("", "none", "*", "**", "1 in", "1/4 in", "92 mm", "1 ft", "line 3", "column 4 1/2", "2 columns"),
    "12 to the inch",
    *("DD/MM/YYYY", "DDMMYY", "DD/MM", "2026-12-24", "24/12", "5000.00", "a lot", "two signatures", "nowhere", "top"),
    *("GB", "NZ", "usa", "right", "bold", "payee", "date", "number", "amount", "cheque", "{days}", "{weeks}"),
    *(0, 1, 2, 3, 80, 401, -1, True, False, [], ["top"], ["cheque"], ["advice"], ["nowhere"], ["1 in"], [7], ["goods"]),
    *({}, {"roles": ["cheque"]}, {"over": "5.00"}, {"left": "1 in", "top": "1 in", "width": "1 in", "height": "1 in"}),
    *("\u001b", "a\u0007b", "£", "#"),
]  # fmt: skip


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_whatever_is_changed_both_refuse_it_or_neither(data: st.DataObject) -> None:
    document = copy.deepcopy(data.draw(st.sampled_from(BASES)))
    for _ in range(data.draw(st.integers(1, 2))):
        _change(document, data)
    agree(document)


def _change(document: dict[str, Any], data: st.DataObject) -> None:
    """Walk to some table of the document and take out, put in or change one key."""
    at: Any = document
    while True:
        deeper = [value for value in (at.values() if isinstance(at, dict) else at) if isinstance(value, (dict, list))]
        deeper = [value for value in deeper if value and (isinstance(value, dict) or isinstance(value[0], dict))]
        if isinstance(at, dict) and (not deeper or data.draw(st.integers(0, 3)) == 0):
            break
        if not deeper:
            return
        at = data.draw(st.sampled_from(deeper))
    keys = sorted(at)
    key = data.draw(st.sampled_from(keys + KEYS) if keys else st.sampled_from(KEYS))
    if key in at and data.draw(st.booleans()):
        del at[key]
    else:
        at[key] = copy.deepcopy(data.draw(st.sampled_from(VALUES)))


def test_the_schema_is_given_by_the_command_line(tmp_path: Path) -> None:
    firm = Firm(tmp_path)
    assert json.loads(firm.run("form", "schema").out) == schema()
    said = firm.run("form", "schema", "-o", "form.schema.json")
    assert "#:schema ./form.schema.json" in said.err
    assert json.loads((tmp_path / "form.schema.json").read_text("utf-8")) == schema()
    assert "is there already" in firm.run("form", "schema", "-o", "form.schema.json", expect=3).err
