"""A notice as text, by a layout: every value whole and in its place, or refused by name.

Twice through the lines: once to find what does not fit, and to count and add up, because a header may carry the
totals; once to write. Nothing is cut short but where the layout says so, and then it is told; nothing that the
encoding lacks is left out or replaced but as the layout says.
"""

import unicodedata
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from cheque import money
from cheque.bank.layoutmodel import Field, Layout, Record
from cheque.bank.notice import MARKS, Account, Line, Notice
from cheque.errors import FAULTS_SHOWN, Fault
from cheque.tongue import tr


class Sums:
    """Counts and totals of the lines so far, by mark; the sum of the cheque numbers; and how many records."""

    def __init__(self) -> None:
        self.items = dict.fromkeys(MARKS, 0)
        self.totals = dict.fromkeys(MARKS, 0)
        self.hash = self.records = 0
        self.currency = ""

    def add(self, line: Line) -> None:
        """Count one line."""
        self.items[line.mark] += 1
        self.totals[line.mark] += line.amount
        self.hash += int(line.number)
        self.currency = self.currency or line.currency

    def value(self, name: str) -> int:
        """A count or a total by its name in a layout: item_count, void_total, hash_total, record_count."""
        if name == "hash_total":
            return self.hash
        if name == "record_count":
            return self.records
        prefix, _, _ = name.partition("_")
        some = self.items if name.endswith("item_count") else self.totals
        return some[prefix] if prefix in MARKS else sum(some.values())


class Written(NamedTuple):
    """What a pass through the lines found: faults (all of them, the first 100 in full), cuts told, sums by account."""

    faults: list[Fault]
    more_faults: int
    cuts: list[str]
    file: Sums
    accounts: dict[str, Sums]


class Unfit(ValueError):
    """A value that cannot be written: what was found, and what was wanted."""

    def __init__(self, found: str, wanted: str) -> None:
        super().__init__(found)
        self.found, self.wanted = found, wanted


class _At(NamedTuple):
    """What a record is about: the account it is of (or the only one), a line, and the sums that it may carry."""

    account: Account | None
    line: Line | None
    sums: Sums
    number: int


class Writer:
    """Writes one notice by one layout."""

    def __init__(self, layout: Layout, notice: Notice) -> None:
        self.layout, self.notice = layout, notice
        self._cheques = {mark: (layout.of("cheque", mark) or (None,))[0] for mark in MARKS}
        names = list(notice.accounts)
        self._only = notice.accounts[names[0]] if len(names) == 1 else None
        self._cuts: list[str] = []

    def look(self) -> Written:
        """The first pass: everything that cannot be written, everything cut, and the sums."""
        file, by_account = Sums(), dict[str, Sums]()
        faults: list[Fault] = []
        more = 0
        self._cuts = []
        for fault in self._trial(file, by_account):
            more += len(faults) >= FAULTS_SHOWN
            if len(faults) < FAULTS_SHOWN:
                faults.append(fault)
        self._count_records(file, by_account)
        for what, sums, account in self._around(file, by_account):
            for record in self.layout.of(what):
                faults.extend(self._faults_of(record, _At(account, None, sums, 0), what))
        return Written(faults, more, self._cuts, file, by_account)

    def records(self, found: Written) -> Iterator[bytes]:
        """The second pass: the records as bytes, ends of lines and all. ValueError for what `look` had as a fault."""
        end = self.layout.line_end.encode(self.layout.encoding)
        before = b""
        for data in self._in_order(found):
            if before:
                yield before
            before = data + end
        yield before if self.layout.last_line_end else before.removesuffix(end)

    def _in_order(self, found: Written) -> Iterator[bytes]:
        number = 0
        current: str | None = None
        account: Account | None = None

        def made(what: str, sums: Sums) -> Iterator[bytes]:
            nonlocal number
            for record in self.layout.of(what):
                number += 1
                yield self._bytes(record, _At(account or self._only, None, sums, number))

        yield from made("file header", found.file)
        for line in self.notice.lines():
            if line.account != current:
                if current is not None:
                    yield from made("account trailer", found.accounts[current])
                current = line.account
                account = self.notice.accounts[current]
                yield from made("account header", found.accounts[current])
            record = self._cheques[line.mark]
            if record is not None:
                number += 1
                yield self._bytes(record, _At(account, line, found.file, number))
        if current is not None:
            yield from made("account trailer", found.accounts[current])
        account = None
        yield from made("file trailer", found.file)

    def _around(self, file: Sums, by_account: dict[str, Sums]) -> Iterator[tuple[str, Sums, Account | None]]:
        for what in ("file header", "file trailer"):
            yield what, file, self._only
        for name, sums in by_account.items():
            for what in ("account header", "account trailer"):
                yield what, sums, self.notice.accounts[name]

    def _count_records(self, file: Sums, by_account: dict[str, Sums]) -> None:
        around = len(self.layout.of("account header")) + len(self.layout.of("account trailer"))
        for sums in by_account.values():
            sums.records = sum(sums.items.values()) + around
            file.records += sums.records
        file.records += len(self.layout.of("file header")) + len(self.layout.of("file trailer"))

    def _trial(self, file: Sums, by_account: dict[str, Sums]) -> Iterator[Fault]:
        """Every line made ready once; its faults."""
        if len(self.notice.accounts) > 1 and not self.layout.several_accounts:
            yield Fault(
                self.layout.source,
                tr("{count} accounts in one file", count=len(self.notice.accounts)),
                tr("one, because this layout does not say of every cheque whose it is"),
                tr("make a notice for each"),
            )
        totals = any(f.value.endswith("total") for w in ("file header", "file trailer")
                     for r in self.layout.of(w) for f in r.fields)  # fmt: skip
        unmarked = set[str]()
        for line in self.notice.lines():
            if totals and file.currency and line.currency != file.currency:
                found = tr("{currency} after {before}", currency=line.currency, before=file.currency)
                yield Fault(
                    tr("number {called}", called=line.called),
                    found,
                    tr("one currency, where the file has a total of it"),
                )
            file.add(line)
            by_account.setdefault(line.account, Sums()).add(line)
            record = self._cheques[line.mark]
            if record is None or not self.layout.tells(line.mark):
                if line.mark not in unmarked:
                    unmarked.add(line.mark)
                    wanted = tr("marks.{mark}, and a record for it", mark=line.mark)
                    do = tr("ask the bank how it wants to be told")
                    yield Fault(self.layout.source, tr("no mark for {mark}", mark=line.mark), wanted, do)
                continue
            yield from self._faults_of(record, _At(self.notice.accounts[line.account], line, file, 1), "")

    def _faults_of(self, record: Record, at: _At, what: str) -> Iterator[Fault]:
        name = f"number {at.line.called}" if at.line else f"the {what}"
        for field in record.fields:
            try:
                text, cut = self._fitted(field, at)
                self._laid(field, text)
            except Unfit as unfit:
                yield Fault(f"{name}, {field.called}", unfit.found, unfit.wanted)
                continue
            if cut:
                self._cuts.append(f"{name}, {field.called}: cut to {text!r}, as the layout says")

    def _bytes(self, record: Record, at: _At) -> bytes:
        cells = [(field, self._laid(field, self._fitted(field, at)[0])) for field in record.fields]
        if self.layout.kind == "delimited":
            text = self.layout.delimiter.join(cell for _, cell in cells)
        else:
            text = ""
            for field, cell in sorted(cells, key=lambda one: one[0].at):
                text = text.ljust(field.at) + cell
            text = text.ljust(self.layout.length)
        return text.encode(self.layout.encoding)

    def _fitted(self, field: Field, at: _At) -> tuple[str, bool]:
        """A field's value as the bank wants it, before padding, and whether it was cut."""
        text = self._value(field, at)
        if field.plain:
            text = "".join(c for c in text if c.isalnum())
        if not field.zeros:
            text = text.lstrip("0") or "0"
        if field.sort == "text" and field.value:
            text = self._taken(text, field.letters == "upper")
        try:
            text.encode(self.layout.encoding)
        except UnicodeEncodeError as error:
            lacking = "".join(dict.fromkeys(c for c in text[error.start :] if not _has(self.layout.encoding, c)))
            raise Unfit(
                tr("{character} in it", character=ascii(lacking)[1:-1] if not lacking.isprintable() else lacking),
                tr(
                    "characters that {encoding} has, or a line for it under [replace] in the layout",
                    encoding=self.layout.encoding,
                ),
            ) from None
        if not text.isprintable():
            raise Unfit(tr("a character that is not printed"), tr("plain text"))
        if field.width and len(text) > field.width:
            if field.cut:
                return text[: field.width].rstrip(), True
            secret = field.value in ("account_number", "routing")
            told = tr("{count} characters", count=len(text))
            told = told if secret else tr("{text!r}, {count} characters", text=text, count=len(text))
            raise Unfit(told, tr("at most {width}", width=field.width))
        return text, False

    def _taken(self, text: str, upper: bool) -> str:
        """Text with what the layout replaces replaced."""
        for _ in range(2 if upper else 1):
            text = "".join(self.layout.replace.get(c, c) for c in text)
            text = text.upper() if upper else text
        if not self.layout.accents:
            text = "".join(c for c in unicodedata.normalize("NFD", text) if unicodedata.category(c) != "Mn")
        return text

    def _laid(self, field: Field, text: str) -> str:
        """Text padded to its width; in a delimited record quoted where it must be."""
        if field.pad and field.width:
            text = text.ljust(field.width, field.pad) if field.align == "left" else text.rjust(field.width, field.pad)
        if self.layout.kind == "fixed":
            return text
        quote, delimiter = self.layout.quote, self.layout.delimiter
        if not quote:
            if delimiter in text:
                raise Unfit(
                    tr("{delimiter!r} in it", delimiter=delimiter),
                    tr("a text without it, because this layout has no quote character"),
                )
            return text
        if field.quoted or quote in text or delimiter in text:
            return quote + text.replace(quote, quote * 2) + quote
        return text

    def _value(self, field: Field, at: _At) -> str:
        if not field.value:
            return field.text
        if field.sort == "money":
            return self._money(field, at)
        if field.sort == "date":
            return self._date(field, at)
        if field.sort == "count":
            return str(self._count(field.value, at))
        return self._words(field.value, at)

    def _count(self, name: str, at: _At) -> int:
        if name == "record_number":
            return at.number
        return len(self.notice.accounts) if name == "account_count" else at.sums.value(name)

    def _date(self, field: Field, at: _At) -> str:
        day = at.line.date if field.value == "date" and at.line else self.notice.day
        try:
            return field.date.write(day)
        except ValueError as error:
            raise Unfit(str(error), tr("a pattern that says the century")) from None

    def _words(self, name: str, at: _At) -> str:
        if name == "notice":
            return self.notice.name
        if name == "made_at":
            return self.notice.made.strftime("%H%M%S")
        if name == "account" and at.account:
            return at.account.name
        if name in ("account_number", "routing", "bank", "drawer") and at.account:
            text = {"account_number": at.account.number}.get(name) or str(getattr(at.account, name, ""))
            if not text:
                raise Unfit(
                    tr("nothing"),
                    tr("{name} under [accounts.{account}] in cheque.toml", name=name, account=at.account.name),
                )
            return text
        if name == "currency":
            return at.line.currency if at.line else at.sums.currency
        if at.line is None:
            return ""
        if name == "mark":
            return self.layout.marks[at.line.mark]
        if name == "reason" and at.line.reason:
            if at.line.reason not in self.layout.reasons:
                raise Unfit(
                    f"{at.line.reason!r}",
                    tr("the bank's code for it: reasons.{reason} in the layout", reason=at.line.reason),
                )
            return self.layout.reasons[at.line.reason]
        return str(getattr(at.line, name))

    def _money(self, field: Field, at: _At) -> str:
        minor = at.line.amount if field.value == "amount" and at.line else at.sums.value(field.value)
        currency = at.line.currency if at.line else at.sums.currency
        has = money.digits(currency) if currency else 2
        places = has if field.places is None else field.places
        scaled, rest = divmod(minor * 10**places, 10**has)
        if rest:
            raise Unfit(
                money.plain(minor, currency), tr("no more than {places} decimals, as the layout has it", places=places)
            )
        text = str(scaled).rjust(places + 1, "0")
        return f"{text[: len(text) - places]}{field.point}{text[len(text) - places :]}" if places else text


def _has(encoding: str, character: str) -> bool:
    try:
        character.encode(encoding)
    except UnicodeEncodeError:
        return False
    return True


def ruler(width: int) -> Iterable[str]:
    """Two lines that count positions: tens above, units below."""
    yield "".join(str(place // 10 % 1000).rjust(10) for place in range(10, width + 10, 10))[:width]
    yield "".join(str(place % 10) for place in range(1, width + 1))
