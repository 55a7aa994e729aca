from pathlib import Path

import pytest
from journeys.firm import Firm


@pytest.fixture
def firm(tmp_path: Path) -> Firm:
    """The boatyard, set up, with a box of forms."""
    return Firm(tmp_path).set_up()
