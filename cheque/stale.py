"""How long a bank honours a cheque, by country: what `stale_after_days` is unless stated; the bank's own rule counts.

A stale cheque is no settled debt: a bank may pay it all the same, and the payee is owed what is owed.
"""

from typing import NamedTuple


class Honoured(NamedTuple):
    """For how many days from the date on a cheque, and where that is from."""

    days: int
    source: str


#: when nothing is known of the country
USUAL = Honoured(180, "six months is usual, not everywhere")
COUNTRIES: dict[str, Honoured] = {
    "US": Honoured(180, "six months: UCC § 4-404"),
    "CA": Honoured(180, "about six months, from memory"),
    "GB": Honoured(180, "about six months, from memory"),
    "IN": Honoured(90, "three months: Reserve Bank of India, 2011-11-04"),
    "DE": Honoured(8, "eight days to present it, from memory"),
    "FR": Honoured(373, "a year and eight days, from memory"),
}


def honoured(locale: str) -> Honoured:
    """How long cheques of a locale's country are honoured.

    >>> honoured("en_US").days, honoured("fr_FR").days, honoured("fr_CA").days, honoured("nl_NL").days
    (180, 373, 180, 180)
    """
    return COUNTRIES.get(locale.rpartition("_")[2], USUAL)
