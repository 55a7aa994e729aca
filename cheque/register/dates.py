"""Dates as registers write them, by a pattern: read to ISO 8601 text, and written back.

`YYYY` or `YY`, `MM` or `M`, `DD` or `D` stand for the digits of year, month and day, as in the date patterns of
forms; one letter alone takes one digit or two. `MMM` is the month's English abbreviation in any letters (JAN …
DEC), and `DDD` the day of the year from 001, which some hosts write. Every other character stands for itself. Two
digits of a year say a century only together with the first year they can mean.

>>> date_pattern("DD.MM.YYYY").read("27.11.2026"), date_pattern("M/D/YYYY").read("1/3/2026")
('2026-11-27', '2026-01-03')
>>> date_pattern("YYDDD", 1970).read("26331"), date_pattern("YYDDD", 1970).write("2026-11-27")
('2026-11-27', '26331')
>>> date_pattern("DD.MM.YY")
Traceback (most recent call last):
ValueError: 'DD.MM.YY', whose years have two digits, without the first year they can mean
"""

import re
from datetime import date, timedelta
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from cheque.tongue import tr

MONTHS = ("JAN", "FEB", "MAR", "APR", "MAY", "JUN", "JUL", "AUG", "SEP", "OCT", "NOV", "DEC")
_RUN = re.compile(r"Y+|M+|D+|.", re.DOTALL)
_PARTS = {
    "YYYY": r"(?P<y>\d{4})",
    "YY": r"(?P<y>\d{2})",
    "MMM": r"(?P<name>[A-Za-z]{3})",
    "MM": r"(?P<m>\d{2})",
    "M": r"(?P<m>\d{1,2})",
    "DDD": r"(?P<day>\d{3})",
    "DD": r"(?P<d>\d{2})",
    "D": r"(?P<d>\d{1,2})",
}
ISO = "YYYY-MM-DD"


class DatePattern(NamedTuple):
    """A pattern that gives one day and no other; `read` and `write` are each other's inverse."""

    text: str
    runs: tuple[str, ...]
    regex: re.Pattern[str]
    first_year: int

    @property
    def width(self) -> int:
        """Characters of a date, or 0 when that depends on the date."""
        return 0 if "M" in self.runs or "D" in self.runs else len(self.text)

    def read(self, text: str) -> str:
        """ISO 8601 text. ValueError when the text is no real date of this pattern."""
        return _read(self, text)

    def write(self, iso: str) -> str:
        """The date by the pattern. ValueError when two digits of a year would not say which."""
        year, month, day = (int(part) for part in iso.split("-"))
        first = self.first_year
        if "YY" in self.runs and not first <= year < first + 100:
            raise ValueError(tr("{iso} is not in the hundred years from {first}", iso=iso, first=first))
        of_year = (date(year, month, day) - date(year, 1, 1)).days + 1
        parts = {
            "YYYY": f"{year:04d}",
            "YY": f"{year % 100:02d}",
            "MMM": MONTHS[month - 1],
            "MM": f"{month:02d}",
            "M": str(month),
            "DDD": f"{of_year:03d}",
            "DD": f"{day:02d}",
            "D": str(day),
        }
        return "".join(parts.get(run, run) for run in self.runs)


@lru_cache(4096)
def _read(pattern: DatePattern, text: str) -> str:
    match = pattern.regex.fullmatch(text)
    if not match:
        raise ValueError(tr("not of the pattern"))
    found = match.groupdict()
    year = int(found["y"])
    if len(found["y"]) == 2:
        year += pattern.first_year // 100 * 100
        year += 100 if year < pattern.first_year else 0
    if "day" in found:
        when = date(year, 1, 1) + timedelta(int(found["day"]) - 1)
        if when.year != year or found["day"] == "000":
            raise ValueError(tr("no such day of the year"))
        return when.isoformat()
    month = MONTHS.index(found["name"].upper()) + 1 if "name" in found else int(found["m"])
    return date(year, month, int(found["d"])).isoformat()


@lru_cache(256)
def date_pattern(text: str, first_year: int = 0) -> DatePattern:
    """The pattern of a text. ValueError, saying what is wrong with it, when it does not give one day exactly."""
    runs = tuple(_RUN.findall(text))
    parts = [run for run in runs if run in _PARTS]
    strange = [run for run in runs if run not in _PARTS and run.isalnum()]
    kinds = sorted("day" if run == "DDD" else run[0] for run in parts)
    if strange or kinds not in (["D", "M", "Y"], ["Y", "day"]):
        raise ValueError(tr("{text!r}, which does not give year, month and day, each once", text=text))
    if any(a in ("M", "D") and b in _PARTS for a, b in pairwise(runs)):
        raise ValueError(
            tr("{text!r}, in which one letter alone stands before another with no mark between them", text=text)
        )
    if "YY" in runs and not 1600 <= first_year <= 9900:
        raise ValueError(tr("{text!r}, whose years have two digits, without the first year they can mean", text=text))
    regex = re.compile("".join(_PARTS.get(run, re.escape(run)) for run in runs), re.ASCII)
    return DatePattern(text, runs, regex, first_year)
