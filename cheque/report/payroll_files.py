"""The results of a batch as a file of the register's own kind: CSV of its dialect, records, a spreadsheet, a message.

- CSV and spreadsheets have a header with the register's own titles where its map names them, its marks and its dates.
- Fixed-width: records of one layout, below, in the register's encoding, with a header and a trailer of totals.
- pain.001 is answered by pain.002.001.10, the status report that ISO 20022 has for it; the codes of its external code
  set (ExternalPaymentTransactionStatus1Code, from memory) that stand for our statuses are in `CODES`.
"""

import hashlib
import io
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from typing import NamedTuple
from xml.sax.saxutils import escape

from cheque.book import batches
from cheque.book.batches import Batch
from cheque.book.book import Book
from cheque.errors import Fault, InputRefused
from cheque.money import plain
from cheque.register import KINDS, Reading, maps
from cheque.register import encodings as enc
from cheque.register.csvfile import dialect_of
from cheque.register.csvwrite import liner
from cheque.register.mapped import written
from cheque.register.maps import NO_MAP, Map
from cheque.register.xlsxwrite import sheet_of
from cheque.register.xmlread import Event, XmlRefused, events
from cheque.report.payroll import COLUMNS, Result
from cheque.report.render.csvfile import guarded
from cheque.settings import Settings
from cheque.tongue import tr

#: our status -> ISO 20022's: settlement completed, in process, pending, cancelled
CODES = {
    "paid": "ACSC",
    "printed": "ACSP",
    "advice": "ACSP",
    "voided": "CANC",
    "pulled": "CANC",
    "withdrawn": "CANC",
    "missing": "PDNG",
    "in doubt": "PDNG",
    "waiting": "PDNG",
}
#: places from 1 of a payment's record: its mark, then reference, number, date, amount and status
RECORD = ((1, 1), (2, 35), (37, 18), (55, 10), (65, 15), (80, 12))
WIDTH = 91
_MESSAGE = "pain.002.001.10"
#: bytes of a CSV register in which its header is found
_HEAD = 1 << 18
_ADDED = 105  # characters of one AddtlInf
_CONTAINERS = frozenset(
    {
        ("Document",),
        ("Document", "CstmrCdtTrfInitn"),
        ("Document", "CstmrCdtTrfInitn", "PmtInf"),
    }
)


class About(NamedTuple):
    """What a file says of the batch: its number, currency and total; when it was made (ISO 8601); who draws."""

    batch: int
    currency: str
    created: str
    drawer: str
    source: str


def written_as(book: Book, settings: Settings, batch: Batch, results: Sequence[Result], kind: str) -> bytes:
    """The results of a batch as a file of a kind, or of its register's own ("")."""
    if batch.kind not in KINDS:
        raise InputRefused(
            tr(
                "batch {id} came from no register ({kind}): its payments are another batch's.",
                id=batch.id,
                kind=batch.kind,
            )
        )
    body = batches.accepted_body(book, batch)
    own = kind in ("", batch.kind)
    by = NO_MAP
    if own and body.get("map"):
        by = maps.load(_kept(book, body["map"], "map").decode(), tr("its map"))
    if own and body.get("encoding"):  # named at accept, it goes before the map's
        by = replace(by, encoding=body["encoding"])
    account = settings.accounts.get(batch.account)
    created = datetime.now().astimezone().isoformat(timespec="seconds")
    about = About(batch.id, batch.currency, created, account.drawer if account else "NOTPROVIDED", batch.source)
    match kind or batch.kind:
        case "csv":
            return csv_file(results, about, by, _kept(book, body["register"], "register", _HEAD) if own else b"")
        case "xlsx":
            return xlsx_file(results, about, by)
        case "fixed-width":
            return fixed_file(results, about, by)
    if not own:
        raise InputRefused(
            tr("only a pain.001 message is answered by a message, and {source} is none.", source=batch.source)
        )
    return message(results, about, _kept(book, body["register"], "register"))


def _kept(book: Book, digest: str, what: str, limit: int = -1) -> bytes:
    """The copy of a register or a map that was kept when its batch was accepted; whole, it must have its digest."""
    try:
        with (book.place / "registers" / digest).open("rb") as file:
            data = file.read(limit)
    except OSError as error:
        raise InputRefused(
            tr(
                "the copy of the {what} cannot be read: {strerror}. Name another --kind.",
                what=what,
                strerror=error.strerror,
            )
        ) from None
    if limit < 0 and hashlib.sha256(data).hexdigest() != digest:
        raise InputRefused(
            tr("the copy of the {what} has not the digest that was accepted. Name another --kind.", what=what)
        )
    return data


def csv_file(results: Sequence[Result], about: About, by: Map, register: bytes) -> bytes:
    """CSV in the dialect of the register, whose first bytes are given ("" for our own)."""
    separator, line_end, encoding = dialect_of(register, Reading(about.source, about.currency, map=by))
    line = liner(by, separator, line_end, encoding)
    try:
        return b"".join(line(row) for row in _rows(results, about.currency, by, guard=True))
    except (ValueError, UnicodeEncodeError) as error:
        raise InputRefused(
            tr(
                "the results cannot be written as {source} is: {error}. Try --kind xlsx.",
                source=about.source,
                error=error,
            )
        ) from None


def _rows(results: Sequence[Result], currency: str, by: Map, *, guard: bool) -> Iterator[list[str]]:
    """The header, where the register has one, and a row for each result."""
    if by.header:
        yield [str(by.columns.get(name, name)) for name in COLUMNS]
    keep = guarded if guard else str
    for result in results:
        row = [written(name, text, by, currency) for name, text in _cells(result, currency).items()]
        free = ("reference", "status", "note")
        yield [keep(text) if name in free else text for name, text in zip(COLUMNS, row, strict=True)]


def _cells(result: Result, currency: str) -> dict[str, str]:
    """A result's texts by their columns, plain."""
    return {**dict(zip(COLUMNS, map(str, result), strict=True)), "amount": plain(result.amount, currency)}


def xlsx_file(results: Sequence[Result], about: About, by: Map) -> bytes:
    """A spreadsheet of one sheet, called Results; every cell typed, and none a formula."""
    rows = [_cells(result, about.currency) for result in results]
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as file:
        sheet_of(file, "Results", list(COLUMNS), rows, about.currency, by)
    return made.getvalue()


def fixed_file(results: Sequence[Result], about: About, by: Map) -> bytes:
    """Records of `RECORD`, in the register's encoding and of its record length where that is long enough."""
    encoding = by.encoding or enc.UTF8
    faults = [
        Fault(
            tr("result of {reference}", reference=result.reference),
            tr("{count} characters", count=len(result.reference)),
            tr("a reference of at most 35"),
        )
        for result in results
        if len(result.reference) > 35
    ]
    if faults:
        raise InputRefused(tr("the results cannot be written as records. Try --kind csv."), faults)
    total = sum(result.amount for result in results)
    records = [f"H{about.batch:09d}{about.created[:10]}{about.currency}"]
    for result in results:
        day = by.date.write(result.date) if by.date else result.date
        left = f"P{result.reference:<35}{result.number:<18}{day:<10}"
        records.append(f"{left}{result.amount:015d}{result.status:<12}")
    records.append(f"T{len(results):09d}{total:015d}")
    width = max(WIDTH, by.record_length - by.carriage_control)
    control = " " if by.carriage_control else ""
    end = "" if by.record_length else "\x85" if enc.family(encoding) == "ebcdic" else "\n"
    try:
        data = [f"{control}{record:<{width}}".encode(encoding) for record in records]
        return b"".join(record + _end(end, encoding) for record in data)
    except UnicodeEncodeError as error:
        found = tr("{object!r} is not in {encoding}", object=error.object[error.start : error.end], encoding=encoding)
        raise InputRefused(
            tr("the results cannot be written as records: {found}. Try --kind xlsx.", found=found)
        ) from None


def _end(end: str, encoding: str) -> bytes:
    return b"\x15" if end == "\x85" else end.encode(encoding)


def message(results: Sequence[Result], about: About, register: bytes) -> bytes:
    """A pain.002 that answers the message in `register`."""
    head = _Original()
    try:
        for event in events(io.BytesIO(register), _CONTAINERS):
            head.take(event)
    except XmlRefused as refused:
        raise InputRefused(
            tr("the copy of {source} is no message: {found}.", source=about.source, found=refused.found)
        ) from None
    if len(head.parts) != len(results):
        raise InputRefused(
            tr(
                "the copy of {source} has {count} payments, the batch {count2}.",
                source=about.source,
                count=len(head.parts),
                count2=len(results),
            )
        )
    text = "\n".join(_lines(results, about, head)) + "\n"
    return text.encode()


class _Original:
    """What an answer refers to: the message's own name and kind, and the part that each payment is in."""

    def __init__(self) -> None:
        self.message = self.kind = self._part = ""
        self.items = self.total = ""
        self.parts: list[str] = []

    def take(self, event: Event) -> None:
        """The next event of the reader of XML."""
        node = event.node
        if event.what == "opens" and event.name == "Document":
            self.kind = event.namespace.rpartition(":")[2]
        elif node is None:
            return
        elif node.name == "GrpHdr":
            self.message, self.items = node.value("MsgId"), node.value("NbOfTxs")
            self.total = node.value("CtrlSum")
        elif node.name == "PmtInfId":
            self._part = node.value()
        elif node.name == "CdtTrfTxInf":
            self.parts.append(self._part)


def _tag(name: str, text: str, attributes: str = "") -> str:
    return f"<{name}{attributes}>{escape(text)}</{name}>"


def _lines(results: Sequence[Result], about: About, head: _Original) -> Iterator[str]:
    yield '<?xml version="1.0" encoding="UTF-8"?>'
    yield f'<Document xmlns="urn:iso:std:iso:20022:tech:xsd:{_MESSAGE}">'
    yield "<CstmrPmtStsRpt>"
    yield f"<GrpHdr>{_tag('MsgId', f'BATCH-{about.batch}')}{_tag('CreDtTm', about.created)}"
    yield f"<InitgPty>{_tag('Nm', about.drawer[:140])}</InitgPty></GrpHdr>"
    sums = (_tag("OrgnlNbOfTxs", head.items) if head.items else "") + (
        _tag("OrgnlCtrlSum", head.total) if head.total else ""
    )
    yield (
        f"<OrgnlGrpInfAndSts>{_tag('OrgnlMsgId', head.message)}{_tag('OrgnlMsgNmId', head.kind)}{sums}"
        "</OrgnlGrpInfAndSts>"
    )
    part = None
    for result, of in zip(results, head.parts, strict=True):
        if of != part:
            if part is not None:
                yield "</OrgnlPmtInfAndSts>"
            yield f"<OrgnlPmtInfAndSts>{_tag('OrgnlPmtInfId', of)}"
            part = of
        yield _transaction(result, about.currency)
    if part is not None:
        yield "</OrgnlPmtInfAndSts>"
    yield "</CstmrPmtStsRpt>"
    yield "</Document>"


def _transaction(result: Result, currency: str) -> str:
    said = [tr("cheque {number}", number=result.number)] if result.number else []
    said.append(result.status)
    said += [result.note] if result.note else []
    text = "; ".join(said)
    added = "".join(_tag("AddtlInf", text[at : at + _ADDED]) for at in range(0, len(text), _ADDED))
    amount = _tag("InstdAmt", plain(result.amount, currency), f' Ccy="{currency}"')
    return (
        f"<TxInfAndSts>{_tag('OrgnlEndToEndId', result.reference or 'NOTPROVIDED')}"
        f"{_tag('TxSts', CODES[result.status])}<StsRsnInf>{added}</StsRsnInf>"
        f"<OrgnlTxRef><Amt>{amount}</Amt><ReqdExctnDt>{_tag('Dt', result.date)}</ReqdExctnDt>"
        f"{_tag('PmtMtd', 'CHK')}</OrgnlTxRef></TxInfAndSts>"
    )
