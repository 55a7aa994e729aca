"""Reports of records: what begins and ends what, what is passed over by rule, and every fault with its line."""

import io
import tracemalloc

import pytest

from cheque.errors import Fault
from cheque.payment import Payment, StubLine
from cheque.register import LineFault, Reading, fixedwidth, maps
from cheque.register.assembly import MOST_STUB_LINES

MAP = """
kind = "fixed-width"
encoding = "cp1252"
{head}
[[record]]
what = "skip"
when = [{{ contains = "PAYEE" }}]
[[record]]
what = "header"
when = [{{ at = 1, is = "H" }}]
fields.date = {{ at = 2, pattern = "YYYYMMDD" }}
fields.total = {{ at = 11, picture = "ZZ9.99" }}
{header}
[[record]]
what = "payment"
when = [{{ at = 1, is = "P" }}]
fields.payee = {{ at = 2, width = 8 }}
fields.amount = {{ at = 10, picture = "ZZ9.99-" }}
fields.employee = {{ at = 18, picture = "9(4)" }}
fields.address1 = {{ at = 23, width = 9 }}
[[record]]
what = "stub"
when = [{{ at = 1, is = "D" }}, {{ at = 10, width = 6, has = "something" }}]
fields.deduction1 = {{ at = 2, width = 8 }}
fields.deduction1_amount = {{ at = 10, width = 6 }}
fields.memo = {{ at = 17, width = 4 }}
fields.address1 = {{ at = 22, width = 9 }}
[[record]]
what = "trailer"
when = [{{ at = 1, is = "T" }}]
fields.item_count = {{ at = 2, width = 4 }}
fields.total = {{ at = 7, picture = "ZZ9.99-" }}
fields.hash_total = {{ at = 15, picture = "9(5)" }}
fields.record_count = {{ at = 21, width = 3 }}
{trailer}
"""
H = "H20261127"
P = "PAy Li     1.00  2112"
Q = "PEsmé      2.50  2140 7 Tar St"
D = "DDues      0.25 wage Flat 2"
T = "T   2   3.50  04252   3"
GOOD = [H, P, Q, D, T]


def by(head: str = "", header: str = "", trailer: str = "") -> maps.Map:
    return maps.load(MAP.format(head=head, header=header, trailer=trailer), "map.toml")


def read(lines: list[str] | bytes, using: maps.Map | None = None, **how: object) -> list[Payment | Fault]:
    data = lines if isinstance(lines, bytes) else "".join(f"{line}\n" for line in lines).encode("cp1252")
    reading = Reading("run.prn", "USD", map=using or by())._replace(**how)
    return list(fixedwidth.read(io.BytesIO(data), reading))  # type: ignore[arg-type]


def faults(lines: list[str] | bytes, using: maps.Map | None = None, **how: object) -> list[str]:
    return [str(item) for item in read(lines, using, **how) if isinstance(item, Fault)]


def test_a_report_becomes_payments() -> None:
    assert read(GOOD) == [
        Payment(1, "Ay Li", 100, "2026-11-27", "", hash_value=2112, employee="2112", line=2),
        Payment(
            *(2, "Esmé", 250, "2026-11-27", ""),
            hash_value=2140,
            address=("7 Tar St", "Flat 2"),
            employee="2140",
            memo="wage",
            stub=(StubLine(kind="deduction", text="Dues", amount=25),),  # type: ignore[arg-type]
            line=3,
        ),
    ]


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("last", ["", "\x1a"])
def test_lines_end_as_they_do_and_blank_ones_are_passed_over(end: str, last: str) -> None:
    text = end.join(["", H, "", P, Q, D, T, "   ", ""]) + last
    assert [item._replace(line=0) for item in read(text.encode("cp1252")) if isinstance(item, Payment)] == [
        item._replace(line=0) for item in read(GOOD) if isinstance(item, Payment)
    ]
    assert faults(text.encode("cp1252")) == []


def test_headings_of_every_page_and_titles_are_passed_over_and_counted() -> None:
    said: list[str] = []
    pages = ["QUILLMERE", "PAGE 1", H, "PAYEE", P, "\fQUILLMERE", "PAGE 2", "PAYEE", Q, D, "\f", "Q", "P 3", T]
    found = read(pages, by("page_heading_lines = 2"), state=said.append)
    assert [item.payee for item in found if isinstance(item, Payment)] == ["Ay Li", "Esmé"]
    assert len(found) == 2
    assert said[1] == "run.prn: 8 lines were passed over by the rules of map.toml."


def test_a_form_feed_may_end_the_line_before() -> None:
    pages = ["QUILLMERE", H, P + "\f", "QUILLMERE", Q, D, T]
    assert faults(pages, by("page_heading_lines = 1")) == []


def test_carriage_control_tells_the_pages_and_is_taken_off() -> None:
    asa = ["1QUILLMERE", f" {H}", f"0{P}", "1QUILLMERE", f"-{Q}", f" {D}", f" {T}", ""]
    head = 'carriage_control = "asa"\npage_heading_lines = 1'
    assert len(read(asa, by(head))) == 2
    assert faults(asa, by(head)) == []
    assert faults([*asa[:2], f"7{P}"], by(head, trailer="required = false")) == [
        "run.prn line 3, position 1: found '7' for carriage control; wanted a blank, 0, -, + or 1; correct the file, "
        "or carriage_control in the map."
    ]


def test_a_line_struck_twice_or_underlined_counts_once() -> None:
    head = 'carriage_control = "asa"'
    asa = [f" {H}", f" {P}", f"+{P}", "+ _____", f" {Q}", f" {D}", f" {T}"]
    assert faults(asa, by(head)) == []
    assert faults([*asa[:2], "+PAy Lo     1.00  2112", *asa[4:]], by(head)) == [
        "run.prn line 3: found a line printed over another; wanted the same text again, or a line under it; look at "
        "the file."
    ]
    assert faults([H, f"{P}\r{P}\r ____", Q, D, T]) == []
    assert len(faults([H, f"{P}\rPX", Q, D, T])) == 1


@pytest.mark.parametrize(
    ("lines", "message"),
    [
        (
            [H, P, "X", Q, D, T],
            "run.prn line 3: found a record that is none of those of the map; wanted one of them; add a [[record]] for "
            "it to the map, to be read or skipped.",
        ),
        (
            [H, D, P, Q, D, T],
            "run.prn line 2: found what goes on with a payment, before any; wanted a payment first; look whether the "
            "file is damaged.",
        ),
        (
            [H, P, Q, D, "T   3   3.50  04252   3"],
            "run.prn line 5, item_count: found 3; wanted 2, by the records it covers; ask who made the file; it may "
            "be cut short or changed.",
        ),
        (
            [H, P, Q, D, "T   2   3.05  04252   3"],
            "run.prn line 5, total: found 3.05; wanted 3.50, by the records it covers; ask who made the file; it may "
            "be cut short or changed.",
        ),
        (
            [H, P, Q, D, "T   2   3.50  04253   3"],
            "run.prn line 5, hash_total: found 4253; wanted 4252, by the records it covers; ask who made the file; it "
            "may be cut short or changed.",
        ),
        (
            [H, P, Q, D, "T   2   3.50  04252   4"],
            "run.prn line 5, record_count: found 4; wanted 3, by the records it covers; ask who made the file; it may "
            "be cut short or changed.",
        ),
        (
            [f"{H}   3.05", P, Q, D, T],
            "run.prn line 1, total: found 3.05; wanted 3.50, by the records it covers; ask who made the file; it may "
            "be cut short or changed.",
        ),
        (
            [H, P, Q, D],
            "run.prn: found no trailer at its end; wanted one, as the map says; look whether the file is cut short.",
        ),
        (
            [P, Q, D, T],
            "run.prn: found no header; wanted one, as the map says; look whether its beginning is lost.",
        ),
        (
            [H, P, H, Q, D, "T   1   2.50  02140   2"],
            "run.prn line 3: found a header, and no trailer for what was begun on line 1; wanted a trailer first; look "
            "whether records are lost.",
        ),
        (
            [H, P, Q, D, "DFees      0.10 tips", T.replace("  3", "  4")],
            "run.prn line 5, memo: found a second memo; wanted one of a payment; take one out.",
        ),
        (
            [H, P, "PEsmé      2,50  2140 7 Tar St", D, T],
            "run.prn line 3, amount: found '  2,50 ' at positions 10 to 16; wanted ZZ9.99-, "
            "as the map says; correct it, or the map.",
        ),
        (
            [H, P, "PEsmé      2.50  214A 7 Tar St", D, T],
            "run.prn line 3, employee: found '214A' at positions 18 to 21; wanted 9(4), "
            "as the map says; correct it, or the map.",
        ),
        (
            ["H20261131", P, Q, D, T],
            "run.prn line 1, date: found '20261131'; wanted a real date as YYYYMMDD, such as 20261127; correct it, or "
            "the pattern in the map.",
        ),
        (
            [H, P, Q, "DDues     0.2.5 wage Flat 2", T],
            "run.prn line 4, deduction1_amount: found '0.2.5'; wanted an exact USD amount such as 1234.56; correct it, "
            "or the marks in the map.",
        ),
        (
            [H, P, Q, *(f"DDues      0.01      Lane {n:4}" for n in range(5)), "T   2   3.50  04252   7"],
            "run.prn line 7, address1: found another line of the address; wanted at most 4 lines of an address; "
            "shorten it.",
        ),
    ],
)
def test_a_fault_of_a_report_is_told_with_its_line(lines: list[str], message: str) -> None:
    found = faults(lines)
    assert found[0] == message, found


def test_one_bad_field_is_one_fault_and_the_rest_of_the_payment_is_still_judged() -> None:
    found = [item for item in read([H, P, "P  Esmé    x.50  2140", D, T]) if isinstance(item, Fault)]
    (bad,) = found
    assert isinstance(bad, LineFault)
    assert bad.rest
    assert (bad.rest.payee, bad.rest.memo, bad.rest.date) == ("Esmé", "wage", "2026-11-27")


def test_several_batches_are_each_held_against_their_own_trailer_and_the_file_against_its_own() -> None:
    whole = '[[record]]\nwhat = "trailer"\ncovers = "file"\nwhen = [{ at = 1, is = "Z" }]\nfields.item_count = '
    using = by(trailer=whole + "{ at = 2, width = 4 }")
    one, two = [H, P, "T   1   1.00  02112   1"], [H, Q, D, "T   1   2.50  02140   2"]
    assert faults([*one, *two, "Z   2"], using) == []
    assert faults([*one, *two, "Z   1"], using)[0].startswith("run.prn line 8, item_count: found 1; wanted 2")
    assert faults([*one, *two], using)[0].startswith("run.prn: found no trailer at its end")
    late = faults([*one, "Z   1", *two], using)
    assert late[0].startswith("run.prn line 6: found a payment after the trailer of line 4; wanted the trailer last")


def test_a_header_may_be_missing_where_the_map_says_so() -> None:
    assert faults([P, Q, D, T], by(header="required = false")) == []


def test_a_payment_of_endless_stub_lines_takes_no_memory() -> None:
    lines = [H, P, *["DDues      0.01"] * (MOST_STUB_LINES * 20), T]
    found = [item for item in faults(lines) if "stub line" in item]
    assert found == [
        f"run.prn line {MOST_STUB_LINES + 3}: found another stub line; wanted at most {MOST_STUB_LINES} stub lines of "
        "one payment; look at the file."
    ]


def test_a_report_needs_its_map() -> None:
    (fault,) = fixedwidth.read(io.BytesIO(b"x"), Reading("run.prn", "USD"))
    assert str(fault) == (
        "run.prn: found a fixed-width report; wanted a map that lays out its records, because nothing in the file "
        "tells; write one and name it: --map FILE."
    )


def test_a_hash_column_that_no_payment_has_is_refused() -> None:
    assert faults(GOOD, hash_column="vendor") == [
        "map.toml line 14, record.2: found no field 'vendor'; wanted the column of the hash total; name another."
    ]


@pytest.mark.parametrize("more", [b"", b"\x1a\x1a", b"\0\0\0", b"  "])
def test_records_of_one_length_follow_each_other(more: bytes) -> None:
    using = by("record_length = 40")
    data = "".join(line.ljust(40) for line in GOOD).encode("cp1252")
    assert [item for item in read(data + more, using) if isinstance(item, Fault)] == []
    assert faults(data[:-5], using)[0] == (
        "run.prn line 5: found 35 bytes at the end; wanted records of 40; look whether the file is cut short, was "
        "changed on its way, or has other records."
    )


def test_a_line_without_end_takes_no_memory() -> None:
    class Endless(io.RawIOBase):
        def readable(self) -> bool:
            return True

        def readinto(self, buffer: bytearray) -> int:  # type: ignore[override]
            buffer[:] = b"\x40" * len(buffer)
            return len(buffer)

    for encoding in ("cp1252", "cp037"):
        using = maps.load(MAP.format(head="", header="", trailer="").replace("cp1252", encoding), "map.toml")
        tracemalloc.start()
        found = list(fixedwidth.read(io.BufferedReader(Endless()), Reading("run.prn", "USD", map=using)))  # type: ignore[arg-type]
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        assert "a line of more than 65536 bytes" in str(found[0])
        assert peak < 2_000_000


def test_bytes_that_are_no_text_are_refused_with_their_place() -> None:
    data = "\n".join(GOOD).encode("cp1252").replace(b"Esm", b"E\x81m")
    assert faults(data)[0] == (
        "run.prn line 3: found byte 81 hex as byte 3 of the line; wanted cp1252; name the file's encoding in the map."
    )


def test_an_encoding_named_at_the_desk_goes_before_the_maps() -> None:
    data = "\n".join(GOOD).encode("utf-8")
    assert [item.payee for item in read(data, encoding="utf-8") if isinstance(item, Payment)] == ["Ay Li", "Esmé"]


FIGURES = """
kind = "fixed-width"
encoding = "cp500"
record_length = 60
decimal_mark = ","
currency_sign = "£"
[[record]]
what = "payment"
fields.payee = { at = 1, width = 5 }
fields.amount = { at = 6, picture = "$$.$$9,99" }
fields.date = { at = 15, pattern = "YYYYMMDD", picture = "9(8)", usage = "packed" }
fields.employee = { at = 20, picture = "S9(4)" }
fields.earning1 = { at = 25, width = 5 }
fields.earning1_hours = { at = 30, picture = "S9(2)V9", usage = "packed", blank_when_zero = true }
fields.earning1_amount = { at = 32, picture = "9(4)V999" }
"""


def figures(
    amount: str = "   £12,30",
    date: str = "020261127f",
    employee: str = "2112",
    hours: str = "375c",
    pay: str = "0012300",
) -> list[str]:
    """A record of every sort of figure, with one of them changed; what the reader makes of it."""
    text = f"Ay Li{amount:9}".encode("cp500") + bytes.fromhex(date) + f"{employee:5}Wages".encode("cp500")
    raw = (text + bytes.fromhex(hours) + pay.encode("cp500")).ljust(60, b"\x40")
    using = maps.load(FIGURES, "map.toml")
    found = fixedwidth.read(io.BytesIO(raw), Reading("run.dat", "USD", map=using))
    return [
        f"{p.amount} {p.date} {p.employee} {p.stub[0].hours} {p.stub[0].amount}" if isinstance(p, Payment) else str(p)
        for p in found
    ]


def test_figures_of_every_sort_are_read() -> None:
    assert figures() == ["1230 2026-11-27 2112 37.5 1230"]
    assert figures(hours="4040") == ["1230 2026-11-27 2112 0.0 1230"]
    assert figures(date="000000000f") == ["1230  2112 37.5 1230"]


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"amount": "   £12.30"}, "amount: found '   £12.30' at positions 6 to 14; wanted $$.$$9,99, as the map says"),
        ({"employee": "211K"}, "employee: found -2112; wanted a number that is not negative; ask who made the file."),
        (
            {"pay": "0012305"},
            "earning1_amount: found 12.305; wanted an exact USD amount, with 2 decimals; ask who made",
        ),
        (
            {"pay": "001230A"},
            "earning1_amount: found bytes f0 f0 f1 f2 f3 f0 c1 at positions 32 to 38; wanted 9(4)V999, "
            "as the map says;",
        ),
        (
            {"date": "120261127f"},
            "date: found bytes 12 02 61 12 7f at positions 15 to 19; wanted 9(8), packed; correct it, or the map.",
        ),
        (
            {"date": "020261127d"},
            "date: found bytes 02 02 61 12 7d at positions 15 to 19; wanted 9(8), packed; correct it, or the map.",
        ),
        ({"date": "020261131f"}, "date: found '20261131'; wanted a real date as YYYYMMDD, such as 20261127;"),
        (
            {"hours": "37ac"},
            "earning1_hours: found bytes 37 ac at positions 30 to 31; wanted S9(2)V9, packed; correct it, or the map.",
        ),
    ],
)
def test_figures_that_are_not_as_the_map_says_are_refused(changes: dict[str, str], message: str) -> None:
    (found,) = figures(**changes)
    assert found.startswith(f"run.dat line 1, {message}"), found
