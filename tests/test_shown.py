"""What was read from a file, shown: harmless on a screen, and no information lost where it is short."""

from hypothesis import given
from hypothesis import strategies as st

from cheque.register import characters
from cheque.shown import SHOWN, escaped, shown


@given(st.text(st.characters(exclude_categories=())))
def test_whatever_is_shown_is_printable(text: str) -> None:
    assert escaped(text).isprintable()
    assert shown(text).isprintable()
    if text.isprintable():
        assert escaped(text) == text


def test_a_long_text_is_shown_by_its_beginning() -> None:
    assert shown("x" * (SHOWN + 1)) == f"'{'x' * SHOWN}'… ({SHOWN + 1} characters)"


def test_an_override_of_direction_is_an_escape() -> None:
    assert escaped("Berg\u202eanna") == "Berg\\u202eanna"
    assert characters.shown is shown
