"""A short seeded sample of the campaign of kills in the midst of a run, which is shown to find losses and doubles."""

import random
import shutil
from collections.abc import Iterator

import pytest
from campaign import kill_run
from campaign.kill_run import Campaign, Kill, Room, Try

from cheque.practice import Sheet

#: the calls after which the least or the most has happened, and some moments
SAMPLE = ("fdatasync:4", "fdatasync:5", "fdatasync:7", "pwrite64:70", "random:1", "random:2", "random:3", "random:4")
NEVER = Kill(delay=60)


@pytest.fixture(scope="module")
def campaign() -> Iterator[Campaign]:
    if not shutil.which("strace"):
        pytest.skip("strace is not installed")
    with kill_run.beginning() as made:
        for kind in made.kinds:
            made.seconds[kind] = 0.2
        yield made


@pytest.mark.parametrize("kind", kill_run.KINDS)
def test_no_kill_in_a_run_loses_a_cheque_or_pays_anyone_twice(campaign: Campaign, kind: str) -> None:
    outcomes = [kill_run.attempt(campaign, f"{kind}:{way}", 20261127) for way in SAMPLE]
    assert [outcome for outcome in outcomes if outcome.wrong] == []
    assert sum(outcome.kills > 0 for outcome in outcomes) >= 3


def reckoned(campaign: Campaign, monkeypatch: pytest.MonkeyPatch, change: object) -> Try:
    """A run that nothing happened to, reckoned with paper that is not what it was."""
    with campaign.room("socket", random.Random(1)) as room:
        one = Try(campaign, room, random.Random(3))
        one.play(NEVER)
        assert one.kills == 0
        assert one.wrong == []
        used = room.used()
        monkeypatch.setattr(Room, "used", lambda room: change(used))  # type: ignore[operator]
        one._reckon()
        return one


def test_the_campaign_would_see_a_payment_on_paper_twice(campaign: Campaign, monkeypatch: pytest.MonkeyPatch) -> None:
    def again(used: list[Sheet]) -> list[Sheet]:
        number = used[-1].number + 1
        marks = tuple(mark._replace(text=mark.text.replace(str(used[0].number), str(number))) for mark in used[0].marks)
        return [*used, used[0]._replace(number=number, marks=marks)]

    one = reckoned(campaign, monkeypatch, again)
    assert (one.losses, one.doubles) == (0, 1)
    assert any("on hand in the book" in wrong for wrong in one.wrong)


def test_the_campaign_would_see_a_cheque_that_is_not_there(campaign: Campaign, monkeypatch: pytest.MonkeyPatch) -> None:
    one = reckoned(campaign, monkeypatch, lambda used: used[1:])
    assert (one.losses, one.doubles) == (1, 0)
    assert any("blank on paper" in wrong for wrong in one.wrong)


def test_the_campaign_would_see_a_torn_cheque_taken_for_good(
    campaign: Campaign, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = reckoned(campaign, monkeypatch, lambda used: [used[0]._replace(harm=("torn",)), *used[1:]])
    assert one.losses == 1
    assert any("on paper ('torn',)" in wrong for wrong in one.wrong)


def test_the_campaign_would_see_cheques_a_form_off(campaign: Campaign, monkeypatch: pytest.MonkeyPatch) -> None:
    one = reckoned(campaign, monkeypatch, lambda used: [s._replace(number=s.number + 1) for s in used])
    assert one.losses == kill_run.PAYMENTS
    assert one.wrong
