"""Customer credit transfer initiations of ISO 20022, pain.001, versions 03 and 09 to 12: those paid by cheque.

The message asks a bank to pay. Where its payment method is cheque (CHK) and its cheque type the customer's own (CCHQ,
CCCH), the customer may print the cheques instead: that is what this reader takes. Bank cheques and drafts (BCHQ,
DRFT, ELDR) are the bank's to draw, and transfers are none: they are refused by name, and so is whatever else in the
file could change who gets what. A file that is also sent to the bank pays twice; the reader says so each time.

Control sums and numbers of transactions are checked. Where remittance lines (Ustrd) are laid out in columns, a map
reads them as stub lines (`[[remittance]]`); else they are notes. Source: ISO 20022 message definitions, by the
classes of the `pyiso20022` package.
"""

from collections.abc import Iterator
from fractions import Fraction
from typing import BinaryIO

from cheque.errors import Fault
from cheque.money import digits, plain
from cheque.payment import Payment
from cheque.register import LineFault, Reading
from cheque.register.assembly import Assembly
from cheque.register.characters import shown
from cheque.register.mapped import map_of
from cheque.register.painpay import Instruction, Transactions, instruction_of, number_of
from cheque.register.painwrite import write
from cheque.register.xmlread import Event, Node, XmlRefused, events
from cheque.tongue import tr

__all__ = ["looks_like", "read", "suffixes", "write"]

suffixes = (".xml",)
VERSIONS = ("03", "09", "10", "11", "12")
_STEM = "urn:iso:std:iso:20022:tech:xsd:pain.001.001."
_MESSAGE = ("Document", "CstmrCdtTrfInitn")
_CONTAINERS = frozenset({_MESSAGE[:1], _MESSAGE, (*_MESSAGE, "PmtInf")})
#: elements before the payments of a block: the schemas have fewer than twenty
MOST_HEADS = 100
_HEADER = frozenset({"MsgId", "CreDtTm", "Authstn", "NbOfTxs", "CtrlSum", "InitgPty", "FwdgAgt", "InitnSrc"})


def looks_like(head: bytes) -> bool:
    """Whether a file begins as XML does."""
    text = head.replace(b"\0", b"").removeprefix(b"\xef\xbb\xbf").lstrip(b"\xff\xfe \t\r\n")
    return text.startswith((b"<?xml", b"<Document"))


def read(stream: BinaryIO, reading: Reading) -> Iterator[Payment | Fault]:
    """The payments and faults of a pain.001 message, one by one, in its order."""
    message = _Message(reading)
    try:
        for event in events(stream, _CONTAINERS):
            yield from message.take(event)
            if message.not_ours:
                return
    except XmlRefused as refused:
        at = tr("{source} line {line}", source=reading.source, line=refused.line)
        yield Fault(at, refused.found, refused.wanted, refused.do)
        return
    yield from message.finish()


class _Sum:
    """Transactions and amounts, as a header promises them and as they come."""

    def __init__(self) -> None:
        self.items = self.minor = 0
        self.complete = True

    def add(self, payment: Payment | None, *, whole: bool) -> None:
        self.items += 1
        self.minor += payment.amount if payment else 0
        self.complete = self.complete and whole


class _Message:
    """Takes the events of one message in their order."""

    def __init__(self, reading: Reading) -> None:
        self._reading, self._by = reading, map_of(reading)
        self._ignored = frozenset((*reading.ignore, *self._by.ignore))
        self._assembly = Assembly(self._by, reading)
        self._all, self._part = _Sum(), _Sum()
        self._group: Node | None = None
        self._heads: list[Node] = []
        self._instruction: Instruction | None = None
        self._transactions = Transactions(reading, self._ignored)
        self.not_ours = False
        self._seen = False

    def _at(self, line: int, name: str = "") -> str:
        return tr("{source} line {line}", source=self._reading.source, line=line) + (f", {name}" if name else "")

    def take(self, event: Event) -> Iterator[Payment | Fault]:
        """The next event."""
        if event.what == "opens" and event.name == "Document":
            yield from self._begins(event)
        elif event.what == "opens" and event.name == "CstmrCdtTrfInitn":
            self._seen = True
        elif event.what == "opens":
            self._heads, self._instruction, self._part = [], None, _Sum()
        elif event.what == "closes" and event.name == "PmtInf":
            yield from self._ends_part(event.line)
        elif event.node:
            yield from self._unit(event.node, in_part=event.inside == "PmtInf")

    def _begins(self, event: Event) -> Iterator[Fault]:
        version = event.namespace.removeprefix(_STEM)
        if event.namespace.startswith(_STEM) and version in VERSIONS:
            source = self._reading.source
            self._reading.state(
                tr(
                    "{source}: pain.001.001.{version}. It asks a bank to pay: if it is also sent to the bank, every "
                    "payment in it is made twice. Make sure that it is not.",
                    source=source,
                    version=version,
                )
            )
            return
        self.not_ours = True
        found = (
            tr("the namespace {namespace!r}", namespace=event.namespace[:80]) if event.namespace else tr("no namespace")
        )
        wanted = tr(
            "{stem}NN, where NN is {list} or {versions}",
            stem=_STEM,
            list=", ".join(VERSIONS[:-1]),
            versions=VERSIONS[-1],
        )
        yield Fault(self._at(event.line), found, wanted, tr("ask for a file of one of these versions"))

    def _unit(self, node: Node, *, in_part: bool) -> Iterator[Payment | Fault]:
        if in_part and node.name == "CdtTrfTxInf":
            yield from self._transaction(node)
        elif in_part:
            if self._instruction is None:
                yield from self._head(node)
            elif node.name not in self._ignored:
                yield Fault(self._at(node.line, node.called), tr("an element after the payments"), tr("it before them"))
        elif node.name == "GrpHdr" and self._seen and self._group is None:
            self._group = node
            yield from (
                self._unknown(child)
                for child in node.children
                if child.name not in _HEADER and child.name not in self._ignored
            )
        elif node.name not in self._ignored:
            if not self._seen:
                self.not_ours = True
                found, wanted = f"<{node.called}>", tr("a customer credit transfer initiation, <CstmrCdtTrfInitn>")
                yield Fault(self._at(node.line), found, wanted, tr("look whether it is the right file"))
            else:
                yield self._unknown(node)

    def _head(self, node: Node) -> Iterator[Fault]:
        """An element before the payments; more of them than the schema has end the reading."""
        self._heads.append(node)
        if len(self._heads) > MOST_HEADS:
            self.not_ours = True
            found, wanted = (
                tr("more than {most_heads} elements before the payments", most_heads=MOST_HEADS),
                tr("a pain.001 message"),
            )
            yield Fault(self._at(node.line, "PmtInf"), found, wanted, tr("look at the file"))

    def _unknown(self, node: Node) -> Fault:
        found = tr("{called}, which this reader does not follow", called=node.called)
        do = tr("take it out, or if it changes nothing here, ignore it: --ignore {called}", called=node.called)
        return Fault(self._at(node.line), found, tr("what belongs to cheques"), do)

    def _transaction(self, node: Node) -> Iterator[Payment | Fault]:
        """One payment, or its faults."""
        if self._instruction is None:
            self._instruction, faults = instruction_of(self._heads, self._reading, self._ignored)
            yield from faults
        payment, faults, remittance = self._transactions.payment(node, self._instruction, self._all.items + 1)
        found = list(self._assembly.going_on(payment, faults, remittance))
        whole = not any(isinstance(each, Fault) for each in found)
        last = found[-1]
        done = last if isinstance(last, Payment) else last.rest if isinstance(last, LineFault) else None
        self._all.add(done, whole=whole)
        self._part.add(done, whole=whole)
        yield from found

    def _ends_part(self, line: int) -> Iterator[Fault]:
        if self._instruction is None:
            _, faults = instruction_of(self._heads, self._reading, self._ignored)
            yield from faults
            yield Fault(
                self._at(line, "PmtInf"), tr("no payment"), tr("one at least"), tr("look whether payments are lost")
            )
        by_name = {node.name: node for node in self._heads}
        yield from self._compared(by_name, self._part, tr("of PmtInf"))

    def finish(self) -> Iterator[Fault]:
        """The end of the message."""
        if self._group is None:
            do = tr("look whether it is the right file")
            yield Fault(self._reading.source, tr("no GrpHdr"), tr("a pain.001 message with its header"), do)
            return
        if self._group.first("NbOfTxs") is None:
            do = tr("ask who made the file")
            yield Fault(self._at(self._group.line, "GrpHdr"), tr("no NbOfTxs"), tr("the number of payments"), do)
        yield from self._compared({node.name: node for node in self._group.children}, self._all, tr("of GrpHdr"))
        for told in self._transactions.told():
            self._reading.state(f"{self._reading.source}: {told}")

    def _compared(self, nodes: dict[str, Node], sums: _Sum, where: str) -> Iterator[Fault]:
        """Number of transactions and control sum, where they are given, held against the payments."""
        do = tr("ask who made the file; it may be cut short or changed")
        if (node := nodes.get("NbOfTxs")) and node.value().lstrip("0") != (str(sums.items) if sums.items else ""):
            at = self._at(node.line, tr("NbOfTxs {where}", where=where))
            yield Fault(at, _shown(node), tr("{items}, as many as there are", items=sums.items), do)
        if not (node := nodes.get("CtrlSum")) or not sums.complete:
            return
        currency = self._reading.currency
        given = number_of(node.value())
        if given is None or given != Fraction(sums.minor, 10 ** digits(currency)):
            at = self._at(node.line, tr("CtrlSum {where}", where=where))
            yield Fault(
                at, _shown(node), tr("{amount}, the sum of its payments", amount=plain(sums.minor, currency)), do
            )


def _shown(node: Node) -> str:
    """A number as it stands in the file, bare when it is one."""
    text = node.value()
    return text if number_of(text) is not None and text.isascii() else shown(text) if text else tr("nothing")
