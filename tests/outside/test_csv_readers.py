"""The CSV reader against the grammar of RFC 4180, section 2, and against exact decimals.

`records` below is a parser of its own, written from that grammar alone:

    file = record *(CRLF record) [CRLF];  record = field *(COMMA field);  field = escaped / non-escaped
    escaped = DQUOTE *(TEXTDATA / COMMA / CR / LF / 2DQUOTE) DQUOTE

It knows nothing of Python's csv module, on which the reader is built, nor of the reader. Amounts are read with
`decimal.Decimal`, not with our own code.
"""

import csv
import io
import re
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque.payment import Kind, Payment
from cheque.register import Reading, read_register

DEMO = Path(__file__).parents[2] / "demo"
FIELD = re.compile(r'"((?:[^"]|"")*)"|([^",\r\n]*)')


def records(text: str) -> list[list[str]]:
    """The records of a file by the grammar (line ends may also be LF, as the RFC's note on the past allows)."""
    rows: list[list[str]] = []
    place = 0
    while place < len(text):
        row: list[str] = []
        while True:
            match = FIELD.match(text, place)
            assert match
            row.append(match[1].replace('""', '"') if match[1] is not None else match[2])
            place = match.end()
            if text[place : place + 1] != ",":
                break
            place += 1
        rows.append(row)
        end = re.compile(r"\r?\n|\Z").match(text, place)
        assert end, f"neither separator nor line end at {place}"
        place = end.end()
    return rows


def read(text: str, name: str = "register.csv") -> list[Payment]:
    found = list(read_register(io.BytesIO(text.encode()), Reading(name, "USD", hash_column="")))
    assert all(isinstance(item, Payment) for item in found), found
    return [item for item in found if isinstance(item, Payment)]


def test_the_parser_of_the_grammar_reads_the_examples_of_the_standard() -> None:
    """RFC 4180, section 2, the examples of rules 1, 5, 6 and 7 (from memory)."""
    assert records("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n") == [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]
    assert records('"aaa","bbb","ccc"\r\nzzz,yyy,xxx') == [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]
    assert records('"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx') == [["aaa", "b\r\nbb", "ccc"], ["zzz", "yyy", "xxx"]]
    assert records('"aaa","b""bb","ccc"') == [["aaa", 'b"bb', "ccc"]]


@pytest.mark.parametrize(
    ("cells", "wanted"),
    [
        ("aaa,bbb,ccc", ("aaa", "bbb", "ccc")),
        ('"aaa","bbb","ccc"', ("aaa", "bbb", "ccc")),
        ('"aaa","b\r\nbb","ccc"', ("aaa", "b\r\nbb", "ccc")),
        ('"aaa","b""bb","ccc"', ("aaa", 'b"bb', "ccc")),
    ],
)
def test_the_reader_reads_the_examples_of_the_standard(cells: str, wanted: tuple[str, ...]) -> None:
    (payment,) = read(f"payee,memo,department,amount,date\r\n{cells},1.00,2026-11-27\r\n")
    assert (payment.payee, payment.memo, payment.department) == wanted


NAMES = ["payday-2026-11-27.csv", "payday-with-advice.csv", "suppliers-2026-11.csv", "payday-lost-line.csv"]


@pytest.mark.parametrize("name", NAMES)
def test_a_register_read_by_the_grammar_and_decimals_has_the_same_payments(name: str) -> None:
    text = (DEMO / name).read_text(encoding="utf-8")
    header, *rows = records(text)
    assert [header, *rows] == list(csv.reader(io.StringIO(text, newline="")))
    payments = read(text, name)
    assert len(payments) == len(rows)
    for payment, row in zip(payments, rows, strict=True):
        cells = dict(zip(header, row, strict=True))
        assert payment.payee == cells["payee"]
        assert Decimal(payment.amount) / 100 == Decimal(cells["amount"])
        assert (payment.date, payment.reference) == (cells["date"], cells["reference"])
        assert payment.address == tuple(filter(None, (cells.get(f"address{n}", "") for n in range(1, 5))))
        for kind, figure in [(Kind.EARNING, "amount"), (Kind.DEDUCTION, "amount"), (Kind.INVOICE, "net")]:
            stems = [f"{kind}{n}" for n in range(1, 100) if cells.get(f"{kind}{n}")]
            lines = [line for line in payment.stub if line.kind is kind]
            assert [line.text for line in lines] == [cells[stem] for stem in stems]
            assert [Decimal(line.amount or 0) / 100 for line in lines] == [
                Decimal(cells[f"{stem}_{figure}"] or 0) for stem in stems
            ]


@pytest.mark.parametrize("name", NAMES)
def test_pay_in_the_demo_adds_up_in_decimals(name: str) -> None:
    header, *rows = records((DEMO / name).read_text(encoding="utf-8"))
    for row in rows:
        cells = dict(zip(header, row, strict=True))

        def total(pattern: str, cells: dict[str, str] = cells) -> Decimal:
            return sum((Decimal(v) for n, v in cells.items() if v and re.fullmatch(pattern, n)), Decimal(0))

        net = total(r"earning\d+_amount") - total(r"deduction\d+_amount") + total(r"invoice\d+_net")
        assert net == Decimal(cells["amount"])


cells = st.text(st.sampled_from('ab",\r\né ;'), max_size=6).map(lambda text: text.strip(" "))


@settings(max_examples=200, deadline=None)
@given(st.lists(st.tuples(cells, cells, st.booleans()), min_size=1, max_size=5), st.sampled_from(["\n", "\r\n"]))
def test_any_text_in_quotes_is_read_as_the_grammar_reads_it(rows: list[tuple[str, str, bool]], line_end: str) -> None:
    def field(text: str, always: bool) -> str:
        needed = always or any(c in text for c in '",\r\n')
        return '"' + text.replace('"', '""') + '"' if needed else text

    lines = [f"{field(a, quote)},1.00,2026-11-27,{field(b, quote)}" for a, b, quote in rows]
    text = line_end.join(["payee,amount,date,memo", *lines]) + line_end
    assert [[p.payee, p.memo] for p in read(text)] == [[row[0], row[3]] for row in records(text)[1:]]
