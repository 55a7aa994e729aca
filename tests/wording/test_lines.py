"""A legal amount on the lines that a form has: broken between words, never shortened."""

from hypothesis import given, settings
from hypothesis import strategies as st
from wording.amounts import LOCALES, MINORS, OWN

from cheque.wording import break_lines, word

TEXTS = st.lists(st.text("abc-é/56", min_size=1, max_size=12), min_size=1, max_size=12).map(" ".join)
WIDTHS = st.lists(st.integers(0, 40), min_size=0, max_size=3)


def test_two_lines_are_filled_in_order() -> None:
    text = "One thousand two hundred thirty-four and 56/100"
    assert break_lines(text, [47]) == (text,)
    assert break_lines(text, [47, 20]) == (text, "")
    assert break_lines(text, [46, 20]) == ("One thousand two hundred thirty-four and", "56/100")
    assert break_lines(text, [30, 30]) == ("One thousand two hundred", "thirty-four and 56/100")


def test_what_does_not_fit_comes_back_as_nothing() -> None:
    text = "One thousand two hundred thirty-four and 56/100"
    assert break_lines(text, [46]) is None
    assert break_lines(text, [20, 20]) is None
    assert break_lines(text, []) is None
    assert break_lines("Neunhundertneunundneunzigtausend Euro", [20, 40]) is None


def test_compounds_with_a_hyphen_stay_whole() -> None:
    assert break_lines("Thirty-four and 56/100", [8, 30]) is None
    assert break_lines("And thirty-four", [10, 30]) == ("And", "thirty-four")


@settings(deadline=None, max_examples=400)
@given(TEXTS, WIDTHS)
def test_lines_hold_every_word_in_order_or_there_are_none(text: str, widths: list[int]) -> None:
    lines = break_lines(text, widths)
    if lines is None:
        assert not _fits(text.split(" "), widths)
        return
    assert len(lines) == len(widths)
    assert all(len(line) <= width for line, width in zip(lines, widths, strict=True))
    assert " ".join(line for line in lines if line) == text
    used = [bool(line) for line in lines]
    assert used == sorted(used, reverse=True)


@settings(deadline=None, max_examples=200)
@given(LOCALES, MINORS, st.integers(10, 90))
def test_a_legal_amount_broken_and_joined_is_the_same(locale: str, minor: int, width: int) -> None:
    legal = word(minor, OWN[locale], locale).legal
    lines = break_lines(legal, [width] * 60)
    assert (lines is None) == any(len(part) > width for part in legal.split(" "))
    if lines:
        assert " ".join(filter(None, lines)) == legal


def _fits(words: list[str], widths: list[int]) -> bool:
    """Whether any way of breaking fits: every line takes at least a word, as long as words are left."""
    if not words:
        return True
    if not widths:
        return False
    return any(
        len(" ".join(words[:count])) <= widths[0] and _fits(words[count:], widths[1:])
        for count in range(1, len(words) + 1)
    )
