"""A register into the book: the copy that is kept, the printers that can, and nothing but whole acceptances."""

import hashlib
import io
import stat
from pathlib import Path

import pytest

from cheque import accept, checking, library
from cheque.errors import InputRefused
from cheque.settings import PrinterSettings, Settings, parse, template

FORM = library.load("payroll-us")


def settings(**printer: str) -> Settings:
    """The boatyard's settings with something else of the printer."""
    text = template(
        drawer="Quillmere Boatyard Company", address=(), bank="Tidewrack Savings Bank", routing="", number="",
        currency="USD", locale="en_US",
    )  # fmt: skip
    lines = text.splitlines()
    for key, value in printer.items():
        lines = [f"{key} = {value}" if line.startswith(f"{key} =") else line for line in lines]
    return parse("\n".join(lines), Path("/somewhere/cheque.toml"))


def payroom(**printer: str) -> PrinterSettings:
    """The boatyard's printer."""
    return settings(**printer).printers["payroom"]


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A book's private place."""
    (tmp_path / "registers").mkdir(mode=0o700)
    return tmp_path


def test_a_register_is_kept_under_its_digest_for_its_owner_alone(place: Path) -> None:
    data = b"payee,amount\n" * 200_000  # more than is read at once
    kept = accept.keep(place, io.BytesIO(data), "payday.csv")
    assert kept.digest == hashlib.sha256(data).hexdigest()
    assert kept.source == "payday.csv"
    assert kept.path.read_bytes() == data
    assert stat.S_IMODE(kept.path.stat().st_mode) == 0o600
    with accept.kept_copy(kept) as stream:
        assert stream.read() == data


def test_a_register_is_read_once_and_never_sought(place: Path) -> None:
    class Stream(io.RawIOBase):
        """As a pipe: it can only be read on."""

        def __init__(self) -> None:
            self.pieces = [b"payee,", b"amount\n", b""]

        def read(self, size: int = -1) -> bytes:
            return self.pieces.pop(0)

        def seek(self, offset: int, whence: int = 0) -> int:
            raise AssertionError("a pipe cannot be sought")

    kept = accept.keep(place, Stream(), "standard input")  # type: ignore[arg-type]
    assert kept.path.read_bytes() == b"payee,amount\n"


def test_a_register_that_breaks_off_leaves_nothing_behind(place: Path) -> None:
    class Broken(io.RawIOBase):
        """A cable pulled out in the middle."""

        def __init__(self) -> None:
            self.reads = 0

        def read(self, size: int = -1) -> bytes:
            self.reads += 1
            if self.reads > 2:
                raise OSError(5, "Input/output error")
            return b"payee"

    with pytest.raises(OSError, match="Input/output error"):
        accept.keep(place, Broken(), "payday.csv")  # type: ignore[arg-type]
    assert list((place / "registers").iterdir()) == []


def test_the_same_register_is_kept_once(place: Path) -> None:
    one = accept.keep(place, io.BytesIO(b"payee\n"), "a.csv")
    other = accept.keep(place, io.BytesIO(b"payee\n"), "b.csv")
    assert one.path == other.path
    assert len(list((place / "registers").iterdir())) == 1


def test_a_letter_must_be_in_the_table_of_every_printer_it_is_meant_for() -> None:
    both = checking.on_printers([payroom(), payroom(table='"cp850"')])
    assert both("Niamh O'Dunmarrow") == []
    assert both("Zoë") == []  # in both
    # From the published tables: 437 has the Greek capital omega and 850 has not; 850 has the small a with tilde.
    assert both("Ω") == [(1, "Ω")]
    assert both("xã") == [(2, "ã")]
    assert checking.on_printers([payroom()])("Ω") == []
    assert checking.on_printers([])("Ω") == []


def test_the_printers_that_can_print_a_form_and_why_the_others_cannot() -> None:
    found = settings()
    account = found.accounts["main"]
    weak = payroom(parts="2")._replace(name="attic")
    good, reasons = accept.able(FORM, account, [payroom(), weak])
    assert [printer.name for printer in good] == ["payroom"]
    assert reasons == ["attic (escp9): the form has 3 parts, and the printer is rated for 2"]
    assert accept.able(FORM, account, []) == ([], [])


def test_what_keeps_an_account_off_a_form_is_known_before_a_register_is_read(place: Path) -> None:
    from cheque.accept import Wanted
    from cheque.book.book import create
    from cheque.checking import Judged
    from cheque.control import Slip
    from cheque.register import Reading

    account = settings().accounts["main"]._replace(drawer="Quillmere Boatyard and Chandlery Company of Lower Slipway")
    rows = "".join(f"Ay Li,{n}.00,2026-11-27,R{n}\n" for n in range(1, 21))
    with create(place / "book") as book:
        kept = accept.keep(book.place, io.BytesIO(f"payee,amount,date,reference\n{rows}".encode()), "payday.csv")
        how = Judged(Reading("payday.csv", "USD"), account, [payroom(), payroom()._replace(name="attic")])
        with pytest.raises(InputRefused) as refused:
            accept.accept(book, kept, Wanted(how, FORM, Slip(20, 21000)))
        assert len(refused.value.faults) == 2  # the stub's field and the cheque's, and not twenty times
        assert all("44 characters" in str(fault) for fault in refused.value.faults)
        assert book.value("SELECT count(*) FROM batch") == 0
        assert book.head.kind == "batch.refused"
