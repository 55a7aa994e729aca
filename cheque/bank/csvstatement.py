"""Statements as comma-separated lines, by the map of their columns (`statementmap`).

A line is bounded, so that no file can fill the memory. Nothing is guessed: a line with a fault refuses the file. With
a column of the running balance, each line is checked against the one before it, and the statement has an opening and a
closing balance; else they can be keyed in.
"""

import csv
import io
from collections.abc import Iterator
from typing import BinaryIO, NamedTuple
from unicodedata import normalize

from cheque.bank.statement import Foot, Head, Piece, StatementEntry, Wanted, number_in
from cheque.bank.statementmap import StatementMap
from cheque.errors import Fault
from cheque.money import AmountError, parse
from cheque.register import encodings as enc
from cheque.tongue import tr

#: characters of one line
LONGEST = 65_536


def read(stream: BinaryIO, wanted: Wanted, by: StatementMap) -> Iterator[Piece]:
    """The statement of a file, piece by piece, in its order."""
    try:
        yield from _read(stream, wanted, by)
    except _Unreadable as error:
        yield error.fault


class _Unreadable(Exception):
    def __init__(self, fault: Fault) -> None:
        super().__init__(str(fault))
        self.fault = fault


class _Lines:
    """The lines of a file as text, counted and bounded."""

    def __init__(self, stream: BinaryIO, wanted: Wanted, by: StatementMap) -> None:
        stream, head = enc.peeked(stream)
        self._encoding = by.encoding or enc.detect(head)
        self._text = io.TextIOWrapper(stream, self._encoding, errors="strict", newline="")
        self._name = wanted.name
        self.number = 0

    def at(self) -> str:
        return f"{self._name} line {self.number}"

    def __iter__(self) -> Iterator[str]:
        while True:
            self.number += 1
            try:
                line = self._text.readline(LONGEST)
            except UnicodeError:
                raise _Unreadable(
                    Fault(self.at(), tr("bytes that are no text"), self._encoding, tr("name its encoding in the map"))
                ) from None
            if not line:
                return
            if len(line) >= LONGEST:
                raise _Unreadable(
                    Fault(self.at(), tr("a line of {longest} characters", longest=LONGEST), tr("a shorter one"))
                )
            if "\0" in line:
                raise _Unreadable(
                    Fault(self.at(), tr("a NUL character"), tr("text"), tr("name its encoding in the map"))
                )
            yield line.removeprefix("\ufeff") if self.number == 1 else line

    def close(self) -> None:
        self._text.detach()  # the stream is the caller's to close


class _Row(NamedTuple):
    """One line: its entry, its running balance, and the account and currency it names."""

    entry: StatementEntry
    balance: int | None
    account: str
    currency: str


def _read(stream: BinaryIO, wanted: Wanted, by: StatementMap) -> Iterator[Piece]:
    lines = _Lines(stream, wanted, by)
    try:
        rows = _rows(lines, wanted, by)
        first = next(rows, None)
        while isinstance(first, Fault):
            yield first
            first = next(rows, None)
        if first is None:
            yield Head("", "", "", where=wanted.name)
            yield Foot(where=wanted.name)
            return
        yield from _statement(first, rows, wanted, by)
    finally:
        lines.close()


def _statement(first: _Row, rows: Iterator[_Row | Fault], wanted: Wanted, by: StatementMap) -> Iterator[Piece]:
    opening = None
    if first.balance is not None and not by.newest_first:
        opening = first.balance - (first.entry.amount if first.entry.booked else 0)
    yield Head("", first.account, first.currency, opening=opening, where=first.entry.where)
    yield first.entry
    before, count = first, 1
    for row in rows:
        if isinstance(row, Fault):
            yield row
            continue
        yield from _follows(before, row, by)
        yield row.entry
        before, count = row, count + 1
    closing = first.balance if by.newest_first else before.balance
    yield Foot(closing, count, before.entry.where)


def _follows(before: _Row, row: _Row, by: StatementMap) -> Iterator[Fault]:
    """What does not go on as the line before it began."""
    where = row.entry.where
    if (row.account, row.currency) != (before.account, before.currency):
        yield Fault(where, tr("another account or currency than on the line before"), tr("one account to a file"))
    if row.balance is None or before.balance is None:
        return
    older, newer = (row, before) if by.newest_first else (before, row)
    if newer.entry.booked and older.balance is not None and newer.balance != older.balance + newer.entry.amount:
        found, told = tr("a balance that does not follow from the line before and the amount"), tr("one that does")
        yield Fault(where, found, told, tr("a line may be lost: fetch the file again, or see newest_first in the map"))


def _rows(lines: _Lines, wanted: Wanted, by: StatementMap) -> Iterator[_Row | Fault]:
    texts = iter(lines)
    for _ in range(by.skip_lines):
        next(texts, "")
    records = csv.reader(texts, delimiter=by.separator, quotechar=by.quote, strict=True)
    places = _places(records, lines, by)
    while True:
        at = f"{wanted.name} line {lines.number + 1}"
        try:
            cells = next(records)
        except StopIteration:
            return
        except csv.Error as error:
            yield Fault(at, tr("a line that is not comma-separated text ({error})", error=error), tr("one that is"))
            continue
        if not any(cell.strip() for cell in cells):
            continue
        try:
            yield _row(cells, places, wanted, by, at)
        except (ValueError, KeyError) as error:
            yield Fault(at, str(error.args[0]), tr("a line as the map has it"), tr("see to the file, or to the map"))


def _places(records: Iterator[list[str]], lines: _Lines, by: StatementMap) -> dict[str, int]:
    """Where our columns are, from 0."""
    if not by.header:
        return {name: int(place) - 1 for name, place in by.columns.items()}
    try:
        titles = [title.strip() for title in next(records, [])]
    except csv.Error as error:
        raise _Unreadable(
            Fault(lines.at(), tr("a first line that cannot be read ({error})", error=error), tr("titles"))
        ) from None
    lost = [str(title) for title in by.columns.values() if titles.count(str(title)) != 1]
    if lost:
        found = ", ".join(f"{title[:40]!a} {'twice' if title in titles else 'nowhere'}" for title in lost)
        raise _Unreadable(
            Fault(
                lines.at(),
                tr("{found} among the titles", found=found),
                tr("each once"),
                tr("see to {source}", source=by.source),
            )
        )
    return {name: titles.index(str(title)) for name, title in by.columns.items()}


def _row(cells: list[str], places: dict[str, int], wanted: Wanted, by: StatementMap, at: str) -> _Row:
    if max(places.values()) >= len(cells):
        raise ValueError(
            tr("{count} columns where the map names number {max}", count=len(cells), max=max(places.values()) + 1)
        )
    say = {name: normalize("NFC", cells[place].strip()) for name, place in places.items()}
    booked = _day(say["booked"], by)
    if say.get("status", "").casefold() in by.pending and by.pending:
        booked = ""
    entry = StatementEntry(
        booked,
        _amount(say, wanted, by),
        say.get("cheque", ""),
        _day(say["valued"], by) if say.get("valued") else "",
        say.get("reference", ""),
        "",
        say.get("about", ""),
        say.get("reversal", "").casefold() in by.reversed,
        at,
    )
    if not entry.cheque:
        names = {"ChqNb": "cheque"}
        entry = entry._replace(cheque=number_in(wanted.places, lambda name: [say.get(names.get(name, name), "")]))
    if entry.cheque:
        entry = entry._replace(payee=say.get("payee", ""))
    elif not entry.about:
        entry = entry._replace(about=say.get("payee", ""))
    balance = _money(say["balance"], wanted, by) if say.get("balance") else None
    return _Row(entry, balance, say.get("account", ""), say.get("currency", ""))


def _day(text: str, by: StatementMap) -> str:
    try:
        return by.date.read(text)
    except ValueError:
        raise ValueError(tr("{text!a}, which is no day as {text2}", text=text[:20], text2=by.date.text)) from None


def _money(text: str, wanted: Wanted, by: StatementMap) -> int:
    try:
        return parse(by.marks.amount(text, wanted.currency), wanted.currency)
    except AmountError as error:
        raise ValueError(str(error)) from None


def _amount(say: dict[str, str], wanted: Wanted, by: StatementMap) -> int:
    if "amount" not in say:
        out, back = say.get("paid_out", ""), say.get("paid_in", "")
        if bool(out) == bool(back):
            raise ValueError(tr("both an amount paid out and one paid in, or neither"))
        return -abs(_money(out, wanted, by)) if out else abs(_money(back, wanted, by))
    amount = _money(say["amount"], wanted, by)
    if "direction" in say:
        word = say["direction"].casefold()
        if word not in (*by.debit, *by.credit):
            raise ValueError(
                tr("{direction!a}, which the map has neither for debit nor for credit", direction=say["direction"][:20])
            )
        return -abs(amount) if word in by.debit else abs(amount)
    return amount if by.paid_out_is == "negative" else -amount
