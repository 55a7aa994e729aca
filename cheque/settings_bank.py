"""What `cheque.toml` says of each account's dealings with its bank: how notices are written, how long a stop holds.

[accounts.main.notice]
layout = "bank-notice.toml"     # the layout of its text, from this file's folder
as = "text"                     # or camt, where the bank agreed to take ISO 20022 messages

[accounts.main.stop]
lapses = "6 months"             # as your bank says; in the United States so unless set
spoken_lapses = "14 days"       # one that was only spoken
warn_days = 30                  # how long before it lapses it is listed for renewal
"""

from pathlib import Path
from typing import NamedTuple

from cheque.bank.stoprules import Period, parse_period, rules_of
from cheque.tomlfile import Checker
from cheque.tongue import tr

WARN_DAYS = 30


class NoticeSettings(NamedTuple):
    """How an account's notices are written: by which layout, or as ISO 20022 messages (`camt`)."""

    layout: Path | None = None
    written: str = "text"

    @property
    def wanted(self) -> bool:
        """Whether the account's bank is to be told of cheques."""
        return self.layout is not None or self.written == "camt"


class StopSettings(NamedTuple):
    """How long the bank holds a stop, None when the settings do not say; and when to list it for renewal."""

    lapses: Period | None = None
    spoken: Period | None = None
    warn_days: int = WARN_DAYS


def take_notice(account: Checker, folder: Path) -> NoticeSettings:
    """The table `notice` of an account."""
    table = account.table_at("notice")
    layout = table.take("layout", str, "", wanted=tr("the file of a layout"))
    written = table.take("as", str, "text", choices=("text", "camt"))
    table.finish()
    return NoticeSettings(folder / layout if layout else None, written)


def take_stop(account: Checker) -> StopSettings:
    """The table `stop` of an account."""
    table = account.table_at("stop")
    wanted = tr('a time such as "6 months" or "14 days"')
    lapses = table.take("lapses", str, None, convert=parse_period, wanted=wanted)
    spoken = table.take("spoken_lapses", str, None, convert=parse_period, wanted=wanted)
    warn = table.take("warn_days", int, WARN_DAYS, convert=_warn, wanted=tr("days, 0 to 3650"))
    table.finish()
    return StopSettings(lapses, spoken, warn)


def _warn(days: int) -> int:
    if not 0 <= days <= 3650:
        raise ValueError(str(days))
    return days


def lapse_of(country: str, stop: StopSettings, day: str, *, spoken: bool = False) -> tuple[str, str]:
    """The last day (ISO 8601) of a stop given on a day, and how that is known: a setting, or a statute; or "" twice."""
    law = rules_of(country)
    own = stop.spoken if spoken else stop.lapses
    period = own or (law.spoken if spoken else law.lapses)
    if period is None:
        return "", ""
    return period.after(day), tr("{period}, as cheque.toml says", period=period) if own else f"{period}, {law.source}"
