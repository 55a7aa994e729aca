"""Payments to a pain.001 message, exactly as `cheque.register.pain001` reads them back.

Invoices are structured remittance, notes unstructured; lines of pay need a map that lays them out in remittance
lines (`[[remittance]]`), because the message has no place of its own for them. What the message cannot carry (a
transfer, a pay period without such a map) is refused, never left out.
"""

import io
from collections import deque
from collections.abc import Iterable, Iterator
from itertools import groupby
from typing import BinaryIO, NamedTuple
from xml.sax.saxutils import escape

from cheque.money import plain
from cheque.payment import Kind, Payment, StubLine
from cheque.register import Reading
from cheque.register.columns import group_of
from cheque.register.csvwrite import cells_of
from cheque.register.fixedwrite import RecordWriter, kinds_of
from cheque.register.maps import NO_MAP, Map
from cheque.register.painpay import NOT_PROVIDED
from cheque.tongue import tr

_NATIVE = frozenset(
    {"payee", "amount", "date", "reference", "number", "paid_by", "employee", "identity", "department", "memo"}
    | {"address1", "address2", "address3", "address4"}
)
_VERSION_OF_CHOICE, _VERSION_OF_TYPES = 8, 12


class Drawer(NamedTuple):
    """Who pays, and from where; the schema requires them. Names of ours, not of the cheque."""

    name: str = "NOTPROVIDED"
    account: str = "NOTPROVIDED"
    bank: str = "NOTPROVIDED"


def write(
    payments: Iterable[Payment],
    stream: BinaryIO,
    currency: str,
    *,
    version: str = "09",
    by: Map = NO_MAP,
    hash_column: str = "employee",
    message: str = "REGISTER",
    created: str = "2000-01-01T00:00:00",
    drawer: Drawer = Drawer(),  # noqa: B008 (a tuple does not change)
) -> None:
    """Write a message of a version, and read it back. Holds all payments in memory.

    Raises ValueError, naming the payee, for a payment that would not read back the same.
    """
    from cheque.register.pain001 import read

    payments = list(payments)
    for payment in payments:
        if payment.by_transfer:
            why = tr("a message of cheques has no place for what of net pay goes by transfer")
            raise ValueError(tr("the payment to {payee!r} cannot be written: {why}", payee=payment.payee, why=why))
    text = "\n".join(_Message(payments, currency, version, by, hash_column).lines(message, created, drawer)) + "\n"
    data = text.encode(errors="replace")
    reading = Reading(tr("the register"), currency, hash_column, map=by)
    back = read(io.BytesIO(data), reading)
    for item, payment in enumerate(payments, 1):
        found = next(back, None)
        same = isinstance(found, Payment) and found._replace(line=0) == payment._replace(item=item, line=0)
        if not same:
            lost = found is None or isinstance(found, Payment)
            why = tr("it would not read back the same") if lost else str(found)
            raise ValueError(tr("the payment to {payee!r} cannot be written: {why}", payee=payment.payee, why=why))
    if (rest := next(back, None)) is not None:
        raise ValueError(tr("these payments cannot be written: {why}", why=rest))
    stream.write(data)


def _tag(name: str, text: str, attributes: str = "") -> str:
    return f"<{name}{attributes}>{escape(text)}</{name}>"


class _Message:
    """Makes the lines of a message."""

    def __init__(self, payments: list[Payment], currency: str, version: str, by: Map, hash_column: str) -> None:
        self._payments, self._currency, self._version, self._by = payments, currency, int(version), by
        self._name, self._hashed = version, hash_column
        self._writer = RecordWriter(by, currency, hash_column) if by.records else None

    def lines(self, message: str, created: str, drawer: Drawer) -> Iterator[str]:
        """The whole message."""
        yield '<?xml version="1.0" encoding="UTF-8"?>'
        yield f'<Document xmlns="urn:iso:std:iso:20022:tech:xsd:pain.001.001.{self._name}">'
        yield "<CstmrCdtTrfInitn>"
        yield f"<GrpHdr>{_tag('MsgId', message)}{_tag('CreDtTm', created)}{self._sums(self._payments)}"
        yield f"<InitgPty>{_tag('Nm', drawer.name)}</InitgPty></GrpHdr>"
        for number, (date, some) in enumerate(groupby(self._payments, key=lambda payment: payment.date), 1):
            yield from self._part(f"{message[:28]}-{number}", date, list(some), drawer)
        yield "</CstmrCdtTrfInitn>"
        yield "</Document>"

    def _sums(self, payments: list[Payment]) -> str:
        total = plain(sum(payment.amount for payment in payments), self._currency)
        return _tag("NbOfTxs", str(len(payments))) + _tag("CtrlSum", total)

    def _part(self, name: str, date: str, payments: list[Payment], drawer: Drawer) -> Iterator[str]:
        """Payments of one date that follow each other."""
        yield f"<PmtInf>{_tag('PmtInfId', name)}{_tag('PmtMtd', 'CHK')}{self._sums(payments)}"
        day = _tag("Dt", date) if self._version >= _VERSION_OF_CHOICE else escape(date)
        yield f"<ReqdExctnDt>{day}</ReqdExctnDt><Dbtr>{_tag('Nm', drawer.name)}</Dbtr>"
        account = f"<Id><Othr>{_tag('Id', drawer.account)}</Othr></Id>"
        bank = f"<FinInstnId>{_tag('Nm', drawer.bank)}</FinInstnId>"
        yield f"<DbtrAcct>{account}</DbtrAcct><DbtrAgt>{bank}</DbtrAgt>"
        for payment in payments:
            yield "".join(self._transaction(payment))
        yield "</PmtInf>"

    def _money(self, name: str, minor: int) -> str:
        if minor < 0:
            raise ValueError(tr("an amount below zero where the message has none"))
        return _tag(name, plain(minor, self._currency), f' Ccy="{self._currency}"')

    def _transaction(self, payment: Payment) -> Iterator[str]:
        try:
            yield f"<CdtTrfTxInf><PmtId>{_tag('EndToEndId', payment.reference or NOT_PROVIDED)}</PmtId>"
            yield f"<Amt>{self._money('InstdAmt', payment.amount)}</Amt><ChqInstr>{_tag('ChqTp', 'CCHQ')}"
            if payment.expected:
                yield _tag("ChqNb", payment.expected)
            if payment.memo:
                yield from (_tag("MemoFld", part) for part in _halves(payment.memo))
            yield f"</ChqInstr><Cdtr>{_tag('Nm', payment.payee)}{_address(payment)}{_identities(payment)}</Cdtr>"
            remittance = "".join([*self._laid_out(payment), *self._plainly(payment)])
            yield f"<RmtInf>{remittance}</RmtInf></CdtTrfTxInf>" if remittance else "</CdtTrfTxInf>"
        except ValueError as error:
            raise ValueError(
                tr("the payment to {payee!r} cannot be written: {why}", payee=payment.payee, why=error)
            ) from None

    def _laid_out(self, payment: Payment) -> Iterator[str]:
        """The remittance lines of the map."""
        if self._writer is None:
            return
        kinds = {kind for type_ in self._by.records for kind in kinds_of(type_)}
        cells = cells_of(payment, self._currency, self._hashed)
        queues: dict[Kind, deque[int]] = {kind: deque() for kind in Kind}
        for name in cells:
            group = group_of(name)
            if group and not group[2] and group[0] in kinds:
                queues[group[0]].append(group[1])
        for record in self._writer.going_on(cells, queues, set(_NATIVE)):
            yield _tag("Ustrd", record.text.rstrip(" "))

    def _plainly(self, payment: Payment) -> Iterator[str]:
        """Invoices and notes for which the map has no remittance line. All of one kind of element together."""
        laid_out = {kind for type_ in self._by.records for kind in kinds_of(type_)}
        for line in payment.stub:
            if line.kind is Kind.NOTE and line.kind not in laid_out:
                yield _tag("Ustrd", line.text)
        for line in payment.stub:
            if line.kind in laid_out or line.kind is Kind.NOTE:
                continue
            if line.kind is not Kind.INVOICE:
                raise ValueError(tr("the message has no place for its {kind} lines without a map", kind=line.kind))
            yield self._invoice(line)

    def _invoice(self, line: StubLine) -> str:
        """An invoice, or where it is below zero a credit note, whose amounts are above."""
        if line.amount is None:
            raise ValueError(tr("an invoice without its net"))
        figures = (line.gross, line.discount, line.amount)
        credit = any(minor is not None and minor < 0 for minor in figures)
        gross, discount, net = (minor if minor is None or not credit else -minor for minor in figures)
        date = ""
        if line.date:
            typed = self._version >= _VERSION_OF_TYPES
            when = f"<Tp><Prtry>INVOICE</Prtry></Tp>{_tag('Dt', line.date)}" if typed else escape(line.date)
            date = f"<RltdDt>{when}</RltdDt>"
        kind = f"<Tp><CdOrPrtry>{_tag('Cd', 'CREN' if credit else 'CINV')}</CdOrPrtry></Tp>"
        document = f"<RfrdDocInf>{kind}{_tag('Nb', line.text)}{date}</RfrdDocInf>"
        return f"<Strd>{document}<RfrdDocAmt>{self._amounts(gross, discount, net)}</RfrdDocAmt></Strd>"

    def _amounts(self, gross: int | None, discount: int | None, net: int | None) -> str:
        found = []
        for name, code, minor in (
            ("DuePyblAmt", "DUPA", gross),
            ("DscntApldAmt", "DISC", discount),
            ("RmtdAmt", "REMI", net),
        ):
            if minor is None:
                continue
            if self._version >= _VERSION_OF_TYPES:
                found.append(f"<RmtAmtAndTp><Tp>{_tag('Cd', code)}</Tp>{self._money('Amt', minor)}</RmtAmtAndTp>")
            elif name == "DscntApldAmt" and self._version >= _VERSION_OF_CHOICE:
                found.append(f"<{name}>{self._money('Amt', minor)}</{name}>")
            else:
                found.append(self._money(name, minor))
        return "".join(found)


def _halves(memo: str) -> list[str]:
    """A memo in its one or two fields of 35 characters, divided at a blank."""
    if len(memo) <= 35:
        return [memo]
    at = memo.rfind(" ", 0, 36)
    if at < 1 or len(memo) - at - 1 > 35:
        raise ValueError(tr("a memo longer than its two fields of 35 characters"))
    return [memo[:at], memo[at + 1 :]]


def _address(payment: Payment) -> str:
    department = _tag("Dept", payment.department) if payment.department else ""
    lines = "".join(_tag("AdrLine", line) for line in payment.address)
    return f"<PstlAdr>{department}{lines}</PstlAdr>" if department or lines else ""


def _identities(payment: Payment) -> str:
    found = "".join(
        f"<Othr>{_tag('Id', text)}<SchmeNm>{_tag('Cd', scheme)}</SchmeNm></Othr>"
        for text, scheme in ((payment.employee, "EMPL"), (payment.identity, "SOSE"))
        if text
    )
    return f"<Id><PrvtId>{found}</PrvtId></Id>" if found else ""
