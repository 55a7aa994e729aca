"""One payment of a pain.001 message: what of it goes on a cheque, what is passed over, and what is refused by name.

Elements are of three kinds: those that are read; those that say nothing about the cheque (the debtor's account, the
bank's charges); and instructions to the bank (where to mail, whom to print), which are counted and told, because
nobody here follows them. Whatever is none of these is a fault, unless it is named to be ignored.
"""

import re
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from fractions import Fraction
from typing import NamedTuple
from unicodedata import normalize

from cheque.errors import Fault
from cheque.money import AmountError, digits, parse
from cheque.payment import Kind, Payment, Role, StubLine
from cheque.register import Reading
from cheque.register.characters import shown
from cheque.register.columns import ADDRESS, name_of
from cheque.register.painaddress import address_lines
from cheque.register.rows import HASH_DIGITS
from cheque.register.xmlread import Node
from cheque.tongue import counted, mark, tr

#: elements of a payment information block that say nothing about the cheques
HARMLESS_HEADER = frozenset(
    {"PmtInfId", "BtchBookg", "PmtTpInf", "Dbtr", "DbtrAcct", "DbtrAgt", "DbtrAgtAcct", "ChrgBr", "ChrgsAcct"}
    | {"ChrgsAcctAgt"}
)
_READ_HEADER = frozenset({"PmtMtd", "NbOfTxs", "CtrlSum", "ReqdExctnDt"})
_BANKS_HEADER = frozenset({"InstrForDbtrAgt", "ReqdAdvcTp"})
_READ = frozenset({"PmtId", "Amt", "ChqInstr", "Cdtr", "RmtInf"})
_HARMLESS = frozenset({"PmtTpInf", "ChrgBr", "Purp"})
_CHEQUE_READ = frozenset({"ChqTp", "ChqNb", "MemoFld", "ChqMtrtyDt"})
_CHEQUE_BANKS = frozenset(
    {"ChqFr", "DlvryMtd", "DlvrTo", "InstrPrty", "FrmsCd", "RgnlClrZone", "PrtLctn", "Sgntr"}  # the bank would follow
)
_DOCUMENT_HARMLESS = frozenset({"Issr"})
OWN_CHEQUES = ("CCHQ", "CCCH")
_BANKS = {"BCHQ": mark("a bank cheque"), "DRFT": mark("a draft"), "ELDR": mark("an electronic draft")}
_METHODS = {"TRF": mark("a transfer"), "TRA": mark("a transfer with advice"), "CHK": mark("a cheque")}
NOT_PROVIDED = "NOTPROVIDED"
#: longest texts, in characters, by ISO 20022
LONGEST = {"EndToEndId": 35, "Nm": 140, "ChqNb": 35, "MemoFld": 35, "Ustrd": 140, "AddtlRmtInf": 140, "Nb": 35}
_DATE = re.compile(r"(\d{4}-\d{2}-\d{2})(?:Z|[+-]\d{2}:\d{2})?", re.ASCII)
_TIME = re.compile(r"(\d{4}-\d{2}-\d{2})T[0-9:.]{1,30}(?:Z|[+-]\d{2}:\d{2})?", re.ASCII)
_NUMBER = re.compile(r"[+-]?(\d{1,18}(?:\.\d{0,17})?|\.\d{1,17})", re.ASCII)
#: amounts of version 12, by their codes (from memory of the external code list)
_TYPED = {"DUPA": "DuePyblAmt", "DISC": "DscntApldAmt", "REMI": "RmtdAmt", "CREN": "CdtNoteAmt"}


class Instruction(NamedTuple):
    """What a payment information block says for all its payments."""

    date: str
    country: str


class _Bad(Exception):
    """A fault has been noted, and the thing cannot be read."""


def number_of(text: str) -> Fraction | None:
    """A decimal number, exactly, or None."""
    return Fraction(text) if _NUMBER.fullmatch(text) else None


def date_of(node: Node | None) -> str | None:
    """A date, plain or in the choice of date and time, as ISO 8601; None when it is neither."""
    if node is None:
        return None
    plainly = node.value() or node.value("Dt")
    if match := _DATE.fullmatch(plainly):
        return match[1]
    match = _TIME.fullmatch(node.value("DtTm"))
    return match[1] if match else None


def instruction_of(heads: list[Node], reading: Reading, ignored: frozenset[str]) -> tuple[Instruction, list[Fault]]:
    """The beginning of a payment information block, and everything wrong with it."""
    by_name = {node.name: node for node in heads}
    line = heads[0].line if heads else 1
    faults = []
    method = by_name["PmtMtd"].value() if "PmtMtd" in by_name else ""
    if method != "CHK":
        at = tr(
            "{source} line {line}, PmtMtd",
            source=reading.source,
            line=by_name["PmtMtd"].line if "PmtMtd" in by_name else line,
        )
        found = (
            f"{tr(_METHODS[method])} ({method})" if method in _METHODS else shown(method) if method else tr("nothing")
        )
        faults.append(
            Fault(at, found, tr("payment by cheque (CHK)"), tr("take these payments out; the bank makes them"))
        )
    date = date_of(by_name.get("ReqdExctnDt"))
    if date is None:
        at = tr("{source} line {line}, ReqdExctnDt", source=reading.source, line=line)
        found = tr("no date") if "ReqdExctnDt" in by_name else tr("nothing")
        faults.append(Fault(at, found, tr("the date of the cheques"), tr("ask who made the file")))
    known = HARMLESS_HEADER | _READ_HEADER | _BANKS_HEADER | ignored
    faults += [_unknown(node, reading) for node in heads if node.name not in known]
    debtor = by_name.get("Dbtr")
    country = debtor.value("PstlAdr", "Ctry") if debtor else ""
    return Instruction(date or "", country), faults


def _unknown(node: Node, reading: Reading) -> Fault:
    name = node.called
    do = tr("take it out, or if it changes nothing here, ignore it: --ignore {name}", name=name)
    return Fault(
        tr("{source} line {line}, {name}", source=reading.source, line=node.line, name=name),
        tr("an element not followed here"),
        tr("none like it"),
        do,
    )


class Transactions:
    """Reads payment after payment, and remembers what it has to tell at the end."""

    def __init__(self, reading: Reading, ignored: frozenset[str]) -> None:
        self._reading, self._ignored = reading, ignored
        self._hashed = name_of(reading.hash_column)
        self._told: Counter[str] = Counter()
        self._faults: list[Fault] = []

    def told(self) -> Iterator[str]:
        """What nobody here follows, once each."""
        for name, count in self._told.items():
            payments = counted(count, "payment")
            if name == "CCCH":
                yield tr(
                    "CCCH ({payments}): a certified cheque; the bank's certification is not printed.", payments=payments
                )
            else:
                yield tr(
                    "{name} ({payments}): an instruction to a bank, not followed here.", name=name, payments=payments
                )

    def payment(
        self, node: Node, instruction: Instruction, item: int
    ) -> tuple[Payment, list[Fault], list[tuple[int, StubLine | str]]]:
        """A payment, everything wrong with it, and its remittance lines with where they stand."""
        self._faults, self._line = [], node.line
        self._children(node, _READ, _HARMLESS)
        cheque = self._cheque(node.first("ChqInstr"), instruction)
        amount = self._amount(node.first("Amt"))
        employee, identity = self._identities(node.first("Cdtr", "Id"))
        payee = self._text(node.first("Cdtr", "Nm"))
        address, department = self._creditor(node.first("Cdtr"), instruction.country)
        reference = self._text(node.first("PmtId", "EndToEndId"))
        reference = "" if reference == NOT_PROVIDED else reference
        payment = Payment(
            item, payee, amount, instruction.date, reference,
            Role.CHEQUE if amount else Role.ADVICE,
            expected=cheque.get("ChqNb", ""), address=address, employee=employee, identity=identity,
            department=department, memo=cheque.get("MemoFld", ""), line=node.line,
        )  # fmt: skip
        payment = payment._replace(hash_value=self._hash(payment))
        lines = list(self._remittance(node.first("RmtInf")))
        return payment, self._faults, lines

    def _fault(self, node: Node | None, name: str, found: str, wanted: str, do: str = "") -> None:
        at = tr(
            "{source} line {line}, {name}",
            source=self._reading.source,
            line=node.line if node else self._line,
            name=name,
        )
        self._faults.append(Fault(at, found, wanted, do or tr("ask who made the file")))

    def _children(self, node: Node, read: frozenset[str], harmless: frozenset[str] = frozenset()) -> None:
        """Every element there is must be known."""
        for child in node.children:
            if child.name not in read and child.name not in harmless and child.name not in self._ignored:
                self._faults.append(_unknown(child, self._reading))

    def _text(self, node: Node | None) -> str:
        """A text in form C, no longer than its element may be."""
        text = normalize("NFC", node.value()).strip(" ") if node else ""
        if node and len(text) > LONGEST.get(node.name, 140):
            most = LONGEST.get(node.name, 140)
            self._fault(
                node, node.name, tr("{count} characters", count=len(text)), tr("at most {most} (ISO 20022)", most=most)
            )
        return text

    def _cheque(self, node: Node | None, instruction: Instruction) -> dict[str, str]:
        """What is said about the cheque: it must be the customer's own."""
        kind = node.value("ChqTp") if node else ""
        if kind not in OWN_CHEQUES:
            found = (
                tr("{banks} ({kind}), which the bank draws", banks=tr(_BANKS[kind]), kind=kind)
                if kind in _BANKS
                else shown(kind)
            )
            wanted = tr("a customer's cheque ({own_cheques})", own_cheques=tr(" or ").join(OWN_CHEQUES))
            do = tr("take it out; only the bank can draw it") if kind in _BANKS else tr("ask who made the file")
            self._fault(node, "ChqTp", found if kind else tr("no cheque type"), wanted, do)
        if node is None:
            return {}
        self._children(node, _CHEQUE_READ, _CHEQUE_BANKS)
        self._told.update({child.name for child in node.children} & _CHEQUE_BANKS)
        self._told["CCCH"] += kind == "CCCH"
        self._told += Counter()
        matures = node.first("ChqMtrtyDt")
        if matures and date_of(matures) != instruction.date:
            self._fault(
                matures, "ChqMtrtyDt", shown(matures.value()), tr("the requested date, {date}", date=instruction.date)
            )
        memo = [self._text(child) for child in node.children if child.name == "MemoFld"]
        return {"ChqNb": self._text(node.first("ChqNb")), "MemoFld": " ".join(filter(None, memo))}

    def _amount(self, node: Node | None) -> int:
        """The amount instructed, in the account's currency; 0 with a fault when there is none."""
        instructed = node.first("InstdAmt") if node else None
        if node:
            self._children(node, frozenset({"InstdAmt"}))
        if instructed is None:
            self._fault(node, "InstdAmt", tr("nothing"), tr("the amount of the cheque"))
            return 0
        amount = self._money(instructed, "InstdAmt")
        return amount or 0

    def _money(self, node: Node, name: str) -> int | None:
        """Minor units of an amount with its currency, or None with a fault."""
        currency = self._reading.currency
        text, given = node.value(), node.attributes.get("Ccy", "")
        if given != currency:
            self._fault(
                node,
                name,
                f"{(shown(given) if given else tr('no currency'))}",
                tr("{currency}, as the account's", currency=currency),
            )
            return None
        number = number_of(text)
        minor = number * 10 ** digits(currency) if number is not None else None
        if minor is None or minor.denominator != 1 or minor < 0 or not _short(text, currency):
            self._fault(node, name, shown(text), tr("an exact {currency} amount", currency=currency))
            return None
        return int(minor)

    def _creditor(self, node: Node | None, country: str) -> tuple[tuple[str, ...], str]:
        """The lines of the address, and the department."""
        if node is None:
            self._fault(None, "Cdtr", tr("nothing"), tr("whom it is paid to"))
            return (), ""
        self._children(node, frozenset({"Nm", "PstlAdr", "Id"}), frozenset({"CtryOfRes"}))
        postal = node.first("PstlAdr")
        if postal is None:
            return (), ""
        lines, department, unknown = address_lines(postal, country)
        for child in unknown:
            if child.name not in self._ignored:
                self._faults.append(_unknown(child, self._reading))
        if len(lines) > len(ADDRESS):
            self._fault(
                postal,
                "PstlAdr",
                tr("{count} lines", count=len(lines)),
                tr("at most {count}", count=len(ADDRESS)),
                tr("shorten the address"),
            )
        return tuple(normalize("NFC", line) for line in lines[: len(ADDRESS)]), normalize("NFC", department)

    def _identities(self, node: Node | None) -> tuple[str, str]:
        """Employee number (EMPL, or any number of no scheme) and the end of a social security number (SOSE)."""
        employee = identity = ""
        for kind in node.children if node else ():
            self._children(kind, frozenset({"Othr"}))
            for other in kind.children:
                if other.name != "Othr":
                    continue
                scheme = other.value("SchmeNm", "Cd")
                text = self._text(other.first("Id"))
                if scheme == "SOSE":
                    identity = text
                elif scheme in ("EMPL", "CUST", "") and not employee:
                    employee = text
                elif "Othr" not in self._ignored:
                    do = tr("take it out, or ignore it: --ignore Othr")
                    self._fault(
                        other,
                        "Othr",
                        tr("an identification {scheme}", scheme=shown(scheme)),
                        tr("EMPL or SOSE, one each"),
                        do,
                    )
        return employee, identity

    def _hash(self, payment: Payment) -> int | None:
        """The number of the hash column, if the payment has one."""
        places = {"number": "expected"}
        text = getattr(payment, places.get(self._hashed, self._hashed), "") if self._hashed else ""
        if not isinstance(text, str) or not text:
            if self._hashed in ("", "employee"):
                return None
            text = ""
        if text.isdigit() and text.isascii() and len(text) <= HASH_DIGITS:
            return int(text)
        wanted = tr("a whole number of at most {hash_digits} digits, because it is summed", hash_digits=HASH_DIGITS)
        self._fault(None, self._hashed[:80], shown(text) if text else tr("nothing"), wanted, tr("sum another column"))
        return None

    def _remittance(self, node: Node | None) -> Iterator[tuple[int, StubLine | str]]:
        """Remittance information: texts as they stand, and invoices."""
        if node is None:
            return
        self._children(node, frozenset({"Ustrd", "Strd"}))
        for child in node.children:
            if child.name == "Ustrd":
                text = normalize("NFC", child.text.strip("\t\r\n")).rstrip(" ")
                if len(text) > LONGEST["Ustrd"]:
                    self._fault(
                        child,
                        "Ustrd",
                        tr("{count} characters", count=len(text)),
                        tr("at most {longest} (ISO 20022)", longest=LONGEST["Ustrd"]),
                    )
                yield child.line, text
            elif child.name == "Strd":
                yield from self._structured(child)

    def _structured(self, node: Node) -> Iterator[tuple[int, StubLine | str]]:
        """An invoice or a credit note, and what is added in words."""
        self._children(node, frozenset({"RfrdDocInf", "RfrdDocAmt", "CdtrRefInf", "AddtlRmtInf"}))
        documents = [child for child in node.children if child.name == "RfrdDocInf"]
        if len(documents) > 1:
            self._fault(documents[1], "RfrdDocInf", tr("a second document"), tr("one for each amount"))
        amounts = node.first("RfrdDocAmt")
        if documents or amounts:
            with suppress(_Bad):
                yield node.line, self._invoice(node, documents[0] if documents else None, amounts)
        for child in node.children:
            if child.name == "CdtrRefInf" and (text := child.value("Ref")):
                yield child.line, StubLine(Kind.NOTE, normalize("NFC", text))
            elif child.name == "AddtlRmtInf" and (text := self._text(child)):
                yield child.line, StubLine(Kind.NOTE, text)

    def _invoice(self, node: Node, document: Node | None, amounts: Node | None) -> StubLine:
        if document:
            self._children(document, frozenset({"Tp", "Nb", "RltdDt"}), _DOCUMENT_HARMLESS)
        number = self._text(document.first("Nb")) if document else ""
        if not number:
            self._fault(document or node, "Nb", tr("nothing"), tr("the number of the invoice"))
        dated = document.first("RltdDt") if document else None
        date = date_of(dated) if dated else ""
        if date is None:
            self._fault(dated, "RltdDt", tr("no date"), tr("the date of the invoice as YYYY-MM-DD"))
        sign = -1 if document and document.value("Tp", "CdOrPrtry", "Cd") == "CREN" else 1
        figures = self._figures(amounts) if amounts else {}
        due = figures.get("DuePyblAmt", figures.get("CdtNoteAmt") if sign < 0 else None)
        discount, net = figures.get("DscntApldAmt"), figures.get("RmtdAmt")
        if net is None and due is not None:
            net = due - (discount or 0)
        if net is None:
            if not self._faults:
                self._fault(amounts or node, "RmtdAmt", tr("nothing"), tr("what is paid of the invoice"))
            raise _Bad
        signed = [None if minor is None else sign * minor for minor in (net, due, discount)]
        return StubLine(Kind.INVOICE, number, signed[0], date=date or "", gross=signed[1], discount=signed[2])

    def _figures(self, node: Node) -> dict[str, int]:
        """The amounts of a document by name; discounts are added up."""
        found: dict[str, int] = {}
        wanted = frozenset({*_TYPED.values(), "RmtAmtAndTp"})
        self._children(node, wanted)
        for child in node.children:
            name, amount = child.name, child
            if name == "RmtAmtAndTp":
                code = child.value("Tp", "Cd")
                if code not in _TYPED:
                    self._fault(
                        child, "RmtAmtAndTp", tr("the code {code}", code=shown(code)), tr("one of ") + ", ".join(_TYPED)
                    )
                    continue
                name, amount = _TYPED[code], child.first("Amt") or child
            elif name == "DscntApldAmt":
                amount = child.first("Amt") or child
            if name not in wanted:
                continue
            minor = self._money(amount, name)
            if minor is None:
                raise _Bad
            if name in found and name != "DscntApldAmt":
                self._fault(child, name, tr("a second one"), tr("one of each"))
            found[name] = found.get(name, 0) + minor
        return found


def _short(text: str, currency: str) -> bool:
    """Whether the amount has no more digits than an amount can have."""
    try:
        parse(text.partition(".")[0].lstrip("+0") or "0", currency)
    except AmountError:
        return False
    return True
