"""How old an unpaid cheque is: in groups of days, stale, old enough for the law of unclaimed wages or property.

Age is counted in days from the date on the cheque. A cheque is stale when it is older than the days that the
account's settings give: how long a bank is bound to honour one differs by country (United States, six months:
UCC § 4-404) and by bank. When the law of unclaimed wages or property speaks of it differs by place and by what was
paid: the settings state it, and the tool assumes nothing.
"""

from datetime import date
from functools import lru_cache
from typing import NamedTuple

from cheque.settings import Account, Settings
from cheque.tongue import mark, tr

#: ages in days at which a new group begins, as far as an account's cheques are not stale by then
AGES = (30, 60, 90)
LATER = mark("Dated later than this report")
STALE = mark("Stale")
OLDEST = mark("Ask about unclaimed money")
CAUTION = mark(
    "When unpaid wages or other property have to be reported or handed over, and after what notice to the payee, is "
    "a matter of local law: ask a licensed adviser. Until then the money stays the payee's."
)


class Limits(NamedTuple):
    """What an account's settings say of age: `stale` in days, None when the account is no longer in them; `unclaimed`
    as (3, "years"), None when not stated."""

    stale: int | None
    unclaimed: tuple[int, str] | None


def limits(settings: Settings, account: str) -> Limits:
    """The limits of an account."""
    found: Account | None = settings.accounts.get(account)
    return Limits(found.stale_after_days, found.unclaimed_after) if found else Limits(None, None)


@lru_cache(maxsize=4096)  # a register has few dates
def days_old(dated: str, today: date) -> int:
    """Days from the date on a cheque (ISO 8601)."""
    return (today - date.fromisoformat(dated)).days


def old_enough(dated: str, today: date, unclaimed: tuple[int, str] | None) -> bool:
    """Whether a cheque of a date is older, on a day, than the settings say; never when they say nothing.

    >>> day = date(2029, 11, 27)
    >>> [old_enough(dated, day, (3, "years")) for dated in ("2026-11-26", "2026-11-27")]
    [True, False]
    >>> old_enough("2028-02-29", date(2029, 3, 1), (1, "years")), old_enough("2029-11-20", day, (6, "days"))
    (False, True)
    >>> old_enough("1990-01-01", day, None)
    False
    """
    if unclaimed is None:
        return False
    number, unit = unclaimed
    first = date.fromisoformat(dated)
    if unit == "days":
        return (today - first).days > number
    try:
        end = first.replace(year=first.year + number)
    except ValueError:
        if first.year + number > date.max.year:
            return False
        end = date(first.year + number, 3, 1)  # a 29 February, in a year that has none
    return today > end


def spoken(unclaimed: tuple[int, str]) -> str:
    """A limit in words: 1 year, 400 days."""
    number, unit = unclaimed
    return f"{number} {unit[:-1] if number == 1 else unit}"


def group_of(age: int, stale: int | None) -> str:
    """The title of the group that an age in days belongs to.

    >>> [group_of(age, 180) for age in (-1, 0, 30, 31, 180)]
    ['Dated later than this report', '0 to 30 days', '0 to 30 days', '31 to 60 days', '91 to 180 days']
    >>> group_of(181, 180), group_of(9, 8), group_of(91, None)
    ('Stale: over 180 days', 'Stale: over 8 days', 'Over 90 days')
    """
    if age < 0:
        return LATER
    if stale is not None and age > stale:
        return tr("{stale}: over {stale2} days", stale=tr(STALE), stale2=stale)
    start = 0
    for end in _ends(stale):
        if age <= end:
            return tr("{start} to {end} days", start=start, end=end)
        start = end + 1
    return tr("Over {start} days", start=start - 1)


@lru_cache(maxsize=4096)
def title_of(dated: str, today: date, limit: Limits) -> str:
    """The title of the group that a cheque belongs to; the oldest group goes before the stale one."""
    if limit.unclaimed and old_enough(dated, today, limit.unclaimed):
        return _oldest(limit.unclaimed)
    return group_of(days_old(dated, today), limit.stale)


def titles(limit: Limits) -> list[str]:
    """Every group that an account's cheques can be in, the youngest first, but for those dated later."""
    ages = [0, *(end + 1 for end in _ends(limit.stale))]
    if limit.stale is not None:
        ages.append(limit.stale + 1)
    found = list(dict.fromkeys(group_of(age, limit.stale) for age in ages))
    if limit.unclaimed:
        found.append(_oldest(limit.unclaimed))
    return found


def _oldest(unclaimed: tuple[int, str]) -> str:
    return tr("{oldest}: over {spoken}", oldest=tr(OLDEST), spoken=spoken(unclaimed))


def _ends(stale: int | None) -> list[int]:
    """The last age of each group before the stale one."""
    return [end for end in AGES if stale is None or end < stale] + ([] if stale is None else [stale])
