"""What ISO 20022 messages about cheques have in common: the header, the account, the bank, and what cannot be in one.

camt.107 and camt.108 are defined between banks: a firm sends them only where its bank agreed to take them. The bank
is named by its clearing-system number where the country's list has one (codes of ISO 20022's external code lists, from
memory), and an account by its IBAN where it is one (ISO 13616, its check digits by the stdnum library).
"""

from collections.abc import Iterable, Iterator
from xml.sax.saxutils import escape

from cheque import money
from cheque.bank.notice import Account, Line, Notice
from cheque.errors import FAULTS_SHOWN, Fault
from cheque.tongue import tr

NAMESPACE = "urn:iso:std:iso:20022:tech:xsd:"
#: country -> the code of its clearing system
CLEARING = {"US": "USABA", "GB": "GBDSC", "CA": "CACPA", "IN": "INFSC", "IE": "IENCC"}
MOST_NAME, MOST_NUMBER, MOST_MEMBER, MOST_ID = 140, 35, 35, 34


def tag(name: str, text: str, attributes: str = "") -> str:
    """An element with a text in it."""
    return f"<{name}{attributes}>{escape(text)}</{name}>"


def opening(message: str, root: str, notice: Notice, items: int, totals: dict[str, int]) -> str:
    """The beginning of a document, with its header; a control sum where there is one currency."""
    head = tag("MsgId", notice.name) + tag("CreDtTm", notice.made.isoformat(timespec="seconds"))
    head += tag("NbOfChqs", str(items))
    if len(totals) == 1:
        ((currency, total),) = totals.items()
        if len(str(total)) <= money.LONGEST:  # the message has no room for more digits, and can do without
            head += tag("CtrlSum", money.plain(total, currency))
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<Document xmlns="{NAMESPACE}{message}"><{root}>\n<GrpHdr>{head}</GrpHdr>\n'
    )


def closing(root: str) -> str:
    """The end of a document."""
    return f"</{root}></Document>\n"


def instruction(notice: str, number: str) -> str:
    """The identification of one cheque's instruction: the notice's name and the number."""
    return f"{notice}-{number}"


def cheque(line: Line) -> str:
    """Number, day of issue and amount: what every one of the messages has of a cheque, in this order."""
    amount = tag("Amt", money.plain(line.amount, line.currency), f' Ccy="{line.currency}"')
    return tag("ChqNb", line.number) + tag("IsseDt", line.date) + amount


def party(name: str, text: str) -> str:
    """A person or firm by name."""
    return f"<{name}>{tag('Nm', text)}</{name}>"


def account(name: str, of: Account) -> str:
    """An account by its IBAN, or by whatever its number is."""
    from stdnum import iban

    number = iban.compact(of.number)
    which = tag("IBAN", number) if iban.is_valid(number) else f"<Othr>{tag('Id', number)}</Othr>"
    return f"<{name}><Id>{which}</Id></{name}>"


def bank(name: str, of: Account) -> str:
    """The bank: its clearing-system number where it has one, and its name."""
    member = ""
    if of.routing:
        code = CLEARING.get(of.country, "")
        system = f"<ClrSysId>{tag('Cd', code)}</ClrSysId>" if code else ""
        member = f"<ClrSysMmbId>{system}{tag('MmbId', _compact(of.routing))}</ClrSysMmbId>"
    return f"<{name}><FinInstnId>{member}{tag('Nm', of.bank)}</FinInstnId></{name}>"


def _compact(text: str) -> str:
    return "".join(c for c in text if c.isalnum())


class Looked:
    """What a look at all the lines found: faults, how many more than are kept, how many lines, and their totals."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []
        self.more_faults = self.items = 0
        self.totals: dict[str, int] = {}


def look(notice: Notice, message: str, mark: str) -> Looked:
    """Everything that a message cannot carry: one account, one mark, names and numbers of the lengths allowed."""
    found = Looked()
    if len(notice.accounts) > 1:
        wanted = tr("one, because a cheque is told from another by its number")
        found.faults.append(
            Fault(message, tr("{count} accounts", count=len(notice.accounts)), wanted, tr("make a notice for each"))
        )
    for of in notice.accounts.values():
        found.faults.extend(_account_faults(of))
    for line in notice.lines():
        found.items += 1
        found.totals[line.currency] = found.totals.get(line.currency, 0) + line.amount
        for fault in _line_faults(line, message, mark):
            found.more_faults += len(found.faults) >= FAULTS_SHOWN
            if len(found.faults) < FAULTS_SHOWN:
                found.faults.append(fault)
    return found


def _account_faults(of: Account) -> Iterator[Fault]:
    where = f"[accounts.{of.name}] in cheque.toml"
    number = _compact(of.number)
    if not number:
        yield Fault(where, tr("no account_number"), tr("the number of the account"), tr("add account_number = …"))
    elif len(number) > MOST_ID:
        yield Fault(
            where,
            tr("an account_number of {count} characters", count=len(number)),
            tr("at most {most_id}", most_id=MOST_ID),
        )
    if not of.routing and of.country in CLEARING:
        yield Fault(where, tr("no routing"), tr("the bank's routing number or sort code"), tr("add routing = …"))
    if len(_compact(of.routing)) > MOST_MEMBER:
        yield Fault(
            where,
            tr("a routing of {count} characters", count=len(of.routing)),
            tr("at most {most_member}", most_member=MOST_MEMBER),
        )
    for key, text in (("bank", of.bank), ("drawer", of.drawer)):
        if not 1 <= len(text) <= MOST_NAME:
            yield Fault(
                where,
                tr("a {key} of {count} characters", key=key, count=len(text)),
                tr("1 to {most_name}", most_name=MOST_NAME),
            )


def _line_faults(line: Line, message: str, mark: str) -> Iterator[Fault]:
    where = f"number {line.called}"
    if line.mark != mark:
        do = tr("ask the bank to stop it: `cheque notice stopped`") if line.mark == "void" else ""
        yield Fault(
            where,
            tr("one to be told as {mark}", mark=line.mark),
            tr("{mark} only, in a {message}", mark=mark, message=message),
            do,
        )
    if not 1 <= len(line.payee) <= MOST_NAME:
        yield Fault(
            where,
            tr("a payee of {count} characters", count=len(line.payee)),
            tr("1 to {most_name}, as {message} has it", most_name=MOST_NAME, message=message),
        )
    if not line.payee.isprintable():
        yield Fault(where, tr("a payee {payee!a}", payee=line.payee), tr("plain text"))


def encoded(parts: Iterable[str]) -> Iterator[bytes]:
    """Text as UTF-8, a part at a time."""
    return (part.encode() for part in parts)
