"""What became of each payment, given back to payroll in the register's own kind of file."""

import csv
import io
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from journeys.firm import DEMO, TOTALS, Firm
from register.november import KINDS, NOVEMBER, Kind
from xsdata.formats.dataclass.parsers import XmlParser
from xsdata.formats.dataclass.parsers.config import ParserConfig

PAYDAY = "payday-2026-11-27"
CSV = Kind(".csv", "csv")
#: what happens below to the first six payments, in the register's order
WANTED = [
    ("W48-2101", "100501", "863.79", "printed", ""),
    ("W48-2104", "100524", "678.73", "printed", "100502 spoiled: torn"),
    ("W48-2107", "100503", "627.28", "voided", "voided: wrong hours"),
    ("W48-2112", "", "575.11", "pulled", "on leave"),
    ("W48-2115", "100504", "832.31", "printed", ""),
    ("W48-2118", "100525", "897.96", "printed", "100505 voided: wrong hours"),
]


def played(firm: Firm, kind: Kind, *how: str) -> None:
    """A payday with a form torn, a cheque voided and printed again, another voided, and a payment pulled."""
    path = DEMO / f"{PAYDAY}.csv" if kind.suffix == ".csv" else NOVEMBER / f"{PAYDAY}{kind.suffix}"
    by = ("--map", str(NOVEMBER / kind.payroll)) if kind.payroll else ()
    firm.run("batch", "accept", str(path), "--form", "payroll-us", *TOTALS, *by, *how)
    firm.run("batch", "pull", "1", "4", "--reason", "on leave")
    firm.print()
    firm.run("confirm", "1", "--good-count", "22", "--spoiled", "100502=torn")
    firm.print(1, 100524)
    firm.run("confirm", "1", "--good-count", "1")
    for number in ("100503", "100505"):
        firm.run("void", number, "--reason", "wrong hours", "--paper", "in-hand")
    firm.run("reprint", "100505")
    firm.print(2, 100525)
    firm.run("confirm", "2", "--good-count", "1")


@pytest.fixture(scope="module", params=[CSV, *KINDS], ids=lambda kind: kind.suffix)
def kind(request: pytest.FixtureRequest) -> Kind:
    return request.param  # type: ignore[no-any-return]


def results(firm: Firm, kind: Kind) -> list[tuple[str, ...]]:
    """Reference, number, amount, status and note of each payment, read from the file by another's reader."""
    name = f"results{kind.suffix}"
    firm.run("report", "payroll", "--batch", "1", "-o", name)
    data = (firm.folder / name).read_bytes()
    return READERS[kind.suffix](data)


def of_csv(data: bytes) -> list[tuple[str, ...]]:
    rows = list(csv.DictReader(io.StringIO(data.decode())))
    return [(r["reference"], r["number"], r["amount"], r["status"], r["note"]) for r in rows]


def of_mapped(data: bytes) -> list[tuple[str, ...]]:
    lines = csv.reader(io.StringIO(data.decode("cp1252")), delimiter=";")
    assert next(lines) == ["PAYREF", "CHQNO", "PAYDATE", "NETPAY", "status", "note"]
    found = [(r[0], r[1], r[3].replace(".", "").replace(",", "."), r[4], r[5], r[2]) for r in lines]
    assert {row[5] for row in found} == {"27.11.2026"}
    return [row[:5] for row in found]


def of_records(text: str, width: int) -> list[tuple[str, ...]]:
    records = [text[at : at + width] for at in range(0, len(text), width)]
    assert [record[0] for record in records] == ["H", *("P" * 24), "T"]
    total = sum(int(record[64:79]) for record in records[1:-1])
    assert records[-1].rstrip() == f"T{24:09d}{total:015d}"
    return [
        (r[1:36].strip(), r[36:54].strip(), f"{int(r[64:79]) / 100:.2f}", r[79:91].strip(), "-") for r in records[1:-1]
    ]


def of_report(data: bytes) -> list[tuple[str, ...]]:
    lines = data.decode("cp1252").splitlines()
    assert {line[0] for line in lines} == {" "}  # a printer's carriage control
    return of_records("".join(line[1:] for line in lines), 91)


def of_copied(data: bytes) -> list[tuple[str, ...]]:
    from register.november import map_named

    by = map_named("payroll-records.toml")
    assert by
    return of_records(data.decode(by.encoding), by.record_length)


def of_spreadsheet(data: bytes) -> list[tuple[str, ...]]:
    sheet = openpyxl.load_workbook(io.BytesIO(data))["Results"]
    head, *rows = sheet.iter_rows(values_only=True)
    assert head == ("reference", "number", "date", "amount", "status", "note")
    assert {row[2].date().isoformat() for row in rows} == {"2026-11-27"}  # type: ignore[union-attr]
    return [(str(r[0]), str(r[1] or ""), f"{r[3]:.2f}", str(r[4]), str(r[5] or "")) for r in rows]


def of_message(data: bytes) -> list[tuple[str, ...]]:
    """By the classes of pyiso20022, made from the published schema of pain.002.001.10: nothing unknown is in it."""
    from pyiso20022.pain import pain_002_001_10 as standard

    parser = XmlParser(ParserConfig(fail_on_unknown_properties=True, fail_on_unknown_attributes=True))
    report: Any = parser.from_bytes(data, standard.Document).cstmr_pmt_sts_rpt
    group = report.orgnl_grp_inf_and_sts
    assert (group.orgnl_msg_nm_id, group.orgnl_nb_of_txs) == ("pain.001.001.09", "24")
    found = []
    for part in report.orgnl_pmt_inf_and_sts:
        assert part.orgnl_pmt_inf_id == "PAYDAY-2026-11-27-1"
        for one in part.tx_inf_and_sts:
            said = "".join(one.sts_rsn_inf[0].addtl_inf).split("; ", 2)
            number = said.pop(0).removeprefix("cheque ") if said[0].startswith("cheque ") else ""
            status, note = said[0], "; ".join(said[1:])
            assert one.tx_sts == {"printed": "ACSP", "voided": "CANC", "pulled": "CANC"}[status]
            amount = one.orgnl_tx_ref.amt.instd_amt
            assert amount.ccy == "USD"
            found.append((one.orgnl_end_to_end_id, number, f"{amount.value:.2f}", status, note))
    return found


READERS = {
    ".csv": of_csv,
    ".txt": of_mapped,
    ".prn": of_report,
    ".dat": of_copied,
    ".xlsx": of_spreadsheet,
    ".xml": of_message,
}


def test_payroll_gets_back_what_became_of_each_payment(firm: Firm, kind: Kind) -> None:
    played(firm, kind)
    found = results(firm, kind)
    assert len(found) == 24
    notes = kind.kind != "fixed-width"  # records have no room for them
    assert [row if notes else row[:4] for row in found[:6]] == [row if notes else row[:4] for row in WANTED]


def test_the_results_stand_in_the_registers_order_whatever_the_order_of_printing(firm: Firm) -> None:
    path = str(DEMO / f"{PAYDAY}.csv")
    firm.run("batch", "accept", path, "--form", "payroll-us", *TOTALS, "--order", "payee")
    firm.print()
    firm.run("confirm", "1", "--good-count", "24")
    found = of_csv(firm.run("report", "payroll").out.encode())
    rows = csv.DictReader(io.StringIO(Path(path).read_text("utf-8")))
    assert [row[0] for row in found] == [row["reference"] for row in rows]
    assert sorted(row[1] for row in found) == [str(n) for n in range(100501, 100525)]
    assert [row[1] for row in found] != sorted(row[1] for row in found)


def test_nothing_in_the_results_begins_a_formula(firm: Firm) -> None:
    name = firm.write("odd.csv", "Ay Li,1.00,2026-11-27,=1+1,2112")
    firm.run("batch", "accept", name, "--form", "payroll-us", "--control-total", "1.00", "--item-count", "1")
    assert "'=1+1" in firm.run("report", "payroll").out


def test_a_register_in_another_kind_is_asked_for_by_name(paid: Firm) -> None:
    paid.run("report", "payroll", "--kind", "xlsx", "-o", "r.xlsx")
    assert len(of_spreadsheet((paid.folder / "r.xlsx").read_bytes())) == 24
    said = paid.run("report", "payroll", "--kind", "pain.001", expect=3).err
    assert "only a pain.001 message is answered by a message" in said


def test_a_copy_that_is_gone_or_altered_is_refused(firm: Firm) -> None:
    map_ = str(NOVEMBER / "payroll-remittance.toml")
    firm.run("batch", "accept", str(NOVEMBER / f"{PAYDAY}.xml"), "--form", "payroll-us", *TOTALS, "--map", map_)
    (body,) = [body for kind, body in firm.events() if kind == "batch.accepted"]
    copy = firm.folder / "book" / "registers" / body["register"]
    copy.write_bytes(copy.read_bytes() + b" ")
    assert "has not the digest that was accepted" in firm.run("report", "payroll", expect=3).err
    copy.unlink()
    assert "cannot be read" in firm.run("report", "payroll", expect=3).err
    firm.run("report", "payroll", "--kind", "csv")


def test_a_reprint_came_from_no_register(paid: Firm) -> None:
    paid.run("void", "100503", "--reason", "torn", "--paper", "in-hand")
    paid.run("reprint", "100503")
    assert "came from no register" in paid.run("report", "payroll", "--batch", "2", expect=3).err
    assert of_csv(paid.run("report", "payroll", "--batch", "1").out.encode())[2][3] == "voided"


@pytest.mark.parametrize("kind", ["csv", "fixed-width"])
def test_an_encoding_named_beside_the_register_is_that_of_the_results(firm: Firm, kind: str) -> None:
    """EBCDIC by Python's own codec, cp037."""
    if kind == "csv":
        data, by = "payee,amount,date,reference\nAda Thwaite,5.00,2026-11-27,R-1\n", ()
    else:
        data, by = "PAda Thwaite 0000005002026-11-27R-1\x85", ("--map", "records.toml")
        (firm.folder / "records.toml").write_text(
            'kind = "fixed-width"\n[[record]]\nwhat = "payment"\nwhen = [{ at = 1, is = "P" }]\n[record.fields]\n'
            'payee = { at = 2, width = 12 }\namount = { at = 14, picture = "9(7)V99" }\n'
            'date = { at = 23, pattern = "YYYY-MM-DD" }\nreference = { at = 33, width = 3 }\n',
            "utf-8",
        )
    (firm.folder / "host.txt").write_bytes(data.encode("cp037"))
    slip = ("--control-total", "5.00", "--item-count", "1")
    firm.run("batch", "accept", "host.txt", "--kind", kind, "--encoding", "cp037", *by, "--form", "payroll-us", *slip)
    firm.run("report", "payroll", "-o", "results")
    back = (firm.folder / "results").read_bytes()
    assert "waiting" in back.decode("cp037")
    assert b"waiting" not in back
