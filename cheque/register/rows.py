"""A row of texts to a Payment, by the columns of `cheque.register.columns`. For every reader that has rows.

Rows are read plainly and by position, because a register may have a million of them.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple, Protocol
from unicodedata import normalize

from cheque.errors import Fault
from cheque.money import LONGEST, AmountError, digits, parse, plain
from cheque.payment import Kind, Payment, Role, StubLine
from cheque.register import LineFault, Reading
from cheque.register.characters import shown
from cheque.register.columns import ADDRESS, GROUPS, SINGLE, group_of, name_of
from cheque.tongue import tr

#: how a payment is made; "check" is the American spelling
PAID_BY = {"cheque": Role.CHEQUE, "check": Role.CHEQUE, "transfer": Role.ADVICE}
_DECIMAL = re.compile(r"-?\d{1,9}(?:\.\d{1,6})?", re.ASCII)
#: digits of a number that is summed for the hash total
HASH_DIGITS = 18


class Unread(ValueError):
    """A text is not what its column or field holds: what was found (quoted), wanted, and what to do."""

    def __init__(self, found: str, wanted: str, do: str = "") -> None:
        super().__init__(found)
        self.found, self.wanted, self.do = found, wanted, do


#: turns a cell as the file writes it into plain text; raises Unread
Convert = Callable[[str], str]


class Group(NamedTuple):
    """Where one stub line's texts stand in a row; the place after the last for what has no column."""

    kind: Kind
    name: str
    text: int
    hours: int
    rate: int
    amount: int
    to_date: int
    date: int
    gross: int
    discount: int
    #: what the line says where the file has no column for it
    says: str = ""

    def places(self) -> tuple[int, ...]:
        """The places of all but the text."""
        return self[3:10]


def amount_reader(currency: str) -> Callable[[str], int]:
    """A function from text to minor units: `cheque.money.parse`, with a short way for plain amounts."""
    places = digits(currency)

    def read(text: str) -> int:
        whole, mark, part = text.partition(".")
        if mark and len(part) == places and whole.isdigit() and part.isdigit():
            both = whole + part
            if len(both) <= LONGEST and both.isascii():
                return int(both)
        return parse(text, currency)

    return read


class ReadBy(Protocol):
    """What rows are read by."""

    @property
    def plan(self) -> "Plan | list[Fault]":
        """Where each column stands; or what is wrong with the columns, and then there are no rows."""


class Row(NamedTuple):
    """A line of a register that is not read yet: its fields as the file has them, and what they are read by."""

    cells: list[str]
    item: int
    line: int
    ascii: bool
    columns: ReadBy

    def items(self) -> list[Payment | Fault]:
        """The payment of it; or its faults, the last one a LineFault."""
        plan = self.columns.plan
        if isinstance(plan, list):
            return [*plan]
        cells = self.cells if self.ascii else [normalize("NFC", cell) for cell in self.cells]
        payment, faults = plan.payment([cell.strip(" ") for cell in cells], self.item, self.line)
        if not faults:
            return [payment]
        last = faults[-1]
        return [*faults[:-1], LineFault(last.where, last.found, last.wanted, last.do, payment)]


class Plan:
    """Where each column stands, worked out once from the header; then `payment` reads row after row.

    always: what every row says in a column that the file lacks; a stub line's text only where the line has figures.
    titles: the file's own names of the columns, for messages. convert: what turns cells into plain text, by place,
    and what stands there when it cannot, so that one cell is one fault.
    leave_out_zeros: stub lines in which every figure is zero are left out.
    """

    def __init__(
        self,
        names: Sequence[str],
        reading: Reading,
        *,
        always: Mapping[str, str] | None = None,
        titles: Sequence[str] = (),
        convert: Sequence[tuple[int, Convert, str]] = (),
        leave_out_zeros: bool = False,
    ) -> None:
        ignored = set(map(name_of, reading.ignore))
        says = always or {}
        fixed = [name for name in says if name in SINGLE]
        self._constants = [says[name] for name in fixed]
        self._convert, self._leave_out_zeros = tuple(convert), leave_out_zeros
        self.width = len(names)
        places = {name: place for place, name in enumerate((*names, *fixed)) if name not in ignored}
        none = len(names) + len(fixed)
        self.source, self.currency, self.date_for_all = reading.source, reading.currency, reading.date
        #: our names of the columns, in the order of the file
        self.names = list(names)
        self._names = [*(titles or names), *fixed, ""]
        self._amount_of = amount_reader(reading.currency)
        self._payee, self._amount, self._date = (places.get(n, none) for n in ("payee", "amount", "date"))
        self._reference, self._number = (places.get(n, none) for n in ("reference", "number"))
        self._paid_by, self._memo = (places.get(n, none) for n in ("paid_by", "memo"))
        people = ("employee", "identity", "department")
        self._employee, self._identity, self._department = (places.get(n, none) for n in people)
        self._transfer, self._total_net = (places.get(n, none) for n in ("transfer", "total_net"))
        self._from, self._to = (places.get(n, none) for n in ("period_from", "period_to"))
        self._address = [places[n] for n in ADDRESS if n in places]
        hashed = name_of(reading.hash_column)
        # a column that is summed and ignored is still summed
        self._hash = names.index(hashed) if hashed in names else none
        self._none = none
        self._splits = self._transfer < none or self._total_net < none
        self._groups = self._find_groups(places, none, says)

    @staticmethod
    def _find_groups(places: dict[str, int], none: int, says: Mapping[str, str]) -> list[Group]:
        """The stub lines in the order every reader yields them: by kind, then by number."""
        order = list(GROUPS)
        found = {group[:2] for name in (*places, *says) if (group := group_of(name)) and not group[2]}
        groups = []
        for kind, number in sorted(found, key=lambda group: (order.index(group[0]), group[1])):
            stem = f"{kind}{number}"
            at = {part: places.get(f"{stem}_{part}", none) for part in GROUPS[kind]}
            amount = at.get("net" if kind is Kind.INVOICE else "amount", none)
            many, each = ("quantity", "price") if kind is Kind.GOODS else ("hours", "rate")
            text, hours, rate = places.get(stem, none), at.get(many, none), at.get(each, none)
            to_date, date = at.get("to_date", none), at.get("date", none)
            gross, discount = at.get("gross", none), at.get("discount", none)
            figures = (hours, rate, amount, to_date, date, gross, discount)
            groups.append(Group(kind, stem, text, *figures, says.get(stem, "")))
        return groups

    def payment(self, cells: list[str], item: int, line: int) -> tuple[Payment, list[Fault]]:
        """The payment of a row of as many texts as there are columns, in form C and without outer blanks.

        With faults, amounts that could not be read are 0 or None: it is good for checks of texts only.
        """
        faults: list[Fault] = []
        self._complete(cells, line, faults)
        amount = self._amount_paid(cells[self._amount], line, faults)
        role = Role.CHEQUE if amount else Role.ADVICE
        if method := cells[self._paid_by]:
            role = self._role(method, role, line, faults)
        transfer = self._split(cells, amount, line, faults) if self._splits else 0
        address = tuple([cells[place] for place in self._address if cells[place]])
        payment = Payment(
            item,
            cells[self._payee],
            amount or 0,
            cells[self._date] or self.date_for_all,
            cells[self._reference],
            role,
            cells[self._number],
            self._hash_value(cells, line, faults) if self._hash < self._none else None,
            address,
            cells[self._employee],
            cells[self._identity],
            cells[self._department],
            cells[self._from],
            cells[self._to],
            cells[self._memo],
            self._stub(cells, line, faults),
            line,
            0,
            transfer,
        )
        return payment, faults

    def stub(self, cells: list[str], line: int, faults: list[Fault]) -> tuple[StubLine, ...]:
        """The stub lines alone of a row that continues a payment; faults are added to those given."""
        self._complete(cells, line, faults)
        return self._stub(cells, line, faults)

    def _complete(self, cells: list[str], line: int, faults: list[Fault]) -> None:
        """Make a row plain, and as long as the plan: what every row says, and the place of what has no column."""
        for place, convert, instead in self._convert:
            if text := cells[place]:
                try:
                    cells[place] = convert(text)
                except Unread as unread:
                    at = self._at(line, self._names[place])
                    faults.append(Fault(at, unread.found, unread.wanted, unread.do))
                    cells[place] = instead
        cells += self._constants
        cells.append("")

    def _stub(self, cells: list[str], line: int, faults: list[Fault]) -> tuple[StubLine, ...]:
        lines = []
        amount_of = self._amount_of
        for group in self._groups:
            kind, name, text_at, hours_at, rate_at, amount_at, to_date_at, date_at, gross_at, discount_at, says = group
            text = cells[text_at]
            if not text:
                if not says:
                    self._nothing(group, cells, line, faults)
                    continue
                if not any(cells[place] for place in group.places()):
                    continue
                text = says
            if kind is Kind.NOTE:
                lines.append(StubLine(kind, text))
                continue
            try:
                amount = amount_of(t) if (t := cells[amount_at]) else None
                to_date = amount_of(t) if (t := cells[to_date_at]) else None
                gross = amount_of(t) if (t := cells[gross_at]) else None
                discount = amount_of(t) if (t := cells[discount_at]) else None
            except AmountError:
                self._all_money(group, cells, line, faults)
                amount = to_date = gross = discount = None
            hours, rate = cells[hours_at], cells[rate_at]
            if (hours and not _DECIMAL.fullmatch(hours)) or (rate and not _DECIMAL.fullmatch(rate)):
                self._decimals(((hours_at, hours), (rate_at, rate)), line, faults)
            if not cells[amount_at] and not cells[to_date_at] and kind is not Kind.GOODS:
                at = self._at(line, name + ("_net" if kind is Kind.INVOICE else "_amount"))
                faults.append(Fault(at, tr("nothing"), tr("an amount for the line"), tr("write it")))
            if self._leave_out_zeros and not (amount or to_date or gross or discount or hours.strip("0.-")):
                continue
            date = cells[date_at]
            lines.append(StubLine(kind, text, amount, to_date, hours, rate, date, gross, discount))
        return tuple(lines)

    def _nothing(self, group: Group, cells: list[str], line: int, faults: list[Fault]) -> None:
        """A group without its text must have nothing else either."""
        if filled := [self._names[place] for place in group.places() if cells[place]]:
            found = tr("nothing, but {filled} filled", filled=tr(" and ").join(filled))
            faults.append(Fault(self._at(line, group.name), found, tr("what the line is for"), tr("name it")))

    def _all_money(self, group: Group, cells: list[str], line: int, faults: list[Fault]) -> None:
        """Every amount of a group of which one could not be read."""
        for place in (group.amount, group.to_date, group.gross, group.discount):
            if cells[place]:
                self._money(cells[place], line, self._names[place], faults)

    def _at(self, line: int, column: str) -> str:
        return tr("{source} line {line}, {column}", source=self.source, line=line, column=column)

    def _money(self, text: str, line: int, column: str, faults: list[Fault]) -> int | None:
        """The amount, or None with a fault that says what an amount looks like."""
        try:
            return self._amount_of(text)
        except AmountError:
            pass
        wanted = tr(
            "an exact {currency} amount such as {amount}", currency=self.currency, amount=plain(123456, self.currency)
        )
        if sum(map(str.isdigit, text)) > LONGEST:
            do = tr("an amount has at most {longest} digits", longest=LONGEST)
        elif "," in text:
            do = tr("leave out marks between thousands, and write a point before the decimals")
        else:
            do = tr("write digits, with all decimals or none")
        faults.append(Fault(self._at(line, column), shown(text), wanted, do))
        return None

    def _amount_paid(self, text: str, line: int, faults: list[Fault]) -> int | None:
        if text:
            return self._money(text, line, "amount", faults)
        faults.append(Fault(self._at(line, "amount"), tr("nothing"), tr("an amount"), tr("write what is paid")))
        return None

    def _split(self, cells: list[str], amount: int | None, line: int, faults: list[Fault]) -> int:
        """What goes by transfer besides the cheque; net pay in all, where it is given, must be the two together."""
        transfer: int | None = 0
        if text := cells[self._transfer]:
            transfer = self._money(text, line, "transfer", faults)
        if transfer is not None and transfer < 0:
            at = self._at(line, "transfer")
            faults.append(
                Fault(at, plain(transfer, self.currency), tr("an amount of nought or more"), tr("ask payroll"))
            )
        if not (text := cells[self._total_net]):
            return transfer or 0
        net = self._money(text, line, "total_net", faults)
        if None not in (net, amount, transfer) and net != (amount or 0) + (transfer or 0):
            both = plain((amount or 0) + (transfer or 0), self.currency)
            parts = tr(
                "{cheque} by cheque and {transfer} by transfer",
                cheque=plain(amount or 0, self.currency),
                transfer=plain(transfer or 0, self.currency),
            )
            at = self._at(line, "total_net")
            found = plain(net or 0, self.currency)
            faults.append(
                Fault(
                    at, found, tr("{both}, which is {parts}", both=both, parts=parts), tr("ask payroll which is right")
                )
            )
        return transfer or 0

    def _role(self, method: str, role: Role, line: int, faults: list[Fault]) -> Role:
        """An advice when paid by transfer; a zero stays an advice however it is said to be paid."""
        chosen = PAID_BY.get(method.casefold())
        if chosen is None:
            at = self._at(line, "paid_by")
            faults.append(Fault(at, shown(method), tr("cheque or transfer"), tr("write either")))
            return role
        return Role.ADVICE if role is Role.ADVICE else chosen

    def _hash_value(self, cells: list[str], line: int, faults: list[Fault]) -> int | None:
        text = cells[self._hash]
        if text.isdigit() and text.isascii() and len(text) <= HASH_DIGITS:
            return int(text)
        wanted = tr(
            "a whole number of at most {hash_digits} digits, because this column is summed", hash_digits=HASH_DIGITS
        )
        found = shown(text) if text else tr("nothing")
        at = self._at(line, self._names[self._hash])
        faults.append(Fault(at, found, wanted, tr("correct it, or sum another column")))
        return None

    def _decimals(self, pairs: Sequence[tuple[int, str]], line: int, faults: list[Fault]) -> None:
        for place, text in pairs:
            if text and not _DECIMAL.fullmatch(text):
                at = self._at(line, self._names[place])
                faults.append(Fault(at, shown(text), tr("a number such as 37.50"), tr("write digits and a point")))
