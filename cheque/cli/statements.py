"""What `cheque reconcile bank` reads: a statement's file, its map, and items keyed in."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from typing import Any, BinaryIO, NamedTuple

from cheque.bank import camt053, csvstatement, statementmap
from cheque.bank.statement import Piece, Wanted, place_of
from cheque.book.book import Reader, written
from cheque.book.statements import Item
from cheque.errors import InputRefused, UsageRefused
from cheque.money import AmountError, parse
from cheque.reconcile.balance import Keyed, sheet
from cheque.reconcile.bank import find
from cheque.reconcile.intake import Ours, Taken, doubts
from cheque.reconcile.judge import Rules
from cheque.register.encodings import peeked
from cheque.report.bank import Told
from cheque.report.when import When
from cheque.settings import Account
from cheque.tongue import tr

_LONGEST_MAP = 1 << 20
#: what `Keys` is read from
OPTIONS = ("opening_balance", "closing_balance", "ledger_balance", "deposits", "items", "words")


@contextmanager
def statement_stream(path: str) -> Iterator[tuple[BinaryIO, str]]:
    """A statement's bytes, and its name for messages."""
    try:
        with Path(path).open("rb") as stream:
            name = Path(path).name
            yield stream, name if name.isprintable() else ascii(name)[1:-1]
    except OSError as error:
        if error.filename != path:  # not of the statement: the report's own file, say
            raise
        told = tr(
            "{path} cannot be read: {strerror}. Name the statement that the bank gave.",
            path=path,
            strerror=error.strerror,
        )
        raise InputRefused(told) from None


def ours(account: Account) -> Ours:
    """The account as a statement has to name it."""
    known = tuple(filter(None, (account.statement_account, account.number)))
    return Ours(account.name, account.currency, known)


def wanted(account: Account, name: str) -> Wanted:
    """What the reader of a statement is told."""
    return Wanted(name, account.currency, tuple(place_of(text) for text in account.cheque_numbers_from))


def map_of(path: str) -> statementmap.StatementMap:
    """The map of a statement in CSV."""
    try:
        with Path(path).open(encoding="utf-8-sig") as file:
            text = file.read(_LONGEST_MAP + 1)
    except OSError as error:
        raise UsageRefused(
            tr("the map {path} cannot be read: {strerror}.", path=path, strerror=error.strerror)
        ) from None
    except UnicodeDecodeError:
        raise InputRefused(tr("{path} is no map that can be used: it is not UTF-8.", path=path)) from None
    if len(text) > _LONGEST_MAP:
        raise InputRefused(
            tr(
                "{path} is no map that can be used: it is longer than {longest_map} characters.",
                path=path,
                longest_map=_LONGEST_MAP,
            )
        )
    return statementmap.load(text, Path(path).name)


def pieces(stream: BinaryIO, told: Wanted, by: statementmap.StatementMap | None) -> Iterator[Piece]:
    """The statements in a file, by its kind: XML, or CSV with a map."""
    stream, head = peeked(stream)
    if not head:
        raise InputRefused(tr("{name} has nothing in it. Fetch it from the bank again.", name=told.name))
    if camt053.looks_like(head):
        if by is not None:
            raise UsageRefused(tr("{name} is XML, and a map is for CSV: leave --map out.", name=told.name))
        return camt053.read(stream, told)
    if by is None:
        raise UsageRefused(
            tr(
                "{name} is not XML. A statement in CSV needs a map of its columns: name it with --map "
                "(docs/bank-statements.md shows one).",
                name=told.name,
            )
        )
    return csvstatement.read(stream, told, by)


class Keys(NamedTuple):
    """What was keyed in beside a statement; amounts in minor units, None where not given."""

    opening: int | None
    closing: int | None
    ledger: int | None
    deposits: tuple[Keyed, ...]
    items: tuple[Keyed, ...]
    words: tuple[str, ...]

    @classmethod
    def of(cls, currency: str, **told: Any) -> "Keys":
        """Read them, by the names of `OPTIONS`. UsageRefused for one that cannot be read."""
        amounts = [
            _amount(f"--{name.replace('_', '-')}", told[name], currency) if told[name] else None for name in OPTIONS[:3]
        ]
        deposits = tuple(keyed("--deposit", text, currency) for text in told["deposits"])
        items = tuple(keyed("--item", text, currency) for text in told["items"])
        return cls(amounts[0], amounts[1], amounts[2], deposits, items, tuple(told["words"]))


def against(reader: Reader, account: Account, taken: Taken, keys: Keys) -> Told:
    """What is found of a statement that is in the book, and its reconciliation."""
    found = find(reader, account.name, Rules(account.currency, account.stale_after_days), taken.first, taken.last)
    made = sheet(
        reader,
        account.name,
        account.currency,
        taken.last,
        bank=taken.closing,
        ledger=keys.ledger,
        deposits=keys.deposits,
        to_enter=(*keys.items, *to_enter(keys.words, found.others)),
        others=found.others,
        moment=written(When(datetime.now().astimezone(), date.fromisoformat(taken.last)).moment),
    )
    return Told(taken, found, made, tuple(doubts(reader, account.name, account.currency, taken)))


def _amount(option: str, text: str, currency: str) -> int:
    """A balance keyed in."""
    try:
        return parse(text.strip(), currency, group="," if "," in text else "")
    except AmountError as error:
        raise UsageRefused(f"{option}: {error}.") from None


def keyed(option: str, text: str, currency: str) -> Keyed:
    """An item keyed in: "2026-11-30 250.00 what it is"."""
    parts = text.split(None, 2)
    try:
        day = date.fromisoformat(parts[0]).isoformat()
        amount = parse(parts[1], currency, group="," if "," in parts[1] else "")
    except (IndexError, ValueError) as error:
        told = f" ({error})" if isinstance(error, AmountError) else ""
        raise UsageRefused(
            tr(
                'found {option} {text!r}{told}; wanted a day, an amount and what it is: "2026-11-30 250.00 takings".',
                option=option,
                text=text,
                told=told,
            )
        ) from None
    note = parts[2] if len(parts) > 2 else ""
    if not note.isprintable():
        raise UsageRefused(
            tr(
                "found {option} {text!a}, with a character that is not printed; wanted plain text.",
                option=option,
                text=text,
            )
        )
    return Keyed(day, amount, note)


def to_enter(words: tuple[str, ...], others: tuple[Item, ...]) -> tuple[Keyed, ...]:
    """Items of the statement that the ledger lacks: those that say one of the words, or all."""
    for word in words:
        if word != "all" and not any(word.casefold() in item.about.casefold() for item in others):
            raise UsageRefused(
                tr(
                    'found --to-enter {word!r}, which no item that pays no cheque says; the report lists them. "all" '
                    "means every one. The statement itself is in the book.",
                    word=word,
                )
            )
    return tuple(
        Keyed(item.booked, item.amount, item.about[:80])
        for item in others
        if any(word == "all" or word.casefold() in item.about.casefold() for word in words)
    )
