"""How long a stop holds, and for what reasons one may be asked for, by the account's country.

The tool knows only what a statute says; everywhere else the bank's own terms hold, and a setting says what they are.
A period of months ends on the day of the same number, or on the last of a shorter month, as a bank's diary has it.

>>> parse_period("6 months").after("2026-08-31"), parse_period("14 days").after("2026-11-27")
('2027-02-28', '2026-12-11')
>>> parse_period("half a year")
Traceback (most recent call last):
ValueError: 'half a year'
"""

import calendar
import re
from datetime import date, timedelta
from typing import NamedTuple

from cheque.tongue import counted, tr

_PERIOD = re.compile(r"(\d{1,3}) (day|month|year)s?", re.ASCII)


class Period(NamedTuple):
    """So many days, months or years."""

    length: int
    unit: str

    def after(self, day: str) -> str:
        """The day (ISO 8601) so long after another."""
        start = date.fromisoformat(day)
        if self.unit == "day":
            return (start + timedelta(days=self.length)).isoformat()
        months = start.month - 1 + self.length * (12 if self.unit == "year" else 1)
        year, month = start.year + months // 12, months % 12 + 1
        return date(year, month, min(start.day, calendar.monthrange(year, month)[1])).isoformat()

    def __str__(self) -> str:
        if self.unit == "day":
            return counted(self.length, "day")
        return counted(self.length, "year") if self.unit == "year" else counted(self.length, "month")


def parse_period(text: str) -> Period:
    """A period as people write it. ValueError when it is none, or is over ten years."""
    match = _PERIOD.fullmatch(text.strip())
    if not match or not 1 <= int(match[1]) <= {"day": 3653, "month": 120, "year": 10}[match[2]]:
        raise ValueError(repr(text))
    return Period(int(match[1]), match[2])


class Rules(NamedTuple):
    """What a country's statute says. `reasons`: those for which a stop may be asked for, () for any; `lapses` and
    `spoken`: how long a stop holds, and one only spoken, None where the statute does not say; `source`."""

    reasons: tuple[str, ...] = ()
    lapses: Period | None = None
    spoken: Period | None = None
    source: str = ""


#: country -> its statute
RULES = {
    "US": Rules((), Period(6, "month"), Period(14, "day"), "UCC § 4-403(b)"),
    "FR": Rules(("lost", "stolen", "fraud", "insolvency"), source="Code monétaire et financier L131-35"),
}


def rules_of(country: str) -> Rules:
    """A country's rules; none of its own where the tool knows of no statute."""
    return RULES.get(country, Rules())


def not_allowed(country: str, reason: str) -> str:
    """Why a stop may not be asked for, or "" when it may."""
    rules = rules_of(country)
    if not rules.reasons or reason in rules.reasons:
        return ""
    return tr(
        "found --reason {reason}; wanted one of {reasons}: in this account's country ({country}) a stop for anything "
        "else is unlawful ({source}). Settle it with the payee, or ask a lawyer.",
        reason=reason or tr("not given"),
        reasons=", ".join(rules.reasons),
        country=country,
        source=rules.source,
    )
