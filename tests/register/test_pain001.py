"""pain.001 messages: what is checked of the whole, what cannot get in, and faults with their lines."""

import io
import tracemalloc

import pytest
from register.november import map_named

from cheque.errors import Fault
from cheque.payment import Kind, Payment, StubLine
from cheque.register import LineFault, Reading, kind_of, pain001, xmlread

TRANSACTION = (
    "<CdtTrfTxInf><PmtId><EndToEndId>{reference}</EndToEndId></PmtId><Amt><InstdAmt Ccy='USD'>{amount}</InstdAmt></Amt>"
    "<ChqInstr><ChqTp>CCHQ</ChqTp></ChqInstr><Cdtr><Nm>{payee}</Nm>{more}</Cdtr>{after}</CdtTrfTxInf>\n"
)
DOCUMENT = (
    "<?xml version='1.0' encoding='UTF-8'?>{doctype}\n"
    "<Document xmlns='urn:iso:std:iso:20022:tech:xsd:pain.001.001.{version}'><CstmrCdtTrfInitn>\n"
    "<GrpHdr><MsgId>M</MsgId>{group}</GrpHdr>\n<PmtInf><PmtMtd>CHK</PmtMtd>{part}"
    "<ReqdExctnDt>2026-11-27</ReqdExctnDt>\n{transactions}{last}</PmtInf></CstmrCdtTrfInitn></Document>"
)
PASSPORT = "<Id><PrvtId><Othr><Id>7</Id><SchmeNm><Cd>CCPT</Cd></SchmeNm></Othr></PrvtId></Id>"
GROUP = "<NbOfTxs>2</NbOfTxs><CtrlSum>3.5</CtrlSum>"


def transaction(
    payee: str = "Ay Li", amount: str = "1.00", reference: str = "R1", more: str = "", after: str = ""
) -> str:
    return TRANSACTION.format(payee=payee, amount=amount, reference=reference, more=more, after=after)


TWO = transaction() + transaction("Esmé", "2.50", "R2")


def message(transactions: str = TWO, group: str = GROUP, version: str = "03", **more: str) -> bytes:
    parts = {"doctype": "", "part": "", "last": "", **more}
    return DOCUMENT.format(transactions=transactions, group=group, version=version, **parts).encode()


def read(data: bytes, **how: object) -> list[Payment | Fault]:
    reading = Reading("run.xml", "USD")._replace(**how)
    return list(pain001.read(io.BytesIO(data), reading))


def faults(data: bytes, **how: object) -> list[str]:
    return [str(item) for item in read(data, **how) if isinstance(item, Fault)]


def test_a_message_becomes_payments_named_by_their_lines() -> None:
    assert [(p.item, p.payee, p.amount, p.line) for p in read(message()) if isinstance(p, Payment)] == [
        (1, "Ay Li", 100, 5),
        (2, "Esmé", 250, 6),
    ]


@pytest.mark.parametrize("amount", ["1", "1.0", "1.00", "+1.00", "01.00", "1.000", " 1.00\n"])
def test_an_amount_is_a_decimal_of_the_schema_and_exact(amount: str) -> None:
    (found,) = read(message(transaction(amount=amount), "<NbOfTxs>1</NbOfTxs>"))
    assert isinstance(found, Payment)
    assert found.amount == 100


@pytest.mark.parametrize("amount", ["1.005", "-1.00", "1,00", "1e2", "", "1" * 17, "NaN", "0x10", "1 00"])
def test_what_is_no_exact_amount_is_refused(amount: str) -> None:
    (found,) = faults(message(transaction(amount=amount), "<NbOfTxs>1</NbOfTxs>"))
    assert found.startswith("run.xml line 5, InstdAmt: found ")
    assert "wanted an exact USD amount" in found


@pytest.mark.parametrize(
    ("group", "part", "message_wanted"),
    [
        ("<NbOfTxs>3</NbOfTxs>", "", "run.xml line 3, NbOfTxs of GrpHdr: found 3; wanted 2, as many as there are;"),
        ("", "", "run.xml line 3, GrpHdr: found no NbOfTxs; wanted the number of payments; ask who made the file."),
        (
            "<NbOfTxs>2</NbOfTxs><CtrlSum>3.05</CtrlSum>",
            "",
            "run.xml line 3, CtrlSum of GrpHdr: found 3.05; wanted 3.50, the sum of its payments; ask who made",
        ),
        (GROUP, "<NbOfTxs>1</NbOfTxs>", "run.xml line 4, NbOfTxs of PmtInf: found 1; wanted 2, as many as there are;"),
        (GROUP, "<CtrlSum>3.51</CtrlSum>", "run.xml line 4, CtrlSum of PmtInf: found 3.51; wanted 3.50, the sum"),
        (GROUP, "<CtrlSum>1e9999</CtrlSum>", "run.xml line 4, CtrlSum of PmtInf: found '1e9999'; wanted 3.50,"),
    ],
)
def test_control_sums_and_numbers_are_held_against_the_payments(group: str, part: str, message_wanted: str) -> None:
    (found,) = faults(message(group=group, part=part))
    assert found.startswith(message_wanted)


def test_a_control_sum_may_have_any_decimals_that_come_to_the_same() -> None:
    assert faults(message(group="<NbOfTxs>02</NbOfTxs><CtrlSum>3.50000</CtrlSum>")) == []


@pytest.mark.parametrize(
    ("changes", "wanted"),
    [
        ({"version": "02"}, "run.xml line 2: found the namespace 'urn:iso:std:iso:20022:tech:xsd:pain.001.001.02';"),
        ({"version": "13"}, "run.xml line 2: found the namespace"),
        ({"doctype": "<!DOCTYPE Document>"}, "run.xml line 1: found a document type; wanted none, because it could"),
        (
            {"doctype": "<!DOCTYPE d [<!ENTITY a 'x'><!ENTITY b '&a;&a;&a;'>]>"},
            "run.xml line 1: found a document type; wanted none",
        ),
        (
            {"doctype": '<!DOCTYPE d SYSTEM "file:///etc/passwd">'},
            "run.xml line 1: found a document type; wanted none",
        ),
        ({"transactions": transaction(payee="&a;")}, "run.xml line 5: found undefined entity"),
        ({"last": "<NbOfTxs>2</NbOfTxs>"}, "run.xml line 7, NbOfTxs: found an element after the payments; wanted it"),
        ({"last": "stray"}, "run.xml line 7: found text 'stray' between elements; wanted elements alone"),
        ({"part": "<UltmtDbtr><Nm>x</Nm></UltmtDbtr>"}, "run.xml line 4, UltmtDbtr: found an element not followed"),
        ({"part": "<PmtMtd>TRF</PmtMtd>"}, "run.xml line 4, PmtMtd: found a transfer (TRF); wanted payment by cheque"),
        ({"group": GROUP + "<Foo/>"}, "run.xml line 3: found Foo, which this reader does not follow; wanted what"),
        ({"group": GROUP + "<x:y xmlns:x='other'/>"}, "run.xml line 3: found {other}y, which this reader does not"),
        ({"transactions": ""}, "run.xml line 5, PmtInf: found no payment; wanted one at least; look whether payments"),
        (
            {"transactions": transaction(reference="R" * 36)},
            "run.xml line 5, EndToEndId: found 36 characters; wanted at most 35 (ISO 20022);",
        ),
        (
            {"transactions": transaction(more="<PstlAdr>" + "<AdrLine>x</AdrLine>" * 5 + "</PstlAdr>")},
            "run.xml line 5, PstlAdr: found 5 lines; wanted at most 4; shorten the address.",
        ),
        (
            {"transactions": transaction(more=PASSPORT)},
            "run.xml line 5, Othr: found an identification 'CCPT'; wanted EMPL or SOSE, one each;",
        ),
        (
            {"transactions": transaction(more="<Id><PrvtId><Othr><Id>E7</Id></Othr></PrvtId></Id>")},
            "run.xml line 5, employee: found 'E7'; wanted a whole number of at most 18 digits, because it is summed;",
        ),
        (
            {"transactions": transaction(after="<RmtInf><Strd><RfrdDocInf><Nb>T</Nb></RfrdDocInf></Strd></RmtInf>")},
            "run.xml line 5, RmtdAmt: found nothing; wanted what is paid of the invoice;",
        ),
        (
            {"transactions": transaction(after="<RmtInf><Strd><Invcr><Nm>x</Nm></Invcr></Strd></RmtInf>")},
            "run.xml line 5, Invcr: found an element not followed here; wanted none like it; take it out, or if it "
            "changes nothing here, ignore it: --ignore Invcr.",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_followed_is_refused_by_name(changes: dict[str, str], wanted: str) -> None:
    found = faults(message(**changes))
    assert any(each.startswith(wanted) for each in found), found


def test_a_file_of_another_kind_is_refused() -> None:
    assert faults(b"<html><body>x</body></html>")[0].startswith("run.xml")
    assert faults(b"") != []
    assert faults(b"payee,amount") != []
    statement = message().replace(b"CstmrCdtTrfInitn", b"CstmrDrctDbtInitn")
    assert "wanted a customer credit transfer initiation" in faults(statement)[0]


def test_what_came_before_a_break_is_still_read_and_the_break_is_told() -> None:
    found = read(message()[:-200])
    assert isinstance(found[0], Payment)
    assert isinstance(found[-1], Fault)
    assert "look whether the file is cut short" in str(found[-1])


def test_one_bad_payment_is_judged_as_far_as_it_can_be_read() -> None:
    bad = [
        item for item in read(message(transaction(amount="x") + transaction(), GROUP)) if isinstance(item, LineFault)
    ]
    assert bad[0].rest
    assert bad[0].rest.payee == "Ay Li"


def test_elements_too_deep_are_refused() -> None:
    deep = "<a>" * 40 + "</a>" * 40
    (found,) = faults(message(transaction(more=deep)))
    assert f"found elements {xmlread.DEEPEST + 1} deep; wanted at most {xmlread.DEEPEST}" in found


@pytest.mark.parametrize(
    "piece",
    [b"<a b='" + b"x" * (1 << 20), b"<" + b"a" * (1 << 20), b"<!--" + b"-x" * (1 << 20), b"<x>" + b"y" * (1 << 22)],
    ids=["attribute", "name", "comment", "text"],
)
def test_what_is_too_long_takes_no_memory(piece: bytes) -> None:
    begin = message()[: message().index(b"<Cdtr>") + 6]

    class Endless(io.RawIOBase):
        sent = 0

        def readable(self) -> bool:
            return True

        def readinto(self, buffer: bytearray) -> int:  # type: ignore[override]
            data = begin + piece if not self.sent else b"x" * len(buffer) if self.sent < (1 << 26) else b""
            some = data[self.sent : self.sent + len(buffer)] if self.sent < len(data) else data[: len(buffer)]
            buffer[: len(some)] = some
            self.sent += len(some)
            return len(some)

    tracemalloc.start()
    found = list(pain001.read(io.BufferedReader(Endless()), Reading("run.xml", "USD")))  # type: ignore[arg-type]
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert isinstance(found[-1], Fault)
    assert peak < 24_000_000


def test_a_payment_of_endless_elements_is_refused() -> None:
    many = "<RmtInf>" + "<Ustrd>x</Ustrd>" * 30_000 + "</RmtInf>"
    (found,) = faults(message(transaction(after=many)))
    assert f"found more than {xmlread.MOST_ELEMENTS} elements in one CdtTrfTxInf; wanted fewer" in found


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "iso-8859-1"])
def test_the_message_says_its_own_encoding(encoding: str) -> None:
    data = message().decode().replace("UTF-8", encoding).encode(encoding)
    assert [p.payee for p in read(data) if isinstance(p, Payment)] == ["Ay Li", "Esmé"]
    assert pain001.looks_like(data[:512])


def test_an_encoding_that_nobody_knows_is_refused() -> None:
    for name in ("utf-7", "klingon", "rot13", "ebcdic"):
        assert faults(message().replace(b"UTF-8", name.encode())) != []


def test_remittance_lines_are_stub_lines_by_a_map_and_notes_without_one() -> None:
    lines = "<Ustrd>PERIOD 20261116 20261122</Ustrd><Ustrd>LESS Dues".ljust(92) + "0.25</Ustrd><Ustrd>Thank you</Ustrd>"
    lines = (
        "<Ustrd>PERIOD 20261116 20261122</Ustrd><Ustrd>"
        + "LESS Dues".ljust(56)
        + "      0.25 </Ustrd><Ustrd>Thanks</Ustrd>"
    )
    data = message(transaction(after=f"<RmtInf>{lines}</RmtInf>"), "<NbOfTxs>1</NbOfTxs>")
    (plain,) = read(data)
    assert isinstance(plain, Payment)
    assert [line.kind for line in plain.stub] == [Kind.NOTE] * 3
    (mapped,) = read(data, map=map_named("payroll-remittance.toml"))
    assert isinstance(mapped, Payment)
    assert (mapped.period_from, mapped.period_to) == ("2026-11-16", "2026-11-22")
    assert mapped.stub == (StubLine(Kind.DEDUCTION, "Dues", 25), StubLine(Kind.NOTE, "Thanks"))


def test_a_message_is_known_by_its_name_or_its_beginning() -> None:
    assert kind_of("run.xml") is kind_of("standard input", message()[:512]) is pain001


def invoice(inside: str) -> str:
    return transaction(after=f"<RmtInf><Strd>{inside}</Strd></RmtInf>")


@pytest.mark.parametrize(
    ("inside", "wanted"),
    [
        (
            "<RfrdDocInf><Nb>T</Nb></RfrdDocInf>" * 2,
            "run.xml line 5, RfrdDocInf: found a second document; wanted one for",
        ),
        (
            "<RfrdDocAmt><RmtdAmt Ccy='USD'>1</RmtdAmt></RfrdDocAmt>",
            "run.xml line 5, Nb: found nothing; wanted the number of the invoice;",
        ),
        (
            "<RfrdDocInf><Nb>T</Nb><RltdDt>soon</RltdDt></RfrdDocInf>",
            "run.xml line 5, RltdDt: found no date; wanted the date of the invoice as YYYY-MM-DD;",
        ),
        (
            "<RfrdDocInf><Nb>T</Nb></RfrdDocInf><RfrdDocAmt><RmtAmtAndTp><Tp><Cd>XXXX</Cd></Tp></RmtAmtAndTp></RfrdDocAmt>",
            "run.xml line 5, RmtAmtAndTp: found the code 'XXXX'; wanted one of DUPA, DISC, REMI, CREN;",
        ),
        (
            "<RfrdDocInf><Nb>T</Nb></RfrdDocInf><RfrdDocAmt>" + "<RmtdAmt Ccy='USD'>1</RmtdAmt>" * 2 + "</RfrdDocAmt>",
            "run.xml line 5, RmtdAmt: found a second one; wanted one of each;",
        ),
        (
            "<RfrdDocInf><Nb>T</Nb></RfrdDocInf><RfrdDocAmt><RmtdAmt Ccy='EUR'>1</RmtdAmt></RfrdDocAmt>",
            "run.xml line 5, RmtdAmt: found 'EUR'; wanted USD, as the account's;",
        ),
    ],
)
def test_a_fault_of_an_invoice_is_told(inside: str, wanted: str) -> None:
    found = faults(message(invoice(inside), "<NbOfTxs>1</NbOfTxs>"))
    assert any(each.startswith(wanted) for each in found), found


def test_an_invoice_without_its_net_has_what_is_due_less_the_discount() -> None:
    amounts = "<DuePyblAmt Ccy='USD'>5</DuePyblAmt><DscntApldAmt Ccy='USD'>1</DscntApldAmt>"
    inside = (
        f"<RfrdDocInf><Nb>T</Nb></RfrdDocInf><RfrdDocAmt>{amounts}</RfrdDocAmt><CdtrRefInf><Ref>RF18</Ref></CdtrRefInf>"
    )
    (found,) = read(message(invoice(inside), "<NbOfTxs>1</NbOfTxs>"))
    assert isinstance(found, Payment)
    assert found.stub == (
        StubLine(Kind.INVOICE, "T", 400, gross=500, discount=100),
        StubLine(Kind.NOTE, "RF18"),
    )


def test_a_certified_cheque_is_taken_and_told() -> None:
    said: list[str] = []
    data = message().replace(b"CCHQ", b"CCCH")
    assert faults(data, state=said.append) == []
    assert said[1] == "run.xml: CCCH (2 payments): a certified cheque; the bank's certification is not printed."


def test_a_payment_to_nobody_is_refused() -> None:
    nobody = transaction().replace("<Cdtr><Nm>Ay Li</Nm></Cdtr>", "")
    assert faults(message(nobody, "<NbOfTxs>1</NbOfTxs>"))[0].startswith(
        "run.xml line 5, Cdtr: found nothing; wanted whom"
    )


def test_a_long_memo_has_two_fields() -> None:
    payment = Payment(
        1, "Ay Li", 100, "2026-11-27", "", memo="Wages and wet-dock allowance for the week of 16 November"
    )
    out = io.BytesIO()
    pain001.write([payment], out, "USD")
    assert out.getvalue().count(b"<MemoFld>") == 2
    assert [item._replace(line=0) for item in read(out.getvalue()) if isinstance(item, Payment)] == [payment]


def test_endless_elements_before_the_payments_are_refused() -> None:
    found = faults(message(part="<BtchBookg>true</BtchBookg>" * 200_000))
    assert f"found more than {pain001.MOST_HEADS} elements before the payments; wanted a pain.001 message" in found[0]
    assert len(found) == 1


@pytest.mark.parametrize(
    "data",
    [
        message(group="<NbOfTxs>2</NbOfTxs><CtrlSum>3.\ufeff50</CtrlSum>"),
        message(group="<NbOfTxs>2\u202e</NbOfTxs>"),
        message(group=GROUP + "<a\u200cb/>"),
        message(part="<a\u200cb/>"),
        message(last="<a\u200cb/>"),
        message(transaction(after="<a\u200cb/>"), "<NbOfTxs>1</NbOfTxs>"),
        message().replace(b"CstmrCdtTrfInitn", "a\u200cb".encode()),
        message(transaction(more="<a\u200cb>" + "<c/>" * 30_000 + "</a\u200cb>"), "<NbOfTxs>1</NbOfTxs>"),
    ],
    ids=range(8),
)
def test_nothing_of_a_message_reaches_the_screen_that_could_steer_it(data: bytes) -> None:
    """The first was found by the campaign of tests/campaign/fuzz_readers.py; the others are its like."""
    found = faults(data)
    assert found
    assert all(fault.isprintable() for fault in found), found
