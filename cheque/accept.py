"""A register into the book: kept as it came, read once, judged, held against the slip, laid out, accepted.

All of it happens in one transaction, or nothing but the record of the attempt. What does not fit its form, or
cannot be printed exactly on the printers it is meant for, is refused here and not at the printer.
"""

import hashlib
import io
import os
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO, NamedTuple

from cheque import control, run
from cheque.book import batches, stock
from cheque.book.book import Book, Reader
from cheque.book.state import State
from cheque.checking import Checking, Judged, NearlyTheSame
from cheque.control import Slip, Totals
from cheque.errors import InputRefused
from cheque.form import to_text
from cheque.form.model import Form
from cheque.looking import borne
from cheque.ordering import THE_REGISTERS, Order, Sorter, said
from cheque.payment import Payment, from_kept
from cheque.register import Reading, name_of_kind, read_register
from cheque.register.judge import Verdict
from cheque.settings import Account, PrinterSettings
from cheque.tongue import tr

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


class Accepted(NamedTuple):
    """A batch accepted: its number, what the register holds, and what there is to say about it."""

    batch: int
    totals: Totals
    verdict: Verdict
    notes: tuple[str, ...]


class Wanted(NamedTuple):
    """What a register is to become: how it is judged, on which form, by which slip, in which order.

    `not_a_duplicate` is a person's reason why payments that are nearly others are none of them.
    """

    how: Judged
    form: Form
    slip: Slip
    order: Order = THE_REGISTERS
    not_a_duplicate: str = ""


def accept(book: Book, kept: Kept, wanted: Wanted) -> Accepted:
    """Accept a register as a batch. InputRefused with everything that is wrong; the attempt is recorded.

    NearlyTheSame, with nothing recorded, when payments are nearly others and nobody has said why.
    """
    try:
        return _accept(book, kept, wanted)
    except InputRefused as refusal:
        attempt = {
            "account": wanted.how.account.name,
            "source": kept.source,
            "register": kept.digest,
            "form": wanted.form.name,
            "why": refusal.message,
            "faults": refusal.total,
            **_given(wanted.slip),
        }
        batches.refused(book, attempt)
        raise


def _given(slip: Slip) -> dict[str, int | str]:
    """What the slip says, for the record."""
    return {f"given_{name}": value for name, value in slip._asdict().items() if value is not None}


def _accept(book: Book, kept: Kept, wanted: Wanted) -> Accepted:
    how, form, slip, order, not_a_duplicate = wanted
    reading, account, allow_duplicate = how.reading, how.account, how.allow_duplicate
    if not allow_duplicate and (before := batches.of_register(book, account.name, kept.digest)):
        raise InputRefused(
            tr(
                "{source} is batch {before} already, accepted {day}: the same file, to the last byte. Go on "
                "with that batch (`cheque batch show {before}`); withdraw it first if it is to be accepted anew.",
                source=kept.source,
                before=before[0],
                day=before[1][:10],
            )
        )
    sorter = Sorter(order, book.place / "registers")
    with batches.accepting(book) as acceptance, kept_copy(kept) as stream:
        checking = Checking(book, how, form)
        for payment, text, entry in checking.passed(stream):
            if order.is_the_registers:
                acceptance.add_kept(payment.item, text, entry)
            else:
                sorter.add(from_kept(payment.item, entry))
        verdict = checking.judge.verdict()
        verdict.refuse(kept.source)
        _agree(kept, reading, form, slip, verdict.totals, account.currency)
        if not verdict.totals.item_count:
            raise InputRefused(tr("{source} holds no payment.", source=kept.source))
        if verdict.questions and not not_a_duplicate:
            raise NearlyTheSame(verdict)
        for payment in sorter.payments():
            acceptance.add(payment)
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
                **({"encoding": reading.encoding} if reading.encoding else {}),
                "pairs": totals.pairs_digest,
                "transfers": totals.transfer_total if form.payable else 0,
                "allowed": sorted(allow_duplicate),
                **order.record(),
                **({"not_a_duplicate": not_a_duplicate} if not_a_duplicate else {}),
                **_given(slip),
            }
        )
        batch = acceptance.batch
        told = (*checking.notes(), *_ordered(book, order, sorter, batch), *_expected(book, account, batch))
        return Accepted(batch, totals, verdict, told)


def _kind(reading: Reading, kept: Kept) -> str:
    """The name of the kind of register that was read."""
    with kept_copy(kept) as stream:
        return name_of_kind(reading, stream.read(512))


def _map(book: Book, reading: Reading) -> dict[str, str]:
    """For the record, the digest of the map by which a register was read; a copy is kept beside the register's."""
    if reading.map is None:
        return {}
    return {"map": keep(book.place, io.BytesIO(reading.map.text.encode()), reading.map.source).digest}


def _agree(kept: Kept, reading: Reading, form: Form, slip: Slip, totals: Totals, currency: str) -> None:
    """Refuse when a total keyed in from the slip is not what the register holds, with what would explain it."""
    differences = control.compare(slip, totals)
    if not differences:
        return

    silent = reading._replace(state=lambda sentence: None)  # it has been said

    def payments() -> Iterator[Payment]:
        with kept_copy(kept) as stream:
            for item in borne(form, read_register(stream, silent)):
                if isinstance(item, Payment):
                    yield item

    lines = [control.describe(difference, currency) for difference in differences]
    lines += control.explain(slip, totals, payments, currency)
    raise InputRefused(
        tr("{source} does not agree with the slip, so it is not accepted.\n  ", source=kept.source)
        + "\n  ".join(lines)
        + tr("\n  Ask payroll which is right; do not key in the register's own totals.")
    )


def _ordered(reader: Reader, order: Order, sorter: Sorter, batch: int) -> Iterator[str]:
    """What there is to say about another order than the register's."""
    if order.is_the_registers:
        return
    yield tr("printed {said}.", said=said(order.by, order.group))
    if sorter.unknown:
        what = order.by.replace("-", " ")
        yield (
            tr("1 of the payments has no {what} to go by: it comes last.", what=tr(what))
            if sorter.unknown == 1
            else tr(
                "{count} of the payments have no {what} to go by: they come last.",
                count=sorter.unknown,
                what=tr(what),
            )
        )
    if reader.row("SELECT 1 FROM claim WHERE batch = ? AND expected <> '' LIMIT 1", batch):
        yield (
            tr(
                "payroll's expected numbers are in the register's order, so they will not be those printed: "
                "`cheque report payroll --batch {batch}` tells payroll the real ones.",
                batch=batch,
            )
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
            where = tr("on no stock of {name}", name=account.name)
        elif (state := stock.state_of(reader, account.name, number)) is not State.ON_HAND:
            where = tr(state)
        else:
            continue
        missing += 1
        if missing <= 3:
            gone.append(tr("payment {item} expects {text}, which is {where}", item=item, text=text, where=where))
    if not missing:
        return ()
    shown = "; ".join(gone) + (tr("; and {missing} more", missing=missing - 3) if missing > 3 else "")
    return (
        tr(
            "{missing} of {total} numbers that payroll expects are not on hand: {shown}.",
            missing=missing,
            total=total,
            shown=shown,
        ),
    )
