"""What the settings say of an account and of a printer, and what every key of theirs is held to."""

from collections.abc import Callable
from typing import NamedTuple

from cheque.settings_bank import NoticeSettings, StopSettings
from cheque.tongue import tr

SPEED = 200  # characters a second, when a printer's is not given
WIDTH = "13.6 in"  # a wide carriage: 136 columns at 10 to the inch
#: how many characters a printer or bridge may hold in its memory, taking nothing until it has struck them
MEMORY = 32_768
#: forms on their way at once, at most; all of them are in doubt after a stop
MOST_AT_ONCE = 100
#: a file has no paper that could jam, and takes a form in less than a disk's sync: so many go together unless set
TO_A_FILE, MOST_TO_A_FILE = 250, 1000
#: never given up sooner, however fast the printer
SHORTEST_STALL = 60
#: less than a week, so that weekly wages are not asked about
NEAR_DAYS = 5


class Account(NamedTuple):
    """A bank account that cheques are drawn on. `two_signatures_over` is in minor units; "" and None: not stated."""

    name: str
    drawer: str
    address: tuple[str, ...]
    bank: str
    routing: str
    number: str
    currency: str
    locale: str
    substitute: str
    stale_after_days: int
    two_signatures_over: int | None
    place: str = ""
    #: how many days apart two payments to one payee of one amount are asked about; 0 for never
    near_duplicate_days: int = NEAR_DAYS
    #: (3, "years"): how old a cheque is when the law of unclaimed wages or property may speak of it; None: not stated
    unclaimed_after: tuple[int, str] | None = None
    #: what the bank's statements call the account, if not by its number; where else they may give a cheque number
    statement_account: str = ""
    cheque_numbers_from: tuple[str, ...] = ()
    notice: NoticeSettings = NoticeSettings()
    stop: StopSettings = StopSettings()
    #: a batch that pays an amount over this (minor units) is approved by two; None: not stated
    second_approval_over: int | None = None

    @property
    def country(self) -> str:
        """The country of the account, whose law its cheques are under: the two letters of its locale."""
        return self.locale.rpartition("_")[2]

    @property
    def masked(self) -> str:
        """The account number as it may be shown: all but the last four characters hidden."""
        return mask(self.number)


class PrinterSettings(NamedTuple):
    """A printer. `step` and `width` (how far across it can strike) in units; `parts` how many parts of a set it is
    rated for; `speed` characters a second in draft; `window` how many forms go at once; `stall_seconds` as set, or
    None; `vouched` what no command can set but somebody has seen (`cheque.language.VOUCHABLE`)."""

    name: str
    language: str
    address: str
    step: int
    table: str
    parts: int
    speed: int
    window: int
    without: frozenset[str]
    width: int
    stall_seconds: int | None
    vouched: frozenset[str] = frozenset()

    @property
    def patience(self) -> int:
        """Seconds in which a printer may take nothing before it is given up.

        Unless set: as long as it needs to strike a full memory, and a minute at least.
        """
        return self.stall_seconds or max(SHORTEST_STALL, -(-MEMORY // self.speed))


def mask(number: str) -> str:
    """All but the last four characters as stars; short numbers wholly."""
    shown = number[-4:] if len(number) > 6 else ""
    return "*" * (len(number) - len(shown)) + shown


def not_blank(text: str) -> str:
    if not text.strip():
        raise ValueError(tr("nothing between the quotes"))
    return plain_text(text.strip())


def plain_text(text: str) -> str:
    if not text.isprintable():
        raise ValueError(tr("{text!a}, with a character that is not printed", text=text))
    return text


def within(low: int, high: int) -> Callable[[int], int]:
    def convert(value: int) -> int:
        if not low <= value <= high:
            raise ValueError(str(value))
        return value

    return convert
