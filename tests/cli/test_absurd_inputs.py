"""Whatever is typed, the answer is a message and an exit status of the contract: never a traceback."""

import random
from pathlib import Path

import click
import pytest
from cli.absurd import ABSURD, COMMANDS, PLAUSIBLE, inside, ready, sweep, wrong
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from journeys.firm import Firm


@pytest.fixture(scope="module")
def firm(tmp_path_factory: pytest.TempPathFactory) -> Firm:
    """A firm in the midst of its payday."""
    return ready(tmp_path_factory.mktemp("absurd"))


def test_every_parameter_of_every_command_bears_what_nobody_would_mean(firm: Firm, tmp_path: Path) -> None:
    """A seeded sample; `tests/campaign/absurd_inputs.py` goes through them all."""
    lines = list(sweep())
    assert len(COMMANDS) > 35
    for line in random.Random(20261127).sample(lines, 250):
        assert not wrong(firm, tmp_path / "copy", line), line


def absurd() -> st.SearchStrategy[str]:
    """Anything but what would leave the folder of the test."""
    anything = st.text(st.characters(exclude_characters="\0"), max_size=12)
    return st.one_of(st.sampled_from(ABSURD), anything).map(inside)


@st.composite
def command_lines(draw: st.DrawFn) -> list[str]:
    """A command as it might be meant, and in it one thing, or two, that nobody would mean."""
    words = draw(st.sampled_from(sorted(COMMANDS)))
    params = [param for param in COMMANDS[words].params if "--help" not in param.opts]
    odd = {draw(st.integers(0, max(0, len(params) - 1))) for _ in range(draw(st.integers(1, 2)))}
    line = list(words)
    for place, param in enumerate(params):
        if not param.required and place not in odd and draw(st.booleans()):
            continue
        if isinstance(param, click.Option):
            line.append(draw(st.sampled_from(param.opts)))
            if param.is_flag:
                continue
        choices = [str(one) for one in param.type.choices] if isinstance(param.type, click.Choice) else []
        known = choices or PLAUSIBLE.get(param.name or "", [])
        line.append(draw(absurd() if place in odd or not known else st.sampled_from(known)))
    return line


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(line=command_lines(), stdin=st.one_of(st.just(b""), st.binary(max_size=40)))
def test_no_command_line_whatever_ends_in_a_fault_of_the_tools_own(
    firm: Firm, tmp_path_factory: pytest.TempPathFactory, line: list[str], stdin: bytes
) -> None:
    assert not wrong(firm, tmp_path_factory.mktemp("some") / "copy", line, stdin), line


def test_every_command_explains_itself(firm: Firm) -> None:
    for words, command in COMMANDS.items():
        said = firm.run(*words, "--help")
        assert said.out.startswith(f"Usage: cheque {' '.join(words)}")
        assert command.help, words
        for param in command.params:
            if isinstance(param, click.Option):
                assert param.help, (words, param.name)
