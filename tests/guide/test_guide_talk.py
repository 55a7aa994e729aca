"""One question at a time: help, back, leaving, and what is shown on a narrow or a slow line."""

from collections.abc import Callable, Iterator
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque.guide import talk as talking
from cheque.guide.talk import Left, Talk, digits, whole, words


def talk(*typed: str, **how: int) -> tuple[Talk, list[str]]:
    """A conversation in which these lines are typed, and what it shows."""
    lines, shown = iter([f"{line}\n" for line in typed]), list[str]()
    return Talk(lambda: next(lines, ""), shown.append, **how), shown


def test_a_wrong_answer_is_told_and_asked_again() -> None:
    one, shown = talk("many", "24")
    assert one.ask("How many?", whole, "Count them.") == 24
    assert "  Type a whole number, in digits.\n" in "".join(shown)
    assert "".join(shown).count("How many?") == 2


def test_a_mark_explains() -> None:
    one, shown = talk("?", "24")
    one.ask("How many?", whole, "Count them.")
    assert "  Count them.\n  q leaves.\n" in "".join(shown)


@pytest.mark.parametrize(("typed", "how"), [(("q",), "quit"), (("QUIT",), "quit"), ((), "end")])
def test_whoever_leaves_is_let_go(typed: tuple[str, ...], how: str) -> None:
    one, _ = talk(*typed)
    with pytest.raises(Left) as left:
        one.ask("How many?", whole, "Count them.")
    assert left.value.how == how


def test_ctrl_c_and_a_terminal_that_is_gone_leave() -> None:
    def interrupted() -> str:
        raise KeyboardInterrupt

    def gone() -> str:
        raise OSError(5, "Input/output error")

    for read, how in ((interrupted, "interrupt"), (gone, "end")):
        with pytest.raises(Left) as left:
            Talk(read, lambda _: None).yes("Is it?", "It is, or it is not.")
        assert left.value.how == how


def test_what_is_no_text_is_no_answer() -> None:
    answers: Iterator[Callable[[], str]] = iter([lambda: b"\xff".decode(), lambda: "7\n"])
    assert Talk(lambda: next(answers)(), lambda _: None).ask("How many?", whole, "Count them.") == 7


def test_back_goes_to_the_question_before_and_past_one_that_asked_nothing() -> None:
    one, _ = talk("a", "b", "back", "c", "back", "back", "d", "e", "f")
    asked: list[str] = []

    def question(name: str) -> Callable[[], None]:
        return lambda: asked.append(name + one.ask(name, words, "A letter."))

    one.in_order(question("1"), lambda: None, question("2"), question("3"))
    # 1a 2b, back from 3 to 2: c, back from 3 to 2, back from 2 to 1: d, 2e, 3f
    assert asked == ["1a", "2b", "2c", "1d", "2e", "3f"]


def test_where_nothing_was_asked_before_there_is_no_going_back() -> None:
    one, shown = talk("back", "7")
    assert one.ask("How many?", whole, "Count them.") == 7
    assert "There is no question here to go back to." in "".join(shown)


@settings(max_examples=60, deadline=None)
@given(st.text(st.sampled_from("ab -\n/"), max_size=300), st.integers(20, 200), st.booleans())
def test_no_line_is_wider_than_the_terminal_and_no_letter_is_lost(text: str, width: int, plain: bool) -> None:
    shown: list[str] = []
    Talk(lambda: "", shown.append, width=width, plain=plain).say(text)
    said = "".join(shown)
    assert max(map(len, said.split("\n"))) <= min(width, 79)
    assert "".join(said.split()) == "".join(text.split())


def test_plain_mode_goes_over_no_line_and_draws_nothing() -> None:
    shown: list[str] = []
    one = Talk(lambda: "", shown.append, plain=True, bold=True)
    one.title("Printing")
    one.far("form 1", ended=False, first=True)
    one.far("form 2", ended=False, first=False)
    one.far("form 3", ended=True, first=False)
    assert "".join(shown) == "\nPrinting\nform 1\nform 3\n"


def test_few_words_are_sent_over_a_slow_line(monkeypatch: pytest.MonkeyPatch) -> None:
    now = [0.0]
    monkeypatch.setattr(talking, "time", SimpleNamespace(monotonic=lambda: now[0]))
    for plain, most in ((False, 32), (True, 6)):
        shown: list[str] = []
        one = Talk(lambda: "", shown.append, plain=plain)
        for form in range(1, 601):  # 600 forms in a minute, and nobody can read so fast
            now[0] += 0.1
            one.far(f"form {form}", ended=form == 600, first=form == 1)
        assert len(shown) <= most
        assert "form 600" in shown[-1]


def test_progress_that_gets_shorter_leaves_nothing_behind() -> None:
    shown: list[str] = []
    one = Talk(lambda: "", shown.append)
    one.far("form 1  23 left  1:40 to go", ended=False, first=True)
    one.far("form 24  0 left", ended=True, first=False)
    assert shown == ["\rform 1  23 left  1:40 to go", "\rform 24  0 left            \n"]


@pytest.mark.parametrize("text", ["", "-1", "1.5", "\u0661", "1" * 19, "100 501"])
def test_a_number_is_its_digits(text: str) -> None:
    for convert in (digits, whole):
        with pytest.raises(ValueError, match="digits"):
            convert(text)
    assert digits("000501") == "000501"
