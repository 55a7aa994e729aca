"""Local days: a day ends at its own midnight, also when the clocks change; dates people write are days that were."""

import time
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta

import pytest

from cheque.errors import UsageRefused
from cheque.report.when import When, local_day, local_minutes, the_end_of


@pytest.fixture
def new_york(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A machine whose local time has daylight saving (rules of the time zone database)."""
    monkeypatch.setenv("TZ", "America/New_York")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.mark.usefixtures("new_york")
def test_an_event_of_the_evening_is_of_the_local_day() -> None:
    assert local_day("2026-11-28T02:30:00.000Z") == "2026-11-27"
    assert local_minutes("2026-11-28T02:30:00.000Z") == "2026-11-27 21:30"


@pytest.mark.usefixtures("new_york")
@pytest.mark.parametrize(
    ("day", "hours", "ends"),
    [
        (date(2026, 11, 27), 24, "2026-11-28T04:59:59.999+00:00"),
        (date(2026, 3, 8), 23, "2026-03-09T03:59:59.999+00:00"),  # clocks go forward
        (date(2026, 11, 1), 25, "2026-11-02T04:59:59.999+00:00"),  # clocks go back
    ],
)
def test_a_day_ends_before_its_own_midnight(day: date, hours: int, ends: str) -> None:
    now = datetime(2027, 1, 1, tzinfo=UTC).astimezone()
    moment = When(now, day).moment
    assert moment.astimezone(UTC).isoformat(timespec="milliseconds") == ends
    assert moment - When(now, day - timedelta(days=1)).moment == timedelta(hours=hours)


NOW = datetime(2026, 11, 27, 12, tzinfo=UTC).astimezone()


def test_today_is_a_day_and_its_ages_are_counted_to_it() -> None:
    when = the_end_of("2026-11-20", NOW)
    assert when.today == date(2026, 11, 20)
    assert when.as_of == "the end of 2026-11-20"
    assert the_end_of(NOW.date().isoformat(), NOW).day == NOW.date()
    assert When(NOW).today == NOW.date()
    assert When(NOW).moment == NOW


@pytest.mark.parametrize("text", ["27.11.2026", "2026-11-31", "20261127", "yesterday", "", "2026-W48-5"])
def test_what_is_no_day_is_refused(text: str) -> None:
    with pytest.raises(UsageRefused, match="wanted a day such as"):
        the_end_of(text, NOW)


def test_a_day_that_has_not_come_is_refused() -> None:
    with pytest.raises(UsageRefused, match="has not come yet"):
        the_end_of("2026-11-29", NOW)


def test_a_zone_or_a_year_that_cannot_be_reckoned_leaves_times_as_the_book_has_them(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("TZ", "XXX25")
    time.tzset()
    try:
        assert local_minutes("2026-11-27T12:30:00.000Z") == "2026-11-27 12:30"
        assert When(datetime(2027, 1, 1, tzinfo=UTC), date(2026, 11, 27)).moment.date() >= date(2026, 11, 27)
    finally:
        monkeypatch.undo()
        time.tzset()
    assert local_day("9999-12-31T23:59:59.000Z")
    assert local_minutes("0001-01-01T00:00:00.000Z")
    assert When(datetime(2027, 1, 1, tzinfo=UTC), date.max).moment.year == 9999
