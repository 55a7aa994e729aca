"""ISO 20022 camt.107.001.02, ChequePresentmentNotification: which cheques were issued, so that no other is paid.

Of each cheque: instruction, number, day of issue and amount; the payer and the account it is drawn on; the bank it is
drawn on; the payee. A void is not told in it: a camt.108 is.
"""

from collections.abc import Iterator

from cheque.bank import camt
from cheque.bank.notice import Line, Notice

MESSAGE = "camt.107.001.02"
ROOT = "ChqPresntmntNtfctn"
SUFFIX = ".xml"


def look(notice: Notice) -> camt.Looked:
    """Everything in a notice that the message cannot carry."""
    return camt.look(notice, "camt.107", "issue")


def write(notice: Notice, found: camt.Looked) -> Iterator[bytes]:
    """The message, a part at a time. `found`: what `look` found, without faults."""
    return camt.encoded(_parts(notice, found))


def _parts(notice: Notice, found: camt.Looked) -> Iterator[str]:
    yield camt.opening(MESSAGE, ROOT, notice, found.items, found.totals)
    for line in notice.lines():
        yield _cheque(notice, line)
    yield camt.closing(ROOT)


def _cheque(notice: Notice, line: Line) -> str:
    of = notice.accounts[line.account]
    return (
        f"<Chq>{camt.tag('InstrId', camt.instruction(notice.name, line.number))}{camt.cheque(line)}"
        f"{camt.party('Pyer', of.drawer)}{camt.account('PyerAcct', of)}{camt.bank('DrwrAgt', of)}"
        f"{camt.party('Pyee', line.payee)}</Chq>\n"
    )
