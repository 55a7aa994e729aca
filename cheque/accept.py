"""A register into the book: kept as it came, read once, judged, held against the slip, laid out, accepted.

All of it happens in one transaction, or nothing but the record of the attempt. What does not fit its form, or
cannot be printed exactly on the printers it is meant for, is refused here and not at the printer.
"""

import hashlib
import io
import os
import tempfile
from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO, NamedTuple

from cheque import control, layout, run
from cheque.book import batches, stock
from cheque.book.book import Book, Reader
from cheque.book.state import State
from cheque.control import Slip, Totals
from cheque.errors import Fault, InputRefused
from cheque.form import to_text
from cheque.form.model import Form
from cheque.language.tables import unprintable
from cheque.payment import Payment
from cheque.register import Reading, name_of_kind, read_register
from cheque.register.judge import Judge, Verdict
from cheque.settings import Account, PrinterSettings

_PIECE = 1 << 20


class Kept(NamedTuple):
    """A register as it came: where its copy is, its digest, and what it was called."""

    path: Path
    digest: str
    source: str


def keep(place: Path, stream: BinaryIO, source: str) -> Kept:
    """Copy a register, read once, into the book's private place under its digest."""
    folder = place / "registers"
    hasher = hashlib.sha256()
    handle, name = tempfile.mkstemp(dir=folder, prefix=".reading-")
    try:
        with os.fdopen(handle, "wb") as copy:
            while piece := stream.read(_PIECE):
                hasher.update(piece)
                copy.write(piece)
            copy.flush()
            os.fsync(copy.fileno())
        path = folder / hasher.hexdigest()
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    return Kept(path, hasher.hexdigest(), source)


@contextmanager
def kept_copy(kept: Kept) -> Iterator[BinaryIO]:
    """The kept copy of a register, open."""
    with kept.path.open("rb") as stream:
        yield stream


def on_printers(printers: Iterable[PrinterSettings]) -> Callable[[str], list[tuple[int, str]]]:
    """Places (from 1) and characters of a text that one of these printers has no character for."""
    tables = sorted({printer.table for printer in printers})

    def check(text: str) -> list[tuple[int, str]]:
        return sorted({(place + 1, letter) for table in tables for place, letter in unprintable(text, table)})

    return check


def able(form: Form, account: Account, printers: Iterable[PrinterSettings]) -> tuple[list[PrinterSettings], list[str]]:
    """The printers that can print a form, and a sentence for each that cannot."""
    good, reasons = [], []
    for printer in printers:
        why = run.unable(run.setting(form, account, printer), printer.parts)
        if why:
            reasons.append(f"{printer.name} ({printer.language}): {'; '.join(why)}")
        else:
            good.append(printer)
    return good, reasons


def judge_register(
    reader: Reader, stream: BinaryIO, reading: Reading, account: Account, printers: Iterable[PrinterSettings]
) -> tuple[Verdict, list[Payment]]:
    """Judge a register and change nothing; its payments come too, for the list of pairs."""
    judge = _judge(reader, reading, account, printers, ())
    payments = list(judge.payments(read_register(stream, reading)))
    return judge.verdict(), payments


def _judge(
    reader: Reader,
    reading: Reading,
    account: Account,
    printers: Iterable[PrinterSettings],
    allow_duplicate: Collection[str],
) -> Judge:
    return Judge(
        reading,
        unprintable=on_printers(printers),
        earlier=lambda payment: batches.earlier(reader, account.name, payment) or "",
        allow_duplicate=allow_duplicate,
    )


class Accepted(NamedTuple):
    """A batch accepted: its number, what the register holds, and what there is to say about it."""

    batch: int
    totals: Totals
    verdict: Verdict
    notes: tuple[str, ...]


def accept(
    book: Book,
    kept: Kept,
    *,
    reading: Reading,
    account: Account,
    form: Form,
    printers: list[PrinterSettings],
    slip: Slip,
    allow_duplicate: Collection[str] = (),
) -> Accepted:
    """Accept a register as a batch. InputRefused with everything that is wrong; the attempt is recorded."""
    try:
        return _accept(book, kept, reading, account, form, printers, slip, allow_duplicate)
    except InputRefused as refusal:
        attempt = {
            "account": account.name,
            "source": kept.source,
            "register": kept.digest,
            "form": form.name,
            "why": refusal.message,
            "faults": refusal.total,
            **_given(slip),
        }
        batches.refused(book, attempt)
        raise


def _given(slip: Slip) -> dict[str, int | str]:
    """What the slip says, for the record."""
    return {f"given_{name}": value for name, value in slip._asdict().items() if value is not None}


def _accept(
    book: Book,
    kept: Kept,
    reading: Reading,
    account: Account,
    form: Form,
    printers: list[PrinterSettings],
    slip: Slip,
    allow_duplicate: Collection[str],
) -> Accepted:
    settings = [run.setting(form, account, printer) for printer in printers]
    if not allow_duplicate and (before := batches.of_register(book, account.name, kept.digest)):
        raise InputRefused(
            f"{kept.source} is batch {before[0]} already, accepted {before[1][:10]}: the same file, to the last byte. "
            f"Go on with that batch (`cheque batch show {before[0]}`); withdraw it first if it is to be accepted anew."
        )
    with batches.accepting(book) as acceptance, kept_copy(kept) as stream:
        judge = _judge(book, reading, account, printers, allow_duplicate)
        if amiss := _account_amiss(form, settings):  # told once, and not again for every payment
            settings = []
        for fault in amiss:
            judge.refuse(fault)
        for payment in judge.payments(_borne(form, read_register(stream, reading))):
            faults = _unfit(payment, settings, reading.source)
            for fault in faults:
                judge.refuse(fault)
            if not faults:
                acceptance.add(payment)
        verdict = judge.verdict()
        verdict.refuse(kept.source)
        _agree(kept, reading, form, slip, verdict.totals, account.currency)
        if not verdict.totals.item_count:
            raise InputRefused(f"{kept.source} holds no payment.")
        totals = verdict.totals
        acceptance.finish(
            {
                "account": account.name,
                "form": form.name,
                "form_digest": acceptance.keep_form(to_text(form)),
                "currency": account.currency,
                "items": totals.item_count,
                "total": totals.control_total,
                "hash": totals.hash_total or 0,
                "hash_column": reading.hash_column if totals.hash_total is not None else "",
                "source": kept.source,
                "kind": _kind(reading, kept),
                "register": kept.digest,
                **_map(book, reading),
                "pairs": totals.pairs_digest,
                "allowed": sorted(allow_duplicate),
                **_given(slip),
            }
        )
        notes = _expected(book, account, acceptance.batch)
        return Accepted(acceptance.batch, totals, verdict, notes)


def _borne(form: Form, items: Iterator[Payment | Fault]) -> Iterator[Payment | Fault]:
    """What a reader yields, as the form bears it: on a paper that pays nothing, no payment is money out."""
    if form.payable:
        return items
    return (form.bears(item) if isinstance(item, Payment) else item for item in items)


def _kind(reading: Reading, kept: Kept) -> str:
    """The name of the kind of register that was read."""
    with kept_copy(kept) as stream:
        return name_of_kind(reading, stream.read(512))


def _map(book: Book, reading: Reading) -> dict[str, str]:
    """For the record, the digest of the map by which a register was read; a copy is kept beside the register's."""
    if reading.map is None:
        return {}
    return {"map": keep(book.place, io.BytesIO(reading.map.text.encode()), reading.map.source).digest}


def _account_amiss(form: Form, settings: list[run.Setting]) -> list[Fault]:
    """What of the account does not fit the form, whatever the payment."""
    try:
        for setting in settings:
            layout.compiled(form, setting.drawer)
    except layout.LayoutError as error:
        return list(error.faults)
    return []


def _unfit(payment: Payment, settings: list[run.Setting], source: str) -> list[Fault]:
    """What of a payment does not fit its form, or cannot be printed exactly on one of the printers."""
    faults: list[Fault] = []
    for setting in settings:
        try:
            run.proved(setting, payment)
        except InputRefused as refusal:
            faults += [fault for fault in refusal.faults if fault not in faults]
    return [Fault(f"{source}, {fault.where}", fault.found, fault.wanted, fault.do) for fault in faults]


def _agree(kept: Kept, reading: Reading, form: Form, slip: Slip, totals: Totals, currency: str) -> None:
    """Refuse when a total keyed in from the slip is not what the register holds, with what would explain it."""
    differences = control.compare(slip, totals)
    if not differences:
        return

    silent = reading._replace(state=lambda sentence: None)  # it has been said

    def payments() -> Iterator[Payment]:
        with kept_copy(kept) as stream:
            for item in _borne(form, read_register(stream, silent)):
                if isinstance(item, Payment):
                    yield item

    lines = [control.describe(difference, currency) for difference in differences]
    lines += control.explain(slip, totals, payments, currency)
    raise InputRefused(
        f"{kept.source} does not agree with the slip, so it is not accepted.\n  "
        + "\n  ".join(lines)
        + "\n  Ask payroll which is right; do not key in the register's own totals."
    )


def _expected(reader: Reader, account: Account, batch: int) -> tuple[str, ...]:
    """What the numbers that payroll expects say against the stock."""
    gone: list[str] = []  # the first three; a register may have a million
    total = missing = 0
    for text, item in reader.rows(
        "SELECT expected, item FROM claim WHERE batch = ? AND expected <> '' ORDER BY item", batch
    ):
        total += 1
        number = int(text)
        if not any(name == account.name for name in stock.holders(reader, number)):
            where = f"on no stock of {account.name}"
        elif (state := stock.state_of(reader, account.name, number)) is not State.ON_HAND:
            where = str(state)
        else:
            continue
        missing += 1
        if missing <= 3:
            gone.append(f"payment {item} expects {text}, which is {where}")
    if not missing:
        return ()
    shown = "; ".join(gone) + (f"; and {missing - 3} more" if missing > 3 else "")
    return (f"{missing} of {total} numbers that payroll expects are not on hand: {shown}.",)
