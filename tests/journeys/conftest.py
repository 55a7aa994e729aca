from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from journeys.attending import Attend, Operator
from journeys.firm import Firm


@pytest.fixture(scope="session")
def stages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Firm]:
    """The boatyard at three moments of its payday, made once: copy, never use."""
    folder = tmp_path_factory.mktemp("stages")
    found = {}
    for name in ("set-up", "accepted", "paid"):
        (folder / name).mkdir()
        found[name] = Firm(folder / name).set_up()
    found["accepted"].accept()
    found["paid"].paid()
    return found


def _copy(firm: Firm, folder: Path) -> Firm:
    return firm.copy(folder)


@pytest.fixture
def firm(stages: dict[str, Firm], tmp_path: Path) -> Firm:
    """The boatyard, set up, with a box of forms."""
    return _copy(stages["set-up"], tmp_path)


@pytest.fixture
def accepted(stages: dict[str, Firm], tmp_path: Path) -> Firm:
    """The boatyard with its payday accepted as batch 1."""
    return _copy(stages["accepted"], tmp_path)


@pytest.fixture
def paid(stages: dict[str, Firm], tmp_path: Path) -> Firm:
    """The boatyard with its payday printed and confirmed: 24 good cheques, 100501 to 100524."""
    return _copy(stages["paid"], tmp_path)


@pytest.fixture
def attend() -> Iterator[Attend]:
    """Somebody to go through a guided payday; whoever is still at it when the test ends is sent home."""
    begun: list[Operator] = []

    def begin(*arguments: Any, **told: Any) -> Operator:
        begun.append(Operator(*arguments, **told))
        return begun[-1]

    yield begin
    for operator in begun:
        operator.terminal.abandon()
