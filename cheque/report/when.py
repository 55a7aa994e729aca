"""When a report is read, and the day whose end it looks at; the book's times as local ones.

The book keeps its times in UTC (ISO 8601, to the millisecond); people read local dates. A day ends, for
`--as-of`, one millisecond before the next local midnight, whatever daylight saving does to its length.
"""

import re
from datetime import UTC, date, datetime, time, timedelta
from typing import NamedTuple

from cheque.errors import UsageRefused
from cheque.tongue import tr

_DAY = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)


class When(NamedTuple):
    """`printed`: when the book is read, local. `day`: the day whose end is looked at; None for now."""

    printed: datetime
    day: date | None = None

    @property
    def moment(self) -> datetime:
        """The last moment that the report knows of."""
        if self.day is None:
            return self.printed
        try:
            midnight = datetime.combine(self.day + timedelta(days=1), time())
            return midnight.astimezone() - timedelta(milliseconds=1)
        except (OverflowError, ValueError):  # a zone or a year that this machine cannot reckon: the end of the day, UTC
            return datetime.combine(self.day, time(23, 59, 59, 999000), UTC)

    @property
    def today(self) -> date:
        """The local day that ages are counted to."""
        return self.day or self.printed.date()

    @property
    def as_of(self) -> str:
        """How the book stood, for the heading."""
        return tr("the end of {isoformat}", isoformat=self.day.isoformat()) if self.day else minutes(self.printed)

    @property
    def read(self) -> str:
        """When the book was read, for the foot."""
        return minutes(self.printed)


def a_day(text: str) -> date:
    """A day as people write it here, 2026-11-27. UsageRefused for anything else."""
    try:
        if not _DAY.fullmatch(text):
            raise ValueError
        return date.fromisoformat(text)
    except ValueError:
        raise UsageRefused(tr("found {text!r}; wanted a day such as 2026-11-27.", text=text)) from None


def the_end_of(text: str, now: datetime) -> When:
    """The end of the local day that a person wrote; UsageRefused for what is no day, or has not come yet."""
    day = a_day(text)
    if day > now.date():
        raise UsageRefused(
            tr(
                "found {text}, which has not come yet: today is {isoformat}.",
                text=text,
                isoformat=now.date().isoformat(),
            )
        )
    return When(now, day)


def local(at: str) -> datetime:
    """A time of the book as local time."""
    moment = datetime.fromisoformat(at)
    try:
        return moment.astimezone()
    except (OverflowError, ValueError):  # a zone or a year that this machine cannot reckon: the book's own time, UTC
        return moment


def local_day(at: str) -> str:
    """The local day of a time of the book."""
    return local(at).date().isoformat()


def local_minutes(at: str) -> str:
    """A time of the book as people read it: local, to the minute."""
    return minutes(local(at))


def minutes(moment: datetime) -> str:
    """A moment to the minute."""
    return moment.strftime("%Y-%m-%d %H:%M")
