from collections.abc import Iterator
from pathlib import Path

import pytest
from report.payday import Payday, played


@pytest.fixture
def day(tmp_path: Path) -> Iterator[Payday]:
    """A payday with a box of forms; nothing accepted yet."""
    with (found := Payday(tmp_path)).book:
        found.receive()
        yield found


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Payday]:
    """The whole payday of `played`."""
    with (found := played(tmp_path_factory.mktemp("payday"))).book:
        yield found
