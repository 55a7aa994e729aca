"""A short seeded sample of the campaign of kills (`tests/campaign/kill_payday.py`), which is shown to find faults."""

import sqlite3
from pathlib import Path

import pytest
from campaign import kill_payday
from campaign.kill_payday import Operator, Sheet


@pytest.fixture(scope="module")
def stages(tmp_path_factory: pytest.TempPathFactory) -> kill_payday.Stages:
    """A firm at each stage of its payday."""
    return kill_payday.ready(tmp_path_factory.mktemp("stages"))


def test_no_kill_loses_a_form_or_pays_anyone_twice() -> None:
    outcomes = kill_payday.campaign(50, 20261127, None, lambda text: None)
    assert [outcome for outcome in outcomes if outcome.wrong] == []
    assert sum(outcome.killed for outcome in outcomes) >= 20
    assert len({outcome.stage for outcome in outcomes if outcome.killed}) == len(kill_payday.STAGES)


def test_the_campaign_would_see_a_payment_printed_twice(stages: kill_payday.Stages, tmp_path: Path) -> None:
    """A lost *sent* event, made by hand: the paper has a cheque that the book takes for blank."""
    firm = stages["void"][0].copy(tmp_path)
    operator = Operator(firm)
    operator.sheets = [
        Sheet(kill_payday.FIRST + n, payee, whole=True)
        for n, (payee,) in enumerate(firm.tables("SELECT payee FROM claim ORDER BY item"))
    ]
    assert kill_payday.wrong_at_the_end(firm, operator) == []
    operator.sheets[2] = operator.sheets[2]._replace(payee="Ay Li")
    assert any("on paper" in found for found in kill_payday.wrong_at_the_end(firm, operator))


def test_the_campaign_would_see_a_row_altered_behind_the_books_back(stages: kill_payday.Stages, tmp_path: Path) -> None:
    firm = stages["void"][0].copy(tmp_path)
    with sqlite3.connect(firm.folder / "book" / "book.sqlite") as db:
        for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            db.execute(f"DROP TRIGGER {name}")
        db.execute("UPDATE number SET state = 'voided' WHERE number = ?", (kill_payday.FIRST,))
    db.close()
    assert kill_payday.wrong_in_book(firm)
