"""ISO 20022 camt.109.001.02, ChequeCancellationOrStopReport: what the bank did with a request to stop cheques.

Status ACCR: accepted, the cheque will not be paid; RJCR: rejected. A status of the bank's own (Prtry), or another code,
is given as it is and decides nothing. Read a piece at a time and in bounded memory; no document type, so no entities.
"""

from collections.abc import Iterator
from datetime import date
from typing import BinaryIO, NamedTuple

from cheque import money
from cheque.errors import Fault, InputRefused
from cheque.register.xmlread import Node, XmlRefused, events
from cheque.shown import shown
from cheque.tongue import tr

MESSAGE = "camt.109.001.02"
ROOT = "ChqCxlOrStopRpt"
NAMESPACE = f"urn:iso:std:iso:20022:tech:xsd:{MESSAGE}"
_CONTAINERS = frozenset({("Document",), ("Document", ROOT)})
STATUSES = {"ACCR": "accepted", "RJCR": "rejected"}


class Header(NamedTuple):
    """The header of an answer: the bank's name for it, and the day on which it was made."""

    name: str
    day: str
    cheques: int


class Answer(NamedTuple):
    """What the bank says of one cheque. `status`: accepted, rejected, or what the bank calls it; amounts in minor
    units; `account`: the account that it names, or ""; `told`: more of it in words."""

    number: str
    date: str
    amount: int
    currency: str
    status: str
    told: str
    account: str
    line: int


def read(stream: BinaryIO, name: str) -> tuple[Header, list[Answer]]:
    """A whole answer. InputRefused with everything that is wrong with it; then nothing of it counts."""
    faults: list[Fault] = []
    header: Header | None = None
    answers: list[Answer] = []
    seen_root = False
    try:
        for event in events(stream, _CONTAINERS):
            where = tr("{name} line {line}", name=name, line=event.line)
            if not seen_root:
                _is_one(event.namespace, where)
                seen_root = True
            if event.node is None:
                continue
            if event.inside != ROOT:
                raise InputRefused(
                    tr(
                        "{where}: found {called}; wanted {root}, as a {message} has.",
                        where=where,
                        called=event.node.called,
                        root=ROOT,
                        message=MESSAGE,
                    )
                )
            if event.name == "GrpHdr":
                header = _header(event.node, where, faults)
            elif event.name == "Chq":
                answers.extend(_answer(event.node, where, faults))
    except XmlRefused as refused:
        fault = Fault(tr("{name} line {line}", name=name, line=refused.line), refused.found, refused.wanted, refused.do)
        raise InputRefused(tr("{name} cannot be read: nothing of it counts.", name=name), [fault]) from None
    if header is None:
        faults.append(Fault(name, tr("no GrpHdr"), tr("the header of a message")))
    elif header.cheques != len(answers) and not faults:
        faults.append(
            Fault(
                name,
                tr("{count} cheques", count=len(answers)),
                tr("{cheques}, as its NbOfChqs says", cheques=header.cheques),
            )
        )
    if faults or header is None:
        raise InputRefused(tr("{name} has faults: nothing of it counts.", name=name), faults)
    return header, answers


def _is_one(namespace: str, where: str) -> None:
    if namespace != NAMESPACE:
        raise InputRefused(
            tr(
                "{where}: found a document of {namespace}; wanted {namespace2}.",
                where=where,
                namespace=shown(namespace),
                namespace2=NAMESPACE,
            )
        )


def _header(node: Node, where: str, faults: list[Fault]) -> Header:
    count = node.value("NbOfChqs")
    if not (count.isascii() and count.isdigit() and len(count) <= 15):
        faults.append(Fault(where, tr("NbOfChqs {count}", count=shown(count)), tr("a whole number")))
        count = "0"
    day = node.value("CreDtTm")[:10]
    if not _is_day(day):
        faults.append(Fault(where, tr("CreDtTm {value}", value=shown(node.value("CreDtTm"))), tr("a day and time")))
    name = node.value("MsgId")
    if not 1 <= len(name) <= 35 or not name.isprintable():
        faults.append(Fault(where, tr("MsgId {name}", name=shown(name)), tr("1 to 35 characters")))
    return Header(name, day, int(count))


def _is_day(text: str) -> bool:
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def _answer(node: Node, where: str, faults: list[Fault]) -> Iterator[Answer]:
    before = len(faults)
    number, day = node.value("ChqNb"), node.value("IsseDt")[:10]
    if not 1 <= len(number) <= 35:
        faults.append(
            Fault(where, tr("ChqNb {number}", number=shown(number)), tr("a cheque number of 1 to 35 characters"))
        )
    if not _is_day(day):
        faults.append(Fault(where, tr("IsseDt {day}", day=shown(day)), tr("a day")))
    amount = node.first("Amt")
    currency, minor = amount.attributes.get("Ccy", "") if amount else "", 0
    try:
        minor = money.parse(_bare(node.value("Amt")), currency, short=True)
    except (money.AmountError, KeyError):
        faults.append(
            Fault(
                where,
                tr("Amt {value} {currency}", value=shown(node.value("Amt")), currency=shown(currency)),
                tr("an exact amount"),
            )
        )
    status = node.value("ChqCxlOrStopSts", "Sts", "Cd")
    own = node.value("ChqCxlOrStopSts", "Sts", "Prtry")
    if bool(status) == bool(own):
        faults.append(Fault(where, tr("no status, or two"), tr("ChqCxlOrStopSts with one of Cd and Prtry")))
    told = node.value("ChqCxlOrStopSts", "AddtlInf")
    account = node.value("DrwrAgtAcct", "Id", "Othr", "Id") or node.value("DrwrAgtAcct", "Id", "IBAN")
    if len(faults) == before:
        yield Answer(number, day, minor, currency, STATUSES.get(status, status or own), told, account, node.line)


def _bare(text: str) -> str:
    """An amount without the noughts at its end: the message may carry up to five decimals."""
    whole, point, part = text.partition(".")
    return f"{whole}.{part.rstrip('0')}" if point and part.rstrip("0") else whole
