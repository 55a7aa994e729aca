"""`cheque.toml`: accounts, printers, and where the book is. The tool writes it once and never rewrites it.

Looked for in the working directory, or as `--settings` says, or in the user's configuration directory. No
secret is stored in it. Unknown keys, wrong types and impossible values are refused together, each with its
path and line.
"""

import os
import re
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

from cheque import system
from cheque.errors import Fault, InputRefused
from cheque.settings_account import take_account
from cheque.settings_printer import take_printer
from cheque.settings_shapes import MEMORY as MEMORY
from cheque.settings_shapes import MOST_AT_ONCE as MOST_AT_ONCE
from cheque.settings_shapes import MOST_TO_A_FILE as MOST_TO_A_FILE
from cheque.settings_shapes import NEAR_DAYS as NEAR_DAYS
from cheque.settings_shapes import SHORTEST_STALL as SHORTEST_STALL
from cheque.settings_shapes import SPEED as SPEED
from cheque.settings_shapes import TO_A_FILE as TO_A_FILE
from cheque.settings_shapes import WIDTH as WIDTH
from cheque.settings_shapes import Account as Account
from cheque.settings_shapes import PrinterSettings as PrinterSettings
from cheque.settings_shapes import mask as mask
from cheque.settings_shapes import not_blank
from cheque.settings_template import template as template
from cheque.tomlfile import Checker, Document
from cheque.tongue import counted, mark, tr

FILE = "cheque.toml"
#: the folder of what a station keeps for itself (registers as they came, locks of printers), the book being on a server
STATION = "station"
_NAME = re.compile(r"[A-Za-z0-9_-]{1,40}")
_FORMS = mark("a folder with form definitions of your own")


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
    return tr(
        "there is no {what} {name!r} in {source}; it has: {names}. Name one of them, or add [{what}s.{name}].",
        what=what,
        name=name,
        source=source,
        names=names,
    )


def find(named: str | None, *, directory: Path | None = None) -> Path:
    """Where the settings are. InputRefused when they are nowhere."""
    if named:
        path = Path(named)
        if not path.is_file():
            raise InputRefused(
                tr("there are no settings at {path}: no such file. Name another with --settings.", path=path)
            )
        return path
    places = _places(directory)
    for place in places:
        if place.is_file():
            return place
    looked = (
        tr("neither {places} nor {places2} is there", places=places[0], places2=places[1])
        if len(places) > 1
        else tr("{places} is not there", places=places[0])
    )
    raise InputRefused(tr("there are no settings: {looked}. `cheque setup` writes them here.", looked=looked))


def _places(directory: Path | None) -> list[Path]:
    """Where settings are looked for, the nearest first."""
    here = (directory or Path.cwd()) / FILE
    try:
        own = Path(system.settings_folder(os.environ, Path.home(), sys.platform))
        return [here, own / "cheque" / FILE]
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
        raise InputRefused(tr("{path} cannot be read: {error}.", path=path, error=error)) from None


def forms_folder(path: Path) -> Path | None:
    """The folder of the firm's own forms, whatever else the settings still lack.

    A form is made and looked at before the account is filled in, so only `forms` is read here, and held to its type.
    """
    document = Document(_text(path), str(path))
    faults: list[Fault] = []
    table = {key: value for key, value in document.data.items() if key == "forms"}
    forms = Checker(document, table, "", faults).take("forms", str, "", wanted=tr(_FORMS))
    if faults:
        raise InputRefused(tr("{path} has 1 fault.", path=path), faults)
    return path.parent / forms if forms else None


def parse(text: str, path: Path) -> Settings:
    """Settings from their text; relative paths in it are relative to the file's folder."""
    document = Document(text, str(path))
    faults: list[Fault] = []
    root = Checker(document, document.data, "", faults)
    book = root.table_at("book")
    given = book.take("place", str, "book", convert=_place, wanted=tr("a folder of its own for the book, or a URL"))
    server = given if "://" in given else ""
    station = book.take("station", str, STATION, wanted=tr("a folder for what this station keeps")) if server else ""
    place = station or given
    book.finish()
    forms = root.take("forms", str, "", wanted=tr(_FORMS))
    accounts = {name: take_account(name, table, path.parent) for name, table in _named(root, "accounts")}
    printers = {name: take_printer(name, table, path.parent) for name, table in _named(root, "printers")}
    duties = _duties(root)
    root.finish()
    for name, printer in printers.items():
        _apart(root.document, name, printer.address, path, path.parent / place, faults)
    if faults:
        raise InputRefused(
            tr("{path} has {faults}.", path=path, faults=counted(len(faults), "fault")),
            faults,
        )
    folder = path.parent
    return Settings(path, folder / place, accounts, printers, folder / forms if forms else None, server, duties)


def _duties(root: Checker) -> Duties:
    table = root.table_at("duties")
    found = Duties(*(table.take(name, bool, False, wanted=tr("true or false")) for name in Duties._fields))
    table.finish()
    return found


def _place(text: str) -> str:
    """A folder, or the URL of a book on a server; never one with a password in it, which is not shown either."""
    if "://" not in text:
        if text.strip().lower().startswith(("postgres:", "postgresql:", "postgres//", "postgresql//")):
            raise ValueError(
                tr("no URL: it begins with postgresql://")
            )  # a slip, which would make a folder of that name
        return not_blank(text)
    from cheque.book import url

    url.parse(text)
    return text


def _apart(document: Document, name: str, address: str, path: Path, book: Path, faults: list[Fault]) -> None:
    """A print stream is never appended to the settings, nor to anything inside the book."""
    if not address.startswith("file:"):
        return
    stream = address.removeprefix("file:")
    if system.same(stream, path) or system.within(stream, book):
        where = document.where(f"printers.{name}.address")
        faults.append(
            Fault(where, tr("a file of the book's or the settings'"), tr("a file of its own"), tr("name another"))
        )


def _named(root: Checker, what: str) -> list[tuple[str, Checker]]:
    """The tables of accounts or printers; their names stand in numbers (main:100501) and in names of files."""
    outer = root.table_at(what)
    found = outer.named_tables()
    for name, _ in found:
        if not _NAME.fullmatch(name):
            outer.fault(name, repr(name), tr("a name of up to 40 letters, digits, - and _"))
    return found
