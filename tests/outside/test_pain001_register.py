"""pain.001 messages against the classes of `pyiso20022`, which are generated from the schemas of ISO 20022, both ways.

What we write is parsed by the classes (an unknown or a missing element is an error there), held to the facets that the
classes carry but do not enforce (lengths, patterns, numbers of digits, how often an element may stand), and written
again by them; what they write, we read. Messages built from the classes alone, by element names, are read too.
"""

import dataclasses
import importlib
import io
import re
import types
import typing
from decimal import Decimal
from enum import Enum
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from register.batches import batches
from register.november import map_named, payments_of
from xsdata.formats.dataclass.parsers import XmlParser
from xsdata.formats.dataclass.parsers.config import ParserConfig
from xsdata.formats.dataclass.serializers import XmlSerializer
from xsdata.models.datatype import XmlDate, XmlDateTime

from cheque.errors import Fault
from cheque.payment import Kind, Payment, StubLine
from cheque.register import Reading, maps, pain001, read_register

VERSIONS = ("03", "09", "10", "11", "12")


def classes(version: str) -> types.ModuleType:
    return importlib.import_module(f"pyiso20022.pain.pain_001_001_{version}")


def parsed(data: bytes, version: str) -> Any:
    parser = XmlParser(ParserConfig(fail_on_unknown_properties=True, fail_on_unknown_attributes=True))
    return parser.from_bytes(data, classes(version).Document)


def written(document: Any, version: str) -> bytes:
    namespace = f"urn:iso:std:iso:20022:tech:xsd:pain.001.001.{version}"
    return str(XmlSerializer().render(document, ns_map={None: namespace})).encode()


def read(data: bytes, hashed: str = "employee", by: maps.Map | None = None, **how: Any) -> list[Payment | Fault]:
    reading = Reading("message.xml", "USD", hashed, map=by, **how)
    found = list(read_register(io.BytesIO(data), reading))
    return [item._replace(line=0) if isinstance(item, Payment) else item for item in found]


def breaches(node: Any, where: str = "") -> list[str]:
    """Every facet of the schema that a tree of these classes does not keep."""
    found = []
    for part in dataclasses.fields(node):
        value, facets = getattr(node, part.name), part.metadata
        name = f"{where}/{facets.get('name', part.name)}"
        values = value if isinstance(value, list) else [] if value is None else [value]
        if len(values) > facets.get("max_occurs", 10**9) or len(values) < facets.get("min_occurs", 0):
            found.append(f"{name}: {len(values)} times")
        for each in values:
            if dataclasses.is_dataclass(each):
                found += breaches(each, name)
            elif isinstance(each, str):
                if not facets.get("min_length", 0) <= len(each) <= facets.get("max_length", 10**9):
                    found.append(f"{name}: {each!r} is {len(each)} long")
                if "pattern" in facets and not re.fullmatch(facets["pattern"], each):
                    found.append(f"{name}: {each!r}")
            elif isinstance(each, Decimal):
                digits = each.as_tuple()
                if len(digits.digits) > facets.get("total_digits", 99) or each < facets.get("min_inclusive", each):
                    found.append(f"{name}: {each}")
    return found


def choices(node: Any) -> list[str]:
    """Every choice of the schema with more than one of its elements, or none."""
    found = []
    for part in dataclasses.fields(node):
        value = getattr(node, part.name)
        for each in value if isinstance(value, list) else [value]:
            if dataclasses.is_dataclass(each) and not isinstance(each, type):
                found += choices(each)
    name = type(node).__name__
    if name.endswith("Choice"):
        made = [part for part in dataclasses.fields(node) if getattr(node, part.name)]
        found += [name] if len(made) != 1 else []
    return found


def build(cls: Any, values: Any) -> Any:
    """A tree of these classes from nested dictionaries of element names."""
    if isinstance(cls, types.UnionType) or typing.get_origin(cls) is typing.Union:
        (cls,) = [kind for kind in typing.get_args(cls) if kind is not type(None)]
    if typing.get_origin(cls) is list:
        return [build(typing.get_args(cls)[0], value) for value in (values if isinstance(values, list) else [values])]
    if isinstance(cls, type) and issubclass(cls, Enum):
        return cls(values)
    if cls is XmlDate or cls is XmlDateTime:
        return cls.from_string(values)
    if not dataclasses.is_dataclass(cls):
        return cls(values)
    if not isinstance(values, dict):
        values = {"value": values[0], "Ccy": values[1]}
    hints = typing.get_type_hints(cls)
    by_element = {part.metadata.get("name", part.name): part.name for part in dataclasses.fields(cls)}
    assert set(values) <= set(by_element), set(values) - set(by_element)
    return cls(**{by_element[name]: build(hints[by_element[name]], value) for name, value in values.items()})


def message(version: str, transaction: dict[str, Any], **part: Any) -> bytes:
    """A message of one payment, built from the classes; `part` changes the payment information block."""
    new = version != "03"
    block = {
        "PmtInfId": "P1",
        "PmtMtd": "CHK",
        "ReqdExctnDt": {"Dt": "2026-11-27"} if new else "2026-11-27",
        "Dbtr": {"Nm": "Quillmere Boatyard Company"},
        "DbtrAcct": {"Id": {"Othr": {"Id": "0042"}}},
        "DbtrAgt": {"FinInstnId": {"Nm": "Tidewrack Savings Bank"}},
        "CdtTrfTxInf": [transaction],
        **part,
    }
    group = {"MsgId": "M1", "CreDtTm": "2026-11-24T09:00:00", "NbOfTxs": "1", "InitgPty": {"Nm": "Quillmere"}}
    document = build(classes(version).Document, {"CstmrCdtTrfInitn": {"GrpHdr": group, "PmtInf": [block]}})
    assert not breaches(document)
    return written(document, version)


TRANSACTION: dict[str, Any] = {
    "PmtId": {"EndToEndId": "W48-2101"},
    "Amt": {"InstdAmt": ("863.79", "USD")},
    "ChqInstr": {"ChqTp": "CCHQ", "ChqNb": "100501", "MemoFld": ["Wages of", "week 48"]},
    "Cdtr": {
        "Nm": "Niamh O'Dunmarrow",
        "PstlAdr": {"Dept": "Joinery", "AdrLine": ["22 Slipway Lane", "Quillmere, QM 00416"]},
        "Id": {
            "PrvtId": {"Othr": [{"Id": "2101", "SchmeNm": {"Cd": "EMPL"}}, {"Id": "9921", "SchmeNm": {"Cd": "SOSE"}}]}
        },
    },
    "RmtInf": {"Ustrd": ["Yard closed 24 December to 1 January."]},
}
PAYMENT = Payment(
    *(1, "Niamh O'Dunmarrow", 86379, "2026-11-27", "W48-2101"),
    expected="100501",
    hash_value=2101,
    address=("22 Slipway Lane", "Quillmere, QM 00416"),
    employee="2101",
    identity="9921",
    department="Joinery",
    memo="Wages of week 48",
    stub=(StubLine(Kind.NOTE, "Yard closed 24 December to 1 January."),),
)


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize("register", ["payday-2026-11-27", "suppliers-2026-11"])
def test_what_we_write_keeps_the_schema_and_reads_back_from_the_classes(register: str, version: str) -> None:
    hashed = "reference" if register.startswith("suppliers") else "employee"
    by = map_named("payroll-remittance.toml")
    assert by
    payments, file = payments_of(register), io.BytesIO()
    pain001.write(payments, file, "USD", version=version, by=by, hash_column=hashed)
    document = parsed(file.getvalue(), version)
    assert breaches(document) == []
    assert choices(document) == []
    initiation = document.cstmr_cdt_trf_initn
    transactions = [each for part in initiation.pmt_inf for each in part.cdt_trf_tx_inf]
    assert initiation.grp_hdr.nb_of_txs == str(len(payments))
    assert initiation.grp_hdr.ctrl_sum == Decimal(sum(payment.amount for payment in payments)) / 100
    for payment, transaction in zip(payments, transactions, strict=True):
        assert transaction.cdtr.nm == payment.payee
        assert transaction.amt.instd_amt.value == Decimal(payment.amount) / 100
        assert (transaction.amt.instd_amt.ccy, transaction.chq_instr.chq_tp.value) == ("USD", "CCHQ")
        assert transaction.pmt_id.end_to_end_id == payment.reference
        assert tuple(transaction.cdtr.pstl_adr.adr_line) == payment.address
    assert read(written(document, version), hashed, by) == [payment._replace(line=0) for payment in payments]


LETTERS = st.characters(exclude_categories=["Cs", "Cc"], exclude_characters="\ufffe\uffff", max_codepoint=0xFFFF)


@settings(max_examples=30, deadline=None)
@given(
    batch=batches(
        letters=LETTERS, amounts=st.integers(0, 10**12), transfers=False, splits=False, kinds=(Kind.INVOICE, Kind.NOTE)
    ),
    version=st.sampled_from(VERSIONS),
)
def test_any_batch_goes_through_the_classes_unchanged(batch: list[Payment], version: str) -> None:
    batch = [payment._replace(period_from="", period_to="") for payment in batch]
    file = io.BytesIO()
    pain001.write(batch, file, "USD", version=version)
    document = parsed(file.getvalue(), version)
    assert breaches(document) == []
    assert read(written(document, version)) == batch


@pytest.mark.parametrize("version", VERSIONS)
def test_a_message_of_the_classes_is_read(version: str) -> None:
    assert read(message(version, TRANSACTION)) == [PAYMENT]


def invoice(version: str, **document: Any) -> dict[str, Any]:
    """An invoice as the version writes it: 482.10 less 9.64."""
    if version == "12":
        figures = [("DUPA", "482.10"), ("DISC", "9.64"), ("REMI", "472.46")]
        amounts: dict[str, Any] = {
            "RmtAmtAndTp": [{"Tp": {"Cd": code}, "Amt": (amount, "USD")} for code, amount in figures]
        }
        date: Any = {"Tp": {"Cd": "INDA"}, "Dt": "2026-10-28"}
    else:
        discount = ("9.64", "USD") if version == "03" else [{"Amt": ("9.64", "USD")}]
        amounts = {"DuePyblAmt": ("482.10", "USD"), "DscntApldAmt": discount, "RmtdAmt": ("472.46", "USD")}
        date = "2026-10-28"
    about = {"Tp": {"CdOrPrtry": {"Cd": "CINV"}}, "Nb": "TT-4471", "RltdDt": date, **document}
    return {"RfrdDocInf": [about], "RfrdDocAmt": amounts, "AddtlRmtInf": ["as agreed"]}


@pytest.mark.parametrize("version", VERSIONS)
def test_an_invoice_of_the_classes_is_a_stub_line(version: str) -> None:
    found = read(message(version, {**TRANSACTION, "RmtInf": {"Strd": [invoice(version)]}}))
    assert found == [
        PAYMENT._replace(
            stub=(
                StubLine(Kind.INVOICE, "TT-4471", 47246, None, "", "", "2026-10-28", 48210, 964),
                StubLine(Kind.NOTE, "as agreed"),
            )
        )
    ]


@pytest.mark.parametrize("version", VERSIONS)
def test_a_credit_note_of_the_classes_takes_off(version: str) -> None:
    credit = invoice(version, Tp={"CdOrPrtry": {"Cd": "CREN"}})
    (found,) = read(message(version, {**TRANSACTION, "RmtInf": {"Strd": [credit]}}))
    assert isinstance(found, Payment)
    assert found.stub[0][2:] == (-47246, None, "", "", "2026-10-28", -48210, -964)


@pytest.mark.parametrize("version", VERSIONS[1:])
def test_a_date_may_be_a_time(version: str) -> None:
    (found,) = read(message(version, TRANSACTION, ReqdExctnDt={"DtTm": "2026-11-27T10:00:00+01:00"}))
    assert found == PAYMENT


def changed(path: str, value: Any) -> dict[str, Any]:
    """The transaction with one element changed: "ChqInstr/ChqTp"."""
    names = path.split("/")
    done = {**TRANSACTION}
    place = done
    for name in names[:-1]:
        place[name] = {**place.get(name, {})}
        place = place[name]
    if value is None:
        place.pop(names[-1], None)
    else:
        place[names[-1]] = value
    return done


REFUSED = [
    ("ChqInstr/ChqTp", "BCHQ", "a bank cheque (BCHQ), which the bank draws"),
    ("ChqInstr/ChqTp", "DRFT", "a draft (DRFT), which the bank draws"),
    ("ChqInstr/ChqTp", "ELDR", "an electronic draft (ELDR), which the bank draws"),
    ("ChqInstr/ChqTp", None, "no cheque type"),
    ("ChqInstr", None, "no cheque type"),
    ("Amt/InstdAmt", ("863.79", "EUR"), "'EUR'"),
    ("Amt/InstdAmt", ("863.795", "USD"), "'863.795'"),
    ("Amt", {"EqvtAmt": {"Amt": ("863.79", "EUR"), "CcyOfTrf": "USD"}}, "EqvtAmt"),
    ("CdtrAcct", {"Id": {"Othr": {"Id": "77"}}}, "CdtrAcct"),
    ("CdtrAgt", {"FinInstnId": {"Nm": "Other Bank"}}, "CdtrAgt"),
    ("UltmtCdtr", {"Nm": "Somebody Else"}, "UltmtCdtr"),
    ("Tax", {"RefNb": "T1"}, "Tax"),
    ("Cdtr/Nm", None, ""),
    ("ChqInstr/ChqMtrtyDt", "2026-12-27", "'2026-12-27'"),
]


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize(("path", "value", "named"), REFUSED)
def test_what_is_no_cheque_of_ours_is_refused_by_name(path: str, value: Any, named: str, version: str) -> None:
    found = read(message(version, changed(path, value)))
    if path == "Cdtr/Nm":  # told by the judge, whatever the kind of register
        assert isinstance(found[0], Payment)
        assert found[0].payee == ""
        return
    assert all(isinstance(item, Fault) for item in found)
    assert any(named in str(item) for item in found), [str(item) for item in found]


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize(("method", "named"), [("TRF", "a transfer (TRF)"), ("TRA", "a transfer with advice (TRA)")])
def test_a_transfer_is_refused_by_name(method: str, named: str, version: str) -> None:
    found = read(message(version, TRANSACTION, PmtMtd=method))
    assert any(isinstance(item, Fault) and named in str(item) for item in found)


@pytest.mark.parametrize("version", VERSIONS)
def test_what_is_known_to_change_nothing_can_be_ignored_by_name(version: str) -> None:
    data = message(version, changed("CdtrAgt", {"FinInstnId": {"Nm": "Other Bank"}}))
    assert read(data, ignore=("CdtrAgt",)) == [PAYMENT]


@pytest.mark.parametrize("version", VERSIONS)
def test_instructions_to_the_bank_are_told(version: str) -> None:
    cheque = {**TRANSACTION["ChqInstr"], "DlvryMtd": {"Cd": "MLCD"}, "PrtLctn": "main"}
    said: list[str] = []
    assert read(message(version, {**TRANSACTION, "ChqInstr": cheque}), state=said.append) == [PAYMENT]
    assert sorted(said[1:]) == [
        "message.xml: DlvryMtd (1 payment): an instruction to a bank, not followed here.",
        "message.xml: PrtLctn (1 payment): an instruction to a bank, not followed here.",
    ]


STRUCTURED = {"StrtNm": "Slipway Lane", "BldgNb": "22", "PstCd": "00416", "TwnNm": "Quillmere", "CtrySubDvsn": "QM"}


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize(
    ("country", "lines"),
    [
        ("US", ("22 Slipway Lane", "Quillmere, QM 00416")),
        ("GB", ("22 Slipway Lane", "Quillmere", "QM", "00416")),
        ("DE", ("Slipway Lane 22", "00416 Quillmere", "QM")),
    ],
)
def test_an_address_in_parts_is_put_together_as_the_country_writes_it(
    country: str, lines: tuple[str, ...], version: str
) -> None:
    postal = {**STRUCTURED, "Ctry": country}
    data = message(version, changed("Cdtr/PstlAdr", postal), Dbtr={"Nm": "Q", "PstlAdr": {"Ctry": country}})
    (found,) = read(data)
    assert isinstance(found, Payment)
    assert found.address == lines
    (abroad,) = read(message(version, changed("Cdtr/PstlAdr", {**postal, "CtrySubDvsn": "QM"})))
    if isinstance(abroad, Payment):
        assert abroad.address == (*lines, country)
    else:
        assert "5 lines" in str(abroad)
