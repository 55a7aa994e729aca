"""`cheque.toml`: accounts, printers, and where the book is. The tool writes it once and never rewrites it.

Looked for in the working directory, or as `--settings` says, or in the user's configuration directory. No
secret is stored in it. Unknown keys, wrong types and impossible values are refused together, each with its
path and line.
"""

import os
import re
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import NamedTuple

from cheque import money, units
from cheque.errors import Fault, InputRefused
from cheque.settings_bank import NoticeSettings, StopSettings, take_notice, take_stop
from cheque.stale import honoured
from cheque.tomlfile import Checker, Document

FILE = "cheque.toml"
#: the folder of what a station keeps for itself (registers as they came, locks of printers), the book being on a server
STATION = "station"
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
_NAME = re.compile(r"[A-Za-z0-9_-]{1,40}")
_FORMS = "a folder with form definitions of your own"


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


class Duties(NamedTuple):
    """Which hands are kept apart. `approve`: a batch is printed once another than who accepted it approved its proof;
    `reconcile`: who printed does not reconcile; `second_person`: a void and a manual cheque need a second person."""

    approve: bool = False
    reconcile: bool = False
    second_person: bool = False


class Settings(NamedTuple):
    """All settings; `book` is the folder the book is kept in; `source` the file they came from.

    `server`: the URL of the database that several stations keep one book in, or ""; `book` is then the folder of what
    this station keeps for itself.
    """

    source: Path
    book: Path
    accounts: dict[str, Account]
    printers: dict[str, PrinterSettings]
    forms: Path | None
    server: str = ""
    duties: Duties = Duties()

    def account(self, name: str) -> Account:
        """An account by name. InputRefused when there is none."""
        if name not in self.accounts:
            raise InputRefused(_none(self.source, "account", name, self.accounts))
        return self.accounts[name]

    def printer(self, name: str) -> PrinterSettings:
        """A printer by name. InputRefused when there is none."""
        if name not in self.printers:
            raise InputRefused(_none(self.source, "printer", name, self.printers))
        return self.printers[name]


def _none(source: Path, what: str, name: str, known: Iterable[str]) -> str:
    names = ", ".join(known) or "none"
    return f"there is no {what} {name!r} in {source}; it has: {names}. Name one of them, or add [{what}s.{name}]."


def mask(number: str) -> str:
    """All but the last four characters as stars; short numbers wholly."""
    shown = number[-4:] if len(number) > 6 else ""
    return "*" * (len(number) - len(shown)) + shown


def find(named: str | None, *, directory: Path | None = None) -> Path:
    """Where the settings are. InputRefused when they are nowhere."""
    if named:
        path = Path(named)
        if not path.is_file():
            raise InputRefused(f"there are no settings at {path}: no such file. Name another with --settings.")
        return path
    places = _places(directory)
    for place in places:
        if place.is_file():
            return place
    looked = f"neither {places[0]} nor {places[1]} is there" if len(places) > 1 else f"{places[0]} is not there"
    raise InputRefused(f"there are no settings: {looked}. `cheque setup` writes them here.")


def _places(directory: Path | None) -> list[Path]:
    """Where settings are looked for, the nearest first."""
    here = (directory or Path.cwd()) / FILE
    try:
        return [here, Path(os.environ.get("XDG_CONFIG_HOME") or Path.home() / ".config") / "cheque" / FILE]
    except RuntimeError:  # a user without a home directory, as in some containers
        return [here]


def any_found(named: str | None) -> Path | None:
    """Where the settings are, or None when none were named and there are none. InputRefused for a name of nothing."""
    return find(named) if named or any(place.is_file() for place in _places(None)) else None


def load(path: Path) -> Settings:
    """Read settings. InputRefused with every fault, its key and its line."""
    return parse(_text(path), path)


def _text(path: Path) -> str:
    try:
        return path.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise InputRefused(f"{path} cannot be read: {error}.") from None


def forms_folder(path: Path) -> Path | None:
    """The folder of the firm's own forms, whatever else the settings still lack.

    A form is made and looked at before the account is filled in, so only `forms` is read here, and held to its type.
    """
    document = Document(_text(path), str(path))
    faults: list[Fault] = []
    table = {key: value for key, value in document.data.items() if key == "forms"}
    forms = Checker(document, table, "", faults).take("forms", str, "", wanted=_FORMS)
    if faults:
        raise InputRefused(f"{path} has 1 fault.", faults)
    return path.parent / forms if forms else None


def parse(text: str, path: Path) -> Settings:
    """Settings from their text; relative paths in it are relative to the file's folder."""
    document = Document(text, str(path))
    faults: list[Fault] = []
    root = Checker(document, document.data, "", faults)
    book = root.table_at("book")
    given = book.take("place", str, "book", convert=_place, wanted="a folder of its own for the book, or a URL")
    server = given if "://" in given else ""
    station = book.take("station", str, STATION, wanted="a folder for what this station keeps") if server else ""
    place = station or given
    book.finish()
    forms = root.take("forms", str, "", wanted=_FORMS)
    accounts = {name: _account(name, table, path.parent) for name, table in _named(root, "accounts")}
    printers = {name: _printer(name, table, path.parent) for name, table in _named(root, "printers")}
    duties = _duties(root)
    root.finish()
    for name, printer in printers.items():
        _apart(root.document, name, printer.address, path, path.parent / place, faults)
    if faults:
        raise InputRefused(f"{path} has {len(faults)} fault{'s' if len(faults) > 1 else ''}.", faults)
    folder = path.parent
    return Settings(path, folder / place, accounts, printers, folder / forms if forms else None, server, duties)


def _duties(root: Checker) -> Duties:
    table = root.table_at("duties")
    found = Duties(*(table.take(name, bool, False, wanted="true or false") for name in Duties._fields))
    table.finish()
    return found


def _place(text: str) -> str:
    """A folder, or the URL of a book on a server; never one with a password in it, which is not shown either."""
    if "://" not in text:
        return _not_blank(text)
    from cheque.book import url

    url.parse(text)
    return text


def _apart(document: Document, name: str, address: str, path: Path, book: Path, faults: list[Fault]) -> None:
    """A print stream is never appended to the settings, nor to anything inside the book."""
    if not address.startswith("file:"):
        return
    stream = Path(os.path.realpath(address.removeprefix("file:")))
    place = Path(os.path.realpath(book))
    if stream == Path(os.path.realpath(path)) or stream == place or place in stream.parents:
        where = document.where(f"printers.{name}.address")
        faults.append(Fault(where, "a file of the book's or the settings'", "a file of its own", "name another"))


def _named(root: Checker, what: str) -> list[tuple[str, Checker]]:
    """The tables of accounts or printers; their names stand in numbers (main:100501) and in names of files."""
    outer = root.table_at(what)
    found = outer.named_tables()
    for name, _ in found:
        if not _NAME.fullmatch(name):
            outer.fault(name, repr(name), "a name of up to 40 letters, digits, - and _")
    return found


def _not_blank(text: str) -> str:
    if not text.strip():
        raise ValueError("nothing between the quotes")
    return _plain(text.strip())


def _plain(text: str) -> str:
    if not text.isprintable():
        raise ValueError(f"{text!a}, with a character that is not printed")
    return text


def _currency(text: str) -> str:
    try:
        money.digits(text)
    except KeyError:
        raise ValueError(f"{text!r}, which ISO 4217 does not know as money") from None
    return text


def _account(name: str, table: Checker, folder: Path) -> Account:
    drawer = table.take("drawer", str, "", required=True, convert=_not_blank, wanted="the drawer's legal name")
    address = table.take("address", list, [], wanted="a list of lines of text")
    if any(not isinstance(line, str) or not line.isprintable() for line in address):
        table.fault("address", ascii(address), "a list of lines of plain text")
        address = []
    bank = table.take("bank", str, "", required=True, convert=_not_blank, wanted="the bank's name")
    number = table.take("account_number", str, "", convert=_account_number, wanted="letters and digits")
    currency = table.take("currency", str, "USD", required=True, convert=_currency, wanted="a code such as USD")
    locale = table.take("locale", str, "en_US", required=True, convert=_locale, wanted="a locale such as en_US")
    routing = table.take("routing", str, "", wanted="the bank's routing number")
    if routing:
        _routing(table, routing, locale)
    usual = honoured(locale).days if isinstance(locale, str) else 180
    stale = table.take("stale_after_days", int, usual, convert=_within(1, 3650), wanted="days, from 1 to 3650")
    unclaimed = _unclaimed(table)
    near = table.take("near_duplicate_days", int, NEAR_DAYS, convert=_within(0, 366), wanted="days, from 0 to 366")
    limit = _limit(table, "two_signatures_over", currency)
    second = _limit(table, "second_approval_over", currency)
    place = table.take("place", str, "", convert=_not_blank, wanted="the place of issue, as a cheque states it")
    substitute = table.take("substitute", str, "", convert=lambda v: _substitute(v, locale))
    notice, stop = take_notice(table, folder), take_stop(table)
    statement_account = table.take("statement_account", str, "", convert=_account_number, wanted="letters and digits")
    places = table.take("cheque_numbers_from", list, [], wanted="a list of places and patterns")
    for number, text in enumerate(places):
        _number_place(table, number, text)
    table.finish()
    numbers_from = tuple(map(str, places))
    told = (currency, locale, substitute, stale, limit, place, near, unclaimed, statement_account, numbers_from)
    return Account(name, drawer, tuple(address), bank, routing, number, *told, notice, stop, second)


def _unclaimed(table: Checker) -> tuple[int, str] | None:
    """When a cheque is old enough for the law of unclaimed wages or property: in days or in years, never in both."""
    given = {
        unit: table.take(f"unclaimed_after_{unit}", int, 0, convert=_within(1, most), wanted=f"{unit}, 1 to {most}")
        for unit, most in (("days", 36_500), ("years", 100))
    }
    stated = [(number, unit) for unit, number in given.items() if number]
    if len(stated) > 1:
        table.fault("unclaimed_after_years", "unclaimed_after_days as well", "one of the two")
    return stated[0] if stated else None


def _number_place(table: Checker, number: int, text: object) -> None:
    from cheque.bank.statement import place_of

    try:
        place_of(text if isinstance(text, str) else "")
    except ValueError as error:
        table.fault(f"cheque_numbers_from.{number}", str(error), 'such as "AddtlTxInf: CHEQUE ([0-9]+)"')


def _limit(table: Checker, key: str, currency: str) -> int | None:
    """An amount of an account's currency, in minor units; None when it is not stated."""
    over = table.take(key, str, "", wanted='an amount in quotes, such as "5000.00"')
    if not over:
        return None
    try:
        limit = money.parse(over, currency)
        if limit <= 0:
            table.fault(key, repr(over), f"an amount of {currency} above nought")
        return limit
    except (money.AmountError, KeyError) as error:
        table.fault(key, str(error), f"an amount of {currency}")
        return None


def _account_number(text: str) -> str:
    if not all(c.isalnum() or c in " -" for c in text) or len(text) > 34:
        raise ValueError(f"an account number of {len(text)} characters that are not all letters and digits")
    return text


def _locale(text: str) -> str:
    from cheque.wording import WordingError, locales, substitutions

    try:
        substitutions(text)
    except WordingError as error:
        refused = str(error).removeprefix(f"{text} is refused: ")
        if refused != str(error):
            raise ValueError(f"{text!r}, which is refused: {refused}") from None
        known = ", ".join(style.locale for style in locales())
        raise ValueError(f"{text!r}, which is not among {known}") from None
    return text


def _substitute(text: str, locale: str) -> str:
    from cheque.wording import substitutions

    known = list(substitutions(locale))
    if text and text not in known:
        raise ValueError(f"{text!r}, which {locale} does not have; it has {', '.join(known) or 'none'}")
    return text


def _routing(table: Checker, routing: str, locale: str) -> None:
    """A United States routing number: nine digits with a right check digit (the stdnum library's), not zeros."""
    if not locale.endswith("_US"):
        return
    from stdnum.exceptions import ValidationError
    from stdnum.us import rtn

    found = ""
    if routing == "000000000":
        found = "000000000, which no bank has"
    else:
        try:
            if rtn.validate(routing) != routing:
                found = f"{routing!r} with marks between the digits"
        except ValidationError as error:
            found = f"{routing!r}: {str(error).rstrip('.').lower()}"
    if not found and not (int(routing[:2]) <= 12 or 21 <= int(routing[:2]) <= 32 or 61 <= int(routing[:2]) <= 72):
        found = "" if routing[:2] == "80" else f"{routing!r}, whose first two digits no bank has"
    if found:
        table.fault(
            "routing",
            found,
            "nine digits with a right check digit",
            "copy it from the magnetic line at the foot of a cheque",
        )


def _within(low: int, high: int) -> Callable[[int], int]:
    def convert(value: int) -> int:
        if not low <= value <= high:
            raise ValueError(str(value))
        return value

    return convert


def _step(text: str) -> int:
    step = _length(text)
    if step <= 0 or units.INCH % step:
        raise ValueError(f"{text!r}, which is not a whole part of an inch")
    return step


def _length(text: str) -> int:
    try:
        return units.read_length(text)
    except ValueError as error:
        if "whole number of units" in str(error):
            raise ValueError(f"{text!r}, which is finer than any printer's step") from None
        raise


def _width(text: str) -> int:
    width = _length(text)
    if not units.INCH <= width <= 24 * units.INCH:
        raise ValueError(f"{text!r}, which is no carriage's: 1 in to 24 in")
    return width


def _printer(name: str, table: Checker, folder: Path) -> PrinterSettings:
    from cheque import language as languages

    language = table.take("language", str, "escp9", required=True, choices=languages.NAMES)
    address = table.take("address", str, "", required=True, convert=lambda v: _address(v, folder))
    default = {"plain": "1/6 in", "escp24": "1/180 in"}.get(language, "1/216 in")
    step = table.take("step", str, _step(default), convert=_step, wanted='a length such as "1/72 in"')
    characters = table.take("table", str, "cp437", choices=_tables())
    parts = table.take("parts", int, 4, convert=_within(1, 12), wanted="how many parts, 1 to 12")
    speed = table.take("speed", int, SPEED, convert=_within(1, 5000), wanted="characters a second, 1 to 5000")
    file = address.startswith("file:")
    most = MOST_TO_A_FILE if file else MOST_AT_ONCE
    usual = TO_A_FILE if file else 1
    window = table.take("window", int, usual, convert=_within(1, most), wanted=f"forms, 1 to {most}")
    width = table.take("width", str, units.read_length(WIDTH), convert=_width, wanted='a length such as "8 in"')
    stall = table.take("stall_seconds", int, None, convert=_within(5, 3600), wanted="seconds, 5 to 3600")
    without = table.take("without", list, [], wanted="a list of abilities the model lacks")
    known = languages.get(language).abilities
    for lacking in without:
        if not isinstance(lacking, str) or lacking not in known:
            table.fault("without", repr(lacking), f"abilities of {language}: {', '.join(known)}")
    vouched = table.take("vouched", list, [], wanted="a list of what somebody has seen the printer do")
    for seen in vouched:
        if not isinstance(seen, str) or seen not in languages.VOUCHABLE:
            table.fault("vouched", repr(seen), f"a list of {', '.join(languages.VOUCHABLE)}")
    table.finish()
    told = (frozenset(map(str, without)), width, stall, frozenset(map(str, vouched)))
    return PrinterSettings(name, language, address, step, characters, parts, speed, window, *told)


def _tables() -> tuple[str, ...]:
    from cheque.language.tables import TABLES

    return tuple(TABLES)


def _address(text: str, folder: Path) -> str:
    from cheque import device

    try:
        wrong = device.kind_of(text).check(text)
    except KeyError:
        raise ValueError(f"{text!r}; it begins with none of {', '.join(f'{kind}:' for kind in device.KINDS)}") from None
    if wrong:
        raise ValueError(wrong)
    if text.startswith("file:"):
        return f"file:{folder / text.removeprefix('file:')}"
    return text


def template(
    *,
    drawer: str,
    address: tuple[str, ...],
    bank: str,
    routing: str,
    number: str,
    currency: str,
    locale: str,
    book: str = "book",
) -> str:
    """The commented text that `cheque setup` writes; what goes between quotes is plain, printable text."""

    def quoted(text: str) -> str:
        return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'

    def line(key: str, value: str, told: str) -> str:
        return f"{f'{key} = {value}':<35} # {told}"

    lines = ", ".join(quoted(line) for line in address)
    usual = honoured(locale)
    return f"""\
# Settings of cheque. The tool wrote this file once and never rewrites it: edit it as you like.
# What changes by use (stock, shift, everything that was printed) is in the book, not here.
# No secret belongs in this file.

# A folder with form definitions of your own, beside those that come with the tool.
# forms = "forms"

[book]
# A folder of its own: a path, from this file's folder. Or, for several stations, "postgresql://host/database", and
# never with a password in it: docs/postgresql.md
place = {quoted(book)}

# One table for each bank account that cheques are drawn on; you name it after the dot.
[accounts.main]
{line("drawer", quoted(drawer), "the drawer's legal name, as on the preprinted form")}
address = [{lines}]
bank = {quoted(bank)}
{line("routing", quoted(routing), "nine digits in the United States, check digit verified")}
{line("account_number", quoted(number), "shown masked everywhere")}
{line("currency", quoted(currency), "a code of ISO 4217")}
{line("locale", quoted(locale), "how the legal amount is written: `cheque words --list`")}
{line("stale_after_days", str(usual.days), f"{usual.source}; ask your bank")}
near_duplicate_days = {NEAR_DAYS}             # same payee and amount within so many days: asked about; 0 for never
# unclaimed_after_years = 3         # or unclaimed_after_days: when the law of unclaimed wages or property may speak of
                                    # a cheque; it differs by place and by kind of payment, so ask; no figure is assumed
# two_signatures_over = "5000.00"   # amounts over this want a second signature
# second_approval_over = "5000.00"  # a batch that pays an amount over this is approved by two: docs/duties.md
# place = "Quillmere"               # the place of issue, where a form states it, as in France and Germany
# statement_account = ""            # what the bank's statements call this account, if not by its number
# cheque_numbers_from = ["AddtlTxInf: CHEQUE ([0-9]+)"]   # where its statements give cheque numbers, if not in ChqNb
# notice.layout = "bank-notice.toml"  # how the bank wants to be told what was issued: docs/notices.md
# stop.lapses = "6 months"          # how long your bank holds a stop; in the United States so unless set
# substitute = ""                   # how letters that a printer lacks may be replaced, where the language has a way

# Hands kept apart: docs/duties.md
[duties]
# approve = true                    # a batch is printed once another than who accepted it approved its proof
# reconcile = true                  # who printed does not reconcile
# second_person = true              # a void and a cheque by hand need a second person

# One table for each printer; you name it after the dot.
[printers.payroom]
language = "escp9"                  # plain, escp9, …: what `cheque form check` says the form can be fed in
address = "file:payroom.prn"        # file:PATH, socket://host:port of a printer or its bridge, queue:NAME of a
                                    # spooler, serial:/dev/ttyS0?baud=9600&flow=xonxoff, or port:/dev/usb/lp0
step = "1/216 in"                   # the true step of its paper feed; some step 1/72 in
table = "cp437"                     # its character table
parts = 4                           # how many parts of a set it is rated for
speed = 200                         # characters a second in draft, at 10 to the inch
width = "13.6 in"                   # how far across it can strike; a narrow carriage has "8 in"
# window = 1                        # forms on their way at once, all in doubt after a stop: 1, the safest, unless
                                    # set; to a file, which has no paper, {TO_A_FILE}
# without = ["letter-quality"]      # what of its language this model lacks: docs/printer-languages.md
# vouched = ["high-letters"]        # in plain: it was seen to print letters for bytes 80 to 9F (é, £ of cp437)
# stall_seconds = 164               # given up when it takes nothing for so long; else the time it needs to strike
                                    # {MEMORY:,} characters, which a printer or bridge may hold in its memory
"""
