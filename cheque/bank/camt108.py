"""ISO 20022 camt.108.001.02, ChequeCancellationOrStopRequest: which cheques must not be paid, and why.

The message has no place for the payer or the payer's account: the account that the cheque is drawn on is given as that
of the drawer's agent (DrwrAgtAcct), which has to be agreed with the bank, and the instruction by which the bank was
told of the cheque's issue, when that was a camt.107, as OrgnlInstrId. Reasons: CUST (at the customer's wish), DUPL
(a duplicate), FRAD (fraud), LOST, and NARR, which has to be told in words.
"""

from collections.abc import Iterator

from cheque.bank import camt
from cheque.bank.notice import REASONS, Line, Notice
from cheque.errors import Fault
from cheque.tongue import tr

MESSAGE = "camt.108.001.02"
ROOT = "ChqCxlOrStopReq"
SUFFIX = ".xml"
MOST_TOLD = 140


def look(notice: Notice) -> camt.Looked:
    """Everything in a notice that the message cannot carry."""
    found = camt.look(notice, "camt.108", "stop")
    for line in notice.lines():
        told = _told(line)
        if line.reason not in REASONS:
            wanted = tr("one of {reasons}", reasons=", ".join(REASONS))
            found.faults.append(
                Fault(
                    tr("number {called}", called=line.called),
                    tr("reason {reason!r}", reason=line.reason),
                    wanted,
                    tr("give --reason"),
                )
            )
        elif REASONS[line.reason] == "NARR" and not told:
            do = tr("say it with --told")
            found.faults.append(
                Fault(
                    tr("number {called}", called=line.called), tr("reason 'other' alone"), tr("the reason in words"), do
                )
            )
        if len(told) > MOST_TOLD:
            found.faults.append(
                Fault(
                    tr("number {called}", called=line.called),
                    tr("{count} characters told", count=len(told)),
                    tr("at most {most_told}", most_told=MOST_TOLD),
                )
            )
    return found


def write(notice: Notice, found: camt.Looked) -> Iterator[bytes]:
    """The message, a part at a time. `found`: what `look` found, without faults."""
    return camt.encoded(_parts(notice, found))


def _parts(notice: Notice, found: camt.Looked) -> Iterator[str]:
    yield camt.opening(MESSAGE, ROOT, notice, found.items, found.totals)
    for line in notice.lines():
        yield _cheque(notice, line)
    yield camt.closing(ROOT)


def _told(line: Line) -> str:
    """A reason in words: what was told, and for a reason that has no code of its own our word for it before that."""
    word = line.reason if line.reason in ("stolen", "insolvency") else ""
    return ": ".join(part for part in (word, line.told) if part)


def _cheque(notice: Notice, line: Line) -> str:
    of = notice.accounts[line.account]
    earlier = camt.tag("OrgnlInstrId", camt.instruction(line.earlier, line.number)) if line.earlier else ""
    told = _told(line)
    why = f"<Rsn>{camt.tag('Cd', REASONS[line.reason])}</Rsn>{camt.tag('AddtlInf', told) if told else ''}"
    return (
        f"<Chq>{camt.tag('InstrId', camt.instruction(notice.name, line.number))}{earlier}{camt.cheque(line)}"
        f"<FctvDt>{camt.tag('Dt', notice.day)}</FctvDt>{camt.bank('DrwrAgt', of)}{camt.account('DrwrAgtAcct', of)}"
        f"{camt.party('Pyee', line.payee)}<ChqCxlOrStopRsn>{why}</ChqCxlOrStopRsn></Chq>\n"
    )
