"""The boatyard's month of registers: the same payments in every kind of file, made again from the CSV ones.

    python tests/register/november.py     # writes demo/november/ anew

The last week of November and the suppliers are `demo/payday-2026-11-27.csv` and `demo/suppliers-2026-11.csv`. The
three weeks before are the same people on their ordinary pay, the year to date smaller by what came after.
"""

import io
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from cheque.payment import Payment
from cheque.register import Reading, csvfile, fixedwidth, maps, pain001, read_register, xlsxfile
from cheque.register.painwrite import Drawer

DEMO = Path(__file__).parents[2] / "demo"
NOVEMBER = DEMO / "november"
WEEKS = {"2026-11-06": 3, "2026-11-13": 2, "2026-11-20": 1, "2026-11-27": 0}
SUPPLIERS = "suppliers-2026-11"
DRAWER = Drawer("Quillmere Boatyard Company", "0042 7719", "Tidewrack Savings Bank")


class Kind(NamedTuple):
    """One kind of file: its suffix, the kind of register, and its map for payroll and for suppliers."""

    suffix: str
    kind: str
    payroll: str = ""
    suppliers: str = ""


KINDS = (
    Kind(".txt", "csv", "payroll-text.toml", "suppliers-text.toml"),
    Kind(".prn", "fixed-width", "payroll-report.toml", "suppliers-report.toml"),
    Kind(".dat", "fixed-width", "payroll-records.toml", "suppliers-records.toml"),
    Kind(".xml", "pain.001", "payroll-remittance.toml", ""),
    Kind(".xlsx", "xlsx"),
)


def map_named(name: str) -> maps.Map | None:
    """A map of the demo, or None for ""."""
    return maps.load((NOVEMBER / name).read_text(encoding="utf-8"), name) if name else None


def map_for(register: str, kind: Kind) -> maps.Map | None:
    """The map for a register in a kind of file."""
    return map_named(kind.suppliers if register == SUPPLIERS else kind.payroll)


def hash_column(register: str) -> str:
    """The column that is summed."""
    return "reference" if register == SUPPLIERS else "employee"


def csv_of(register: str) -> Path:
    """Where the register in our own CSV is."""
    ours = DEMO / f"{register}.csv"
    return ours if ours.exists() else NOVEMBER / f"{register}.csv"


def registers() -> list[str]:
    """The five registers of the month."""
    return [*(f"payday-{date}" for date in WEEKS), SUPPLIERS]


def payments_of(register: str) -> list[Payment]:
    """The payments of a register, as its CSV has them."""
    with csv_of(register).open("rb") as file:
        found = list(read_register(file, Reading(register, "USD", hash_column(register), kind="csv")))
    return [item for item in found if isinstance(item, Payment)]


def week_before(payment: Payment, weeks: int, date: str) -> Payment:
    """The same person's pay so many weeks before."""
    from datetime import date as day
    from datetime import timedelta

    def earlier(iso: str) -> str:
        return (day.fromisoformat(iso) - timedelta(7 * weeks)).isoformat()

    stub = tuple(
        line._replace(to_date=line.to_date - weeks * (line.amount or 0)) if line.to_date is not None else line
        for line in payment.stub
        if line.kind != "note"
    )
    return payment._replace(
        date=date,
        reference=f"W{48 - weeks}-{payment.employee}",
        expected=str(int(payment.expected) - 24 * weeks),
        period_from=earlier(payment.period_from),
        period_to=earlier(payment.period_to),
        stub=stub,
    )


def file_of(register: str, kind: Kind, payments: list[Payment]) -> bytes:
    """A register in a kind of file."""
    out = io.BytesIO()
    by = map_for(register, kind)
    hashed = hash_column(register)
    if kind.kind == "csv":
        assert by
        csvfile.write(payments, out, "USD", hash_column=hashed, by=by)
        if by.skip_lines:
            return b"QUILLMERE BOATYARD COMPANY - PAYROLL" + out.getvalue()
    elif kind.kind == "fixed-width":
        assert by
        fixedwidth.write(payments, out, "USD", hash_column=hashed, by=by)
        if kind.suffix == ".prn":
            return printed(register, out.getvalue())
    elif kind.kind == "pain.001":
        made = {"message": register.upper(), "created": "2026-11-24T09:00:00", "drawer": DRAWER}
        version = "03" if register == SUPPLIERS else "09"
        pain001.write(payments, out, "USD", hash_column=hashed, by=by or maps.NO_MAP, version=version, **made)
    else:
        xlsxfile.write(payments, out, "USD", hash_column=hashed)
    return out.getvalue()


def printed(register: str, plain: bytes) -> bytes:
    """A report as the host prints it: page headings, column titles, carriage control or form feeds."""
    asa = register != SUPPLIERS
    headings = 3 if asa else 2
    lines = plain.decode("cp1252").split("\n")[headings:-1]
    titles = "EMPL   NAME" if asa else "VOUCHER   PAID TO"
    out: list[str] = []
    for page, at in enumerate(range(0, len(lines), 48), 1):
        what = "PAYROLL REGISTER" if asa else "PAYMENTS TO SUPPLIERS"
        top = [f"QUILLMERE BOATYARD COMPANY    {what}", f"PAGE {page}", *([""] if asa else []), titles]
        if asa:
            out += [f"{control}{line}" for control, line in zip("1  0", top, strict=True)]
        else:
            out += ["\f" * (page > 1) + top[0], *top[1:]]
        out += lines[at : at + 48]
    return "".join(f"{line.rstrip()}\n" for line in out).encode("cp1252")


def files() -> Iterator[tuple[str, bytes]]:
    """Every file of demo/november/ that is made, by its name."""
    last = payments_of("payday-2026-11-27")
    for register in registers():
        if register == SUPPLIERS:
            payments = payments_of(register)
        else:
            date = register.removeprefix("payday-")
            weeks = WEEKS[date]
            payments = [week_before(each, weeks, date) if weeks else each for each in last]
            if weeks:
                out = io.BytesIO()
                csvfile.write(payments, out, "USD", line_end="\n")
                yield f"{register}.csv", out.getvalue()
        for kind in KINDS:
            yield register + kind.suffix, file_of(register, kind, payments)


if __name__ == "__main__":
    for name, data in files():
        (NOVEMBER / name).write_bytes(data)
        print(f"{len(data):8,}  {name}")
