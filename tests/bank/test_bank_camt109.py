"""camt.109 (version 02), read: made by the classes of `python-iso20022`; hostile and broken ones are refused whole."""

import io
from decimal import Decimal

import pytest
from python_iso20022.camt.camt_109_001_02 import Camt10900102, models
from xsdata.formats.dataclass.serializers import XmlSerializer
from xsdata.models.datatype import XmlDate, XmlDateTime

from cheque.bank import camt109
from cheque.errors import InputRefused


def message(*cheques: tuple[str, str, str], count: int | None = None) -> bytes:
    """An answer by the standard's classes, of cheques as (number, amount, status)."""
    m = models
    made = [
        m.Cheque18Camt10900102(
            chq_nb=number,
            isse_dt=XmlDate(2026, 11, 27),
            amt=m.ActiveCurrencyAndAmountCamt10900102(value=Decimal(amount), ccy="USD"),
            drwr_agt_acct=m.CashAccount40Camt10900102(
                id=m.AccountIdentification4ChoiceCamt10900102(
                    othr=m.GenericAccountIdentification1Camt10900102(id="000417293355")
                )
            ),
            chq_cxl_or_stop_sts=m.ChequeCancellationStatus1Camt10900102(
                sts=m.ChequeCancellationStatus1ChoiceCamt10900102(cd=status), addtl_inf="as asked"
            ),
        )
        for number, amount, status in cheques
    ]
    head = m.GroupHeader103Camt10900102(
        msg_id="TSB-77",
        cre_dt_tm=XmlDateTime.from_string("2026-11-24T10:00:00Z"),
        nb_of_chqs=str(len(made) if count is None else count),
    )
    whole = Camt10900102(m.ChequeCancellationOrStopReportV02Camt10900102(grp_hdr=head, chq=made))
    # the classes name the root after themselves; the standard calls it Document
    return XmlSerializer().render(whole).replace("Camt10900102", "Document").encode()


def read(data: bytes) -> tuple[camt109.Header, list[camt109.Answer]]:
    return camt109.read(io.BytesIO(data), "answer.xml")


def test_what_the_bank_says_of_each_cheque_is_read() -> None:
    header, answers = read(message(("000501", "812.40", "ACCR"), ("000502", "1.5", "RJCR"), ("000503", "7", "PDNG")))
    assert header == ("TSB-77", "2026-11-24", 3)
    assert [(a.number, a.amount, a.currency, a.status) for a in answers] == [
        ("000501", 81240, "USD", "accepted"), ("000502", 150, "USD", "rejected"), ("000503", 700, "USD", "PDNG"),
    ]  # fmt: skip
    assert (answers[0].date, answers[0].account, answers[0].told) == ("2026-11-27", "000417293355", "as asked")


def test_a_count_that_does_not_agree_refuses_the_whole() -> None:
    with pytest.raises(InputRefused, match="found 1 cheques; wanted 2, as its NbOfChqs says"):
        read(message(("000501", "812.40", "ACCR"), count=2))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (b"812.40", b"812.405", "an exact amount"),
        (b"812.40", b"a lot", "an exact amount"),
        (b'Ccy="USD"', b'Ccy="XXQ"', "an exact amount"),
        (b"2026-11-27", b"2026-13-27", "a day"),
        (b"2026-11-24T10", b"2026-31-24T10", "a day and time"),
        (b"000501", b"", "a cheque number"),
        (b"ACCR", b"", "one of Cd and Prtry"),
        (b"camt.109", b"camt.108", "wanted urn:iso:std:iso:20022:tech:xsd:camt.109.001.02"),
    ],
)
def test_a_broken_answer_is_refused_whole(old: bytes, new: bytes, said: str) -> None:
    data = message(("000501", "812.40", "ACCR"))
    assert old in data
    with pytest.raises(InputRefused) as refused:
        read(data.replace(old, new))
    assert said in str(refused.value)


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"not xml",
        message(("000501", "812.40", "ACCR"))[:-30],
        b'<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><Document>&b;</Document>',
        b'<!DOCTYPE x SYSTEM "file:///etc/passwd"><Document/>',
        b"<a>" * 100_000,
        b"<Document " + b"x" * 2_000_000,
    ],
)
def test_a_hostile_answer_is_refused(data: bytes) -> None:
    with pytest.raises(InputRefused):
        read(data)
