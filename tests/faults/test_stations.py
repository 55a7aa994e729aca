"""Several stations on one book while the server, the lines and the stations are killed: a short, seeded sample.

The whole campaign is `tests/campaign/stations.py`; what it showed is in `docs/evidence/stations.md`.
"""

import pytest
from campaign.stations import Rounds, shown


@pytest.mark.parametrize(("store", "stations", "steps"), [("postgresql", 4, 12), ("sqlite", 3, 12)])
def test_every_number_is_accounted_for_whatever_is_killed(store: str, stations: int, steps: int) -> None:
    one = Rounds(store, 7, steps, stations=stations).run()
    assert one.wrong == [], shown(one)
    assert one.events > 60
    assert one.done.get("print", 0) > 3
