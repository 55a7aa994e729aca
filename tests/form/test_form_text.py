"""The definition as text: what the book keeps, and what the proof's digest stands on."""

from dataclasses import replace
from pathlib import Path

import pytest

from cheque.form import from_text, load, to_text

FORMS = Path(__file__).parents[2] / "forms"
PAYROLL = (FORMS / "payroll-us.toml").read_text(encoding="utf-8")


def test_a_definition_comes_back_equal_from_the_text_the_book_keeps() -> None:
    form = load(PAYROLL, "payroll-us.toml")
    again = from_text(to_text(form))
    assert again == form
    assert again.digest == form.digest
    assert hash(again) == hash(form)


def test_comments_and_the_order_of_keys_do_not_change_the_digest() -> None:
    form = load(PAYROLL, "payroll-us.toml")
    lines = [line for line in PAYROLL.splitlines() if not line.startswith("#")]
    moved = [line for line in lines if not line.startswith("currency")]
    moved.insert(0, 'currency = "USD"')
    assert load("\n".join(moved), "other name.toml").digest == form.digest


def test_anything_else_changes_the_digest() -> None:
    form = load(PAYROLL, "payroll-us.toml")
    others = [
        load(PAYROLL.replace('goes_to = "the cheque file in accounts"', 'goes_to = "everybody"'), "x"),
        load(PAYROLL.replace('text = "US DOLLARS"', 'text = "DOLLARS US"'), "x"),
        load(PAYROLL.replace("column = 6\nwidth = 54", "column = 6\nwidth = 53"), "x"),
        replace(form, title="another title"),
    ]
    assert len({form.digest, *(other.digest for other in others)}) == 1 + len(others)


def test_what_has_its_default_is_left_out_so_that_later_keys_change_no_digest() -> None:
    text = to_text(load(PAYROLL, "payroll-us.toml"))
    assert '"suffix"' not in text
    assert '"overflow"' not in text
    assert '"prefix":"$"' in text


@pytest.mark.parametrize(
    "text",
    ["", "null", "[]", "{}", '"form"', '{"name":"x"}', to_text(load(PAYROLL, "x")).replace('"pitch":', '"pitsch":')],
)
def test_what_is_no_definition_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r".+"):
        from_text(text)
