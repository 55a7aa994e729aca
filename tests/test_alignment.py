"""Lining up: what is read off the paper, the shift that mends it, and which shifts may not be kept."""

import doctest
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as how
from hypothesis import strategies as st

from cheque import alignment, library, run
from cheque.alignment import Dots, dots, judge, read, written
from cheque.form.slack import max_shift
from cheque.layout import look
from cheque.page import Shift
from cheque.settings import PrinterSettings, load, template
from cheque.units import INCH

#: a busy machine is no fault
unhurried = how(deadline=None, suppress_health_check=[HealthCheck.too_slow])

DOT = Dots(INCH // 60, INCH // 216)
PITCH, SPACING = INCH // 10, INCH // 6
FORM = library.load("payroll-us")


def test_what_the_module_shows_is_true() -> None:
    assert doctest.testmod(alignment).failed == 0


@pytest.mark.parametrize(
    ("reading", "right", "down"),
    [
        ("1 dot right", -DOT.across, 0),
        ("one dot left", DOT.across, 0),
        ("3 dots low", 0, -3 * DOT.down),
        ("a line high", 0, SPACING),
        ("half a column right", -PITCH // 2, 0),
        ("2 columns left, 1 line low", 2 * PITCH, -SPACING),
        ("1/2 line low", 0, -SPACING // 2),
        ("1 1/2 lines high", 0, SPACING * 3 // 2),
        ("1/16 in left", INCH // 16, 0),
        ("2.54 mm low", 0, -INCH // 10),
        ("2 dots right and 1 dot low", -2 * DOT.across, -DOT.down),
        ("1 dot right, 1 dot left", 0, 0),
        ("Twelve Dots Right", -12 * DOT.across, 0),
    ],
)
def test_the_shift_goes_the_other_way_than_the_print_stands(reading: str, right: int, down: int) -> None:
    assert read(reading, DOT, PITCH, SPACING) == Shift(right, down)


@pytest.mark.parametrize(
    "reading",
    [
        "",
        "right",
        "2 dots",
        "dots right",
        "2 dots up",
        "two dots sideways",
        "2 dots right,",
        "1/0 in left",
        "-1 dot left",
    ],
)
def test_what_cannot_be_read_is_refused_and_not_guessed(reading: str) -> None:
    with pytest.raises(ValueError, match=r"is not a reading such as|divides by zero"):
        read(reading, DOT, PITCH, SPACING)


def test_a_third_of_what_does_not_divide_is_refused() -> None:
    with pytest.raises(ValueError, match="not a whole number of units"):
        read("1/7 line low", DOT, PITCH, SPACING)


@unhurried
@given(st.integers(0, 500), st.integers(0, 500), st.booleans(), st.booleans())
def test_any_reading_in_dots_is_mended_by_so_many_dots(across: int, down: int, right: bool, low: bool) -> None:
    text = f"{across} dots {'right' if right else 'left'}, {down} dots {'low' if low else 'high'}"
    shift = read(text, DOT, PITCH, SPACING)
    assert shift == Shift(
        (-across if right else across) * DOT.across,
        (-down if low else down) * DOT.down,
    )


def printer(tmp_path: Path, language: str, step: str) -> PrinterSettings:
    """A printer of that language."""
    text = template(
        drawer="Quillmere Boatyard Company", address=(), bank="Tidewrack", routing="", number="", currency="USD",
        locale="en_US",
    )  # fmt: skip
    text = text.replace('language = "escp9"', f'language = "{language}"').replace('"1/216 in"', f'"{step}"')
    path = tmp_path / "cheque.toml"
    path.write_text(text, "utf-8")
    return load(path).printers["payroom"]


@pytest.mark.parametrize(
    ("language", "step", "across", "down"),
    [
        ("escp9", "1/216 in", INCH // 60, INCH // 216),
        ("escp9", "1/72 in", INCH // 60, INCH // 72),
        ("escp24", "1/180 in", INCH // 60, INCH // 180),
        ("ppds", "1/216 in", INCH // 120, INCH // 216),
        ("plain", "1/6 in", INCH // 10, INCH // 6),
    ],
)
def test_a_dot_is_the_smallest_step_that_the_language_places_exactly(
    tmp_path: Path, language: str, step: str, across: int, down: int
) -> None:
    """ESC $ counts in 1/60 in, ESC d of PPDS in 1/120 in (the facts' table of control languages)."""
    chosen = printer(tmp_path, language, step)
    account = load(tmp_path / "cheque.toml").accounts["main"]
    setting = run.setting(FORM, account, chosen)
    assert dots(setting.language, look(FORM), setting.printer, PITCH) == Dots(across, down)


def test_a_shift_may_be_kept_up_to_the_forms_slack_and_no_further() -> None:
    room = max_shift(FORM)
    for side, sign in (("right", 1), ("left", -1)):
        most = getattr(room, side) // DOT.across * DOT.across
        assert judge(FORM, Shift(sign * most, 0), DOT) == []
        (why,) = judge(FORM, Shift(sign * (most + DOT.across), 0), DOT)
        assert f"in {side}, and some field has only" in why
        assert "move the paper in the tractors instead" in why
    for side, sign in (("down", 1), ("up", -1)):
        most = getattr(room, side) // DOT.down * DOT.down
        assert judge(FORM, Shift(0, sign * most), DOT) == []
        assert f"in {side}," in judge(FORM, Shift(0, sign * (most + DOT.down)), DOT)[0]
    assert len(judge(FORM, Shift(INCH, INCH), DOT)) == 2


def test_a_shift_finer_than_a_dot_may_not_be_kept() -> None:
    (why,) = judge(FORM, Shift(1, 0), DOT)
    assert "not a whole number of the printer's dots, 1/60 in across and 1/216 in down" in why


def test_a_shift_is_told_in_words() -> None:
    assert written(Shift()) == "not shifted"
    assert written(Shift(INCH // 60, -INCH // 216)) == "shifted 1/60 in right and 1/216 in up"
    assert written(Shift(0, INCH // 72)) == "shifted 1/72 in down"
    assert written(Shift(-INCH, 0)) == "shifted 1 in left"
