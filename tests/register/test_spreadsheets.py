"""Spreadsheets as files: what may be in one, what cannot get in, and faults with rows and columns."""

import io
import struct
import tracemalloc
import zipfile

import pytest

from cheque.errors import Fault
from cheque.payment import Payment
from cheque.register import Reading, kind_of, maps, xlsxfile, xlsxparts
from cheque.register.xlsxwrite import write

GOOD = Payment(1, "Ay Li", 81240, "2026-11-27", "R1", hash_value=2112, employee="2112")
SHEET = "xl/worksheets/sheet1.xml"


def made(*payments: Payment, **how: object) -> bytes:
    out = io.BytesIO()
    write(payments or [GOOD], out, "USD", **how)  # type: ignore[arg-type]
    return out.getvalue()


def changed(parts: dict[str, bytes | None], base: bytes | None = None, method: int = zipfile.ZIP_DEFLATED) -> bytes:
    """A spreadsheet with parts changed, added or (None) taken out."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(base or made())) as had, zipfile.ZipFile(out, "w", method) as new:
        every: dict[str, bytes | None] = {info.filename: had.read(info) for info in had.infolist()}
        for name, data in {**every, **parts}.items():
            if data is not None:
                new.writestr(name, data)
    return out.getvalue()


def sheet(rows: str) -> bytes:
    """A sheet of these rows, in the file's own XML."""
    namespace = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    return f'<worksheet xmlns="{namespace}"><sheetData>{rows}</sheetData></worksheet>'.encode()


HEADER = "<row>" + "".join(f'<c t="inlineStr"><is><t>{n}</t></is></c>' for n in ("payee", "amount", "date")) + "</row>"


def row(*cells: str) -> str:
    return f"<row>{''.join(cells)}</row>"


PAYEE, DATE = '<c t="str"><v>Ay Li</v></c>', '<c t="d"><v>2026-11-27</v></c>'


def read(data: bytes, **how: object) -> list[Payment | Fault]:
    reading = Reading("run.xlsx", "USD")._replace(**how)
    return list(xlsxfile.read(io.BytesIO(data), reading))


def faults(data: bytes, **how: object) -> list[str]:
    return [str(item) for item in read(data, **how) if isinstance(item, Fault)]


def test_a_spreadsheet_becomes_payments_named_by_their_rows() -> None:
    assert read(made()) == [GOOD._replace(line=2)]


def test_the_same_payments_are_the_same_bytes() -> None:
    assert made() == made()


@pytest.mark.parametrize(
    ("cells", "message"),
    [
        ((PAYEE, "<c><v>1.005</v></c>", DATE), "row 2, amount (column B): found 1.005; wanted an exact USD amount,"),
        ((PAYEE, '<c t="str"><v>1,00</v></c>', DATE), "line 2, amount: found '1,00'; wanted an exact USD amount"),
        ((PAYEE, '<c t="b"><v>1</v></c>', DATE), "row 2, amount (column B): found the truth value TRUE; wanted an"),
        ((PAYEE, '<c t="e"><v>#REF!</v></c>', DATE), "row 2, amount (column B): found the error '#REF!'; wanted an"),
        ((PAYEE, "<c><v>1..0</v></c>", DATE), "row 2, amount (column B): found the error '1..0'; wanted an exact"),
        ((PAYEE, "<c><f>A1</f></c>", DATE), "row 2, amount (column B): found a formula with no value stored beside"),
        ((PAYEE, '<c t="s"><v>7</v></c>', DATE), "row 2, amount (column B): found a text that is not in the file;"),
        ((PAYEE, "<c><v>1</v></c>", "<c><v>46353</v></c>"), "row 2, date (column C): found the number 46353; wanted"),
        ((PAYEE, "<c><v>1</v></c>", '<c t="d"><v>27.11.2026</v></c>'), "row 2, date (column C): found '27.11.2026';"),
        (('<c t="b"><v>0</v></c>', "<c><v>1</v></c>", DATE), "row 2, payee (column A): found the truth value FALSE;"),
        ((PAYEE, "<c><v>1</v></c>", DATE, PAYEE), "row 2: found something in column D; wanted 3 columns, as in the"),
        (('<c r="B2"><v>1</v></c>', '<c r="A2"><v>1</v></c>'), "row 2: found a cell 'A2' out of order; wanted cells"),
        (('<c r="ZZZ2"><v>1</v></c>',), "row 2: found a cell 'ZZZ2' beyond column 2000; wanted cells in their places;"),
        (('<c r="2A"><v>1</v></c>',), "row 2: found a cell '2A' out of order; wanted cells in their places;"),
    ],
)  # fmt: skip
def test_a_fault_of_a_cell_is_told_with_row_and_column(cells: tuple[str, ...], message: str) -> None:
    (found,) = faults(changed({SHEET: sheet(HEADER + row(*cells))}))
    assert found.startswith(f"run.xlsx {message}"), found


def test_rows_go_up() -> None:
    rows = HEADER.replace("<row>", '<row r="5">') + row(PAYEE, "<c><v>1</v></c>", DATE).replace("<row>", '<row r="5">')
    assert faults(changed({SHEET: sheet(rows)})) == [
        "run.xlsx row 5: found a row after row 5; wanted rows in their order; save the file again."
    ]


def test_empty_rows_and_cells_are_passed_over() -> None:
    empty = '<row r="9"><c r="A9" s="1"/><c r="D9"/></row>'
    last = row(PAYEE, "<c><v>1</v></c>", DATE).replace("<row>", '<row r="12">')
    (found,) = read(changed({SHEET: sheet(HEADER + empty + last)}))
    assert isinstance(found, Payment)
    assert (found.item, found.line) == (1, 12)


def test_a_map_says_what_the_columns_are_called_and_how_texts_are_written() -> None:
    by = maps.load(
        'kind = "xlsx"\nskip_lines = 1\ndecimal_mark = ","\ndate = "DD.MM.YYYY"\n'
        '[columns]\npayee = "Name"\namount = "Netto"\ndate = "Datum"\n[always]\nmemo = "Wages"',
        "map.toml",
    )
    titles = "".join(f'<c t="str"><v>{title}</v></c>' for title in ("Name", "Netto", "Datum"))
    rows = row('<c t="str"><v>PAYROLL</v></c>') + row(titles)
    rows += row(PAYEE, '<c t="str"><v>1,50</v></c>', '<c t="str"><v>27.11.2026</v></c>')
    rows += row(PAYEE, "<c><v>2.5</v></c>", DATE)
    found = read(changed({SHEET: sheet(rows)}), map=by)
    assert [(p.amount, p.date, p.memo) for p in found if isinstance(p, Payment)] == [
        (150, "2026-11-27", "Wages"),
        (250, "2026-11-27", "Wages"),
    ]
    bad = row(titles.replace("Netto", "Brutto"))
    assert faults(changed({SHEET: sheet(row(PAYEE) + bad)}), map=by)[0] == (
        "run.xlsx row 2, header: found no column 'Netto'; wanted the one that map.toml maps to amount; correct either."
    )


def test_text_that_xml_cannot_hold_is_escaped_both_ways() -> None:
    payment = GOOD._replace(payee="A_x0041_", memo="a\x07b")
    assert read(made(payment)) == [payment._replace(line=2)]


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "found no zip file, or a damaged one; wanted a spreadsheet (.xlsx); save it again as .xlsx."),
        (b"PK\x03\x04" + b"x" * 99, "found no zip file, or a damaged one;"),
        (b"\xd0\xcf\x11\xe0" + b"\0" * 600, "found an older spreadsheet (.xls), or one locked by a password;"),
        (changed({"_rels/.rels": None}), "found a zip file that holds no workbook;"),
        (changed({"xl/workbook.xml": None}), "found no part 'xl/workbook.xml';"),
        (changed({SHEET: None}), "found no part 'xl/worksheets/sheet1.xml';"),
        (changed({"xl/workbook.xml": b"<!DOCTYPE x><workbook/>"}), "found a part 'xl/workbook.xml' with a document"),
        (changed({"xl/workbook.xml": b"<workbook/>"}), "found no sheet; wanted one at least."),
        (changed({}, method=zipfile.ZIP_BZIP2), "found a part '_rels/.rels' packed in an unusual way;"),
        (changed({}, method=zipfile.ZIP_LZMA), "found a part '_rels/.rels' packed in an unusual way;"),
        (made()[:-40], "found no zip file, or a damaged one;"),
    ],
)  # fmt: skip
def test_what_is_no_spreadsheet_is_refused(data: bytes, message: str) -> None:
    (found,) = faults(data)
    assert found.startswith(f"run.xlsx: {message}"), found


def test_a_damaged_part_is_refused() -> None:
    data = bytearray(made())
    at = data.index(b"xl/worksheets/sheet1.xml") + 120
    data[at : at + 20] = b"\xff" * 20
    assert any("damaged part" in fault for fault in faults(bytes(data)))


def test_a_part_locked_by_a_password_is_refused() -> None:
    data = made()
    at = data.rindex(b"PK\x01\x02", 0, data.rindex(b"xl/styles.xml"))
    flags = struct.unpack("<H", data[at + 8 : at + 10])[0] | 1
    locked = data[: at + 8] + struct.pack("<H", flags) + data[at + 10 :]
    assert "found a file locked by a password" in faults(locked)[0]


def test_a_small_file_that_unpacks_to_an_endless_one_takes_no_memory() -> None:
    bomb = sheet(HEADER + '<row><c t="str"><v>' + "x" * (1 << 25) + "</v></c></row>")
    data = changed({SHEET: bomb})
    assert len(data) < 100_000
    tracemalloc.start()
    (found,) = faults(data)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert "found" in found
    assert peak < 16_000_000


def test_a_file_of_many_equal_rows_that_packs_too_well_is_refused() -> None:
    rows = HEADER + row(PAYEE, "<c><v>1</v></c>", DATE) * 400_000
    data = changed({SHEET: sheet(rows)})
    found = faults(data)
    assert "found a part 'xl/worksheets/sheet1.xml' that unpacks to far more than it should" in found[-1]


def test_a_list_of_endless_parts_is_refused_before_it_is_read() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as file:
        for number in range(xlsxparts.MOST_PARTS + 1):
            file.writestr(f"{number}", b"")
    (found,) = faults(out.getvalue())
    assert found.startswith(f"run.xlsx: found a list of {xlsxparts.MOST_PARTS + 1} parts; wanted at most")


def test_a_list_that_is_longer_than_it_says_is_refused() -> None:
    data = bytearray(made())
    at = data.rindex(b"PK\x05\x06")
    data[at + 12 : at + 16] = struct.pack("<L", 1 << 31)
    assert faults(bytes(data))[0].startswith("run.xlsx: found a list of ")


def test_shared_texts_are_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(xlsxparts, "MOST_SHARED", 1_000)
    relations = (
        b'<Relationships xmlns="p"><Relationship Id="rId1" Type="t/worksheet" Target="worksheets/sheet1.xml"/>'
        b'<Relationship Id="rId3" Type="t/sharedStrings" Target="/xl/sharedStrings.xml"/></Relationships>'
    )
    many = b'<sst xmlns="m">' + b"<si><t>some text</t></si>" * 200 + b"</sst>"
    (found,) = faults(changed({"xl/_rels/workbook.xml.rels": relations, "xl/sharedStrings.xml": many}))
    assert found == "run.xlsx: found more than 1000 bytes of text; wanted a smaller file; divide the register."


def test_a_relation_that_leads_out_of_the_file_is_not_followed() -> None:
    outside = (
        b'<Relationships xmlns="p"><Relationship Id="rId1" TargetMode="External" Type="t/worksheet" '
        b'Target="file:///etc/passwd"/></Relationships>'
    )
    (found,) = faults(changed({"xl/_rels/workbook.xml.rels": outside}))
    assert found.startswith("run.xlsx: found no part ''")


def test_a_spreadsheet_is_known_by_its_name_or_its_beginning() -> None:
    assert kind_of("run.xlsx") is kind_of("standard input", made()[:512]) is xlsxfile


def test_a_spreadsheet_without_a_header_has_its_columns_by_place() -> None:
    by = maps.load('kind = "xlsx"\nheader = false\n[columns]\npayee = 1\namount = 2\ndate = 3', "map.toml")
    found = read(changed({SHEET: sheet(row(PAYEE, "<c><v>1</v></c>", DATE) * 2)}), map=by)
    assert [(p.payee, p.line) for p in found if isinstance(p, Payment)] == [("Ay Li", 1), ("Ay Li", 2)]
    out = io.BytesIO()
    write([Payment(1, "Ay Li", 100, "2026-11-27", "")], out, "USD", by=by)
    assert len(read(out.getvalue(), map=by)) == 1


def test_the_longer_list_of_parts_of_a_large_archive_is_looked_at_too() -> None:
    """A zip64 record and its locator (APPNOTE 4.3.14, 4.3.15, from memory), saying that there are endless parts."""
    data = made()
    at = data.rindex(b"PK\x05\x06")
    for parts, wanted in ((6, ""), (1 << 40, f"found a list of {1 << 40} parts")):
        directory = struct.unpack("<LL", data[at + 12 : at + 20])
        record = b"PK\x06\x06" + struct.pack("<QHHLLQQQQ", 44, 45, 45, 0, 0, parts, parts, *directory)
        locator = b"PK\x06\x07" + struct.pack("<LQL", 0, at, 1)
        found = faults(data[:at] + record + locator + data[at:])
        assert wanted in "".join(found)
        assert bool(found) == bool(wanted)


def test_a_formula_of_text_is_read_by_its_stored_text() -> None:
    said: list[str] = []
    cell = '<c t="str"><f>A1&amp;B1</f><v>Ay Li</v></c>'
    assert len(read(changed({SHEET: sheet(HEADER + row(cell, "<c><v>1</v></c>", DATE))}), state=said.append)) == 1
    assert "1 cell is a formula" in said[-1]


def test_one_bad_cell_of_the_summed_column_is_one_fault() -> None:
    header = HEADER.replace("</row>", '<c t="str"><v>employee</v></c></row>')
    cells = row(PAYEE, "<c><v>1</v></c>", DATE, '<c t="b"><v>1</v></c>')
    assert len(faults(changed({SHEET: sheet(header + cells)}))) == 1


@pytest.mark.parametrize(
    ("name", "part", "what"),
    [
        (
            "xl/workbook.xml",
            b'<workbook xmlns="m"><sheets>' + b'<sheet name="a"/>' * 3_000 + b"</sheets></workbook>",
            "sheets",
        ),
        (
            "xl/_rels/workbook.xml.rels",
            b"<Relationships>%s</Relationships>" % b"".join(b'<Relationship Id="%d"/>' % n for n in range(3_000)),
            "relations",
        ),
    ],
    ids=["sheets", "relations"],
)
def test_endless_sheets_or_relations_are_refused(name: str, part: bytes, what: str) -> None:
    (found,) = faults(changed({name: part}))
    assert f"found more than {xlsxparts.MOST_PARTS} {what}; wanted an ordinary spreadsheet" in found


def test_nothing_of_a_spreadsheet_reaches_the_screen_that_could_steer_it() -> None:
    relations = '<Relationships xmlns="p"><Relationship Id="rId1" Type="t/worksheet" Target="\u202e"/></Relationships>'
    files = [
        changed({"xl/_rels/workbook.xml.rels": relations.encode()}),
        changed({SHEET: sheet(HEADER + row(PAYEE, "<c><v>1</v></c>", DATE).replace("<row>", '<row r="\u202e">'))}),
        changed({SHEET: sheet(HEADER + row('<c r="\u202e"><v>1</v></c>'))}),
        changed({SHEET: sheet(HEADER + row(PAYEE, '<c t="e"><v>\u202e</v></c>', DATE))}),
    ]
    for data in files:
        found = faults(data)
        assert found
        assert all(fault.isprintable() for fault in found), found
