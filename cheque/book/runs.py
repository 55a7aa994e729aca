"""Runs in the book: numbers reserved, windows sent, and what a person saw on the paper afterwards.

reserved -> sent happens before the bytes go, a window of forms at a time, each a durable commit. A run that was
interrupted leaves forms that are *sent*, which are in doubt, and forms merely *reserved*, which were never
sent. Nothing is guessed: `seen` takes what a person saw, and every number of the run must be in it.
"""

import json
from collections import Counter
from collections.abc import Iterable
from typing import NamedTuple

from cheque.book import batches, cleared, gaps, stock
from cheque.book.book import Book, Reader
from cheque.book.move import ranges_of
from cheque.book.ranges import Plan, Ranges
from cheque.book.state import State
from cheque.errors import BookRefused, UsageRefused
from cheque.payment import Role
from cheque.tongue import tr


class Run(NamedTuple):
    """One run as the book has it. `state`: open, stopped, finished (all sent, nobody looked), closed."""

    id: int
    batch: int
    account: str
    printer: str
    address: str
    language: str
    first: int
    last: int
    state: str
    cause: str
    at: str


class Form(NamedTuple):
    """One form of a run: its number, the payment on it, its state, and whether only its stub goes on there."""

    number: int
    item: int
    state: State
    goes_on: bool = False


class Seen(NamedTuple):
    """What a person saw on the paper of a run. `spoiled` and `missing` give number -> reason."""

    good: tuple[int, ...]
    spoiled: dict[int, str]
    missing: dict[int, str]
    blank: tuple[int, ...]


_COLUMNS = ", ".join(Run._fields)


def unfinished(reader: Reader, *, batch: int = 0, printer: str = "") -> list[Run]:
    """Runs that nobody has answered for, oldest first."""
    rows = reader.rows(f"SELECT {_COLUMNS} FROM run WHERE state <> 'closed' ORDER BY id")
    found = [Run(*row) for row in rows]
    return [run for run in found if batch in (0, run.batch) and printer in ("", run.printer)]


def get(reader: Reader, run: int) -> Run:
    """A run by its number. BookRefused when there is none."""
    row = reader.row(f"SELECT {_COLUMNS} FROM run WHERE id = ?", run)
    if row is None:
        raise BookRefused(tr("there is no run {run} in the book.", run=run))
    return Run(*row)


def proof_of(reader: Reader, run: int) -> str:
    """The digest of the proof that a run was begun by: what was looked at and keyed in then."""
    body = reader.value("SELECT e.body FROM run r JOIN event e ON e.seq = r.seq WHERE r.id = ?", run)
    return str(json.loads(body)["proof"]) if body else ""


def of_batch(reader: Reader, batch: int) -> list[Run]:
    """Every run of a batch, oldest first."""
    return [Run(*row) for row in reader.rows(f"SELECT {_COLUMNS} FROM run WHERE batch = ? ORDER BY id", batch)]


def forms(reader: Reader, run: int) -> list[Form]:
    """The forms that a run holds: reserved ones and those in doubt, by number."""
    return [
        Form(number, item, State(state), role == Role.CONTINUATION)
        for number, item, state, role in reader.rows(
            "SELECT number, item, state, role FROM number WHERE run = ? AND state IN ('reserved', 'sent') "
            "ORDER BY number",
            run,
        )
    ]


def plan(reader: Reader, batch: int, first: int, count: int = 0, *, skip: int = 0) -> Plan:
    """Which number gets which payment: (number, item), from the number at the printer's head on.

    BookRefused, with the number and why, unless every one of them is on hand, in one box, of the right form.
    `count` is how many forms at most, 0 for all; `skip` how many payments go to another printer before these. A
    payment whose stub goes on has all its forms in one plan, or none.
    """
    if count < 0:
        raise UsageRefused(tr("found a count of {count} forms; wanted 1 or more.", count=count))
    found = batches.get(reader, batch)
    planned = to_print(reader, batch, first, count, skip=skip)
    items = planned.items
    if not items:
        raise BookRefused(tr("batch {batch} has no payment that lacks a form: there is nothing to print.", batch=batch))
    box = stock.range_of(reader, found.account, first)
    if box.form != found.form:
        raise BookRefused(
            tr(
                "number {first} of {account} is on {form} stock, but batch {batch} was accepted for {form2}. "
                "Load that form, or withdraw the batch and accept it for {form}.",
                first=box.text(first),
                account=found.account,
                form=box.form,
                batch=batch,
                form2=found.form,
            )
        )
    last = first + len(planned) - 1
    if last > box.last:
        more = tr(", which need {count} forms", count=len(planned)) if len(planned) > len(items) else ""
        raise BookRefused(
            tr(
                "the box ends at {last}: {last2} forms for {count} payments{more}. Print the first {last2} with "
                "--count, then the rest from the next box; or name that with --then.",
                last=box.text(box.last),
                last2=box.last - first + 1,
                count=len(items),
                more=more,
            )
        )
    free = stock.on_hand(reader, box, first, last)
    if free != [[first, last]]:
        bad = first if not free or free[0][0] != first else free[0][1] + 1
        state = stock.state_of(reader, found.account, bad)
        raise BookRefused(
            tr(
                "number {bad} of {account} is {state}, so it cannot be printed on. ",
                bad=box.text(bad),
                account=found.account,
                state=tr(state),
            )
            + (
                tr(
                    "Look at the number on the form at the head: it is not {first}, or the book must be told first "
                    "what became of it.",
                    first=box.text(first),
                )
                if bad == first
                else tr(
                    "Print up to it with --count {bad}, then go on from the next number on the paper.", bad=bad - first
                )
            )
        )
    cleared.bar(reader, found.account, first, last, box.digits, tr("nothing is printed on it: spoil it first"))
    _unpaid(reader, batch, items)
    return planned


def to_print(reader: Reader, batch: int, first: int, count: int = 0, *, skip: int = 0) -> Plan:
    """As `plan`, before it is held against the stock: the payments that wait, each with all the forms it takes.

    UsageRefused when not even the first of them has room within `count` forms.
    """
    items = batches.waiting(reader, batch, skip + count if count else batches.ALL)[skip:]
    further = batches.further(reader, batch) if items else {}
    if count and further:
        forms = kept = 0
        for item in items:
            forms += 1 + further.get(item, 0)
            if forms > count:
                break
            kept += 1
        if not kept:
            takes = 1 + further.get(items[0], 0)
            raise UsageRefused(
                tr(
                    "payment {items} of batch {batch} takes {takes} forms, and they are not torn apart: there is "
                    "room for {count}. Give it more, or go on in the next box.",
                    items=items[0],
                    batch=batch,
                    takes=takes,
                    count=count,
                )
            )
        items = items[:kept]
    return Plan(first, items, further)


def _unpaid(reader: Reader, batch: int, items: Ranges) -> None:
    """Refuse to print a payment that the bank has paid already, on a form that was no good cheque here."""
    paid = cleared.of_items(reader, batch, items[0], items[-1])
    for item, one in paid:
        if item in items:
            raise BookRefused(
                tr(
                    "payment {item} of batch {batch} was paid by the bank on {booked}, on number {number}, so it is "
                    "not printed again: `cheque batch pull {batch} {item}` takes it out.",
                    item=item,
                    batch=batch,
                    booked=one.booked,
                    number=one.number,
                )
            )


class Part(NamedTuple):
    """What one printer takes of a batch: so many forms from a number on."""

    printer: str
    address: str
    language: str
    first: int
    forms: int


def begin_together(book: Book, *, batch: int, proof: str, parts: Iterable[Part]) -> list[tuple[int, Plan]]:
    """Reserve the numbers for several runs of a batch side by side: all of them, or none.

    The payments go to the parts in order; gives each part's run and plan.
    """
    begun: list[tuple[int, Plan]] = []
    with book.change():
        for part in parts:
            beside = [run for run, _ in begun]
            printer, address, language, first, forms = part
            begun.append(
                begin(
                    book,
                    batch=batch,
                    printer=printer,
                    address=address,
                    language=language,
                    first=first,
                    count=forms,
                    proof=proof,
                    beside=beside,
                )
            )
    return begun


def begin(
    book: Book,
    *,
    batch: int,
    printer: str,
    address: str,
    language: str,
    first: int,
    count: int,
    proof: str,
    beside: Iterable[int] = (),
) -> tuple[int, Plan]:
    """Reserve the numbers for a run, all in one transaction; gives the run's number and its plan.

    While the batch has a run that nobody answered for, no other begins, except beside those named in `beside`:
    the payments and numbers that such a run holds stay its own.
    """
    with book.change() as change:
        found = batches.get(book, batch)
        if found.state != "accepted":
            raise BookRefused(tr("batch {batch} was withdrawn; nothing of it can be printed.", batch=batch))
        gaps.refuse_unaccounted(book)
        if not found.proof or found.proof != proof:
            raise BookRefused(
                tr(
                    "the proof of batch {batch} is not the latest one: make a proof, look at it, key in its code.",
                    batch=batch,
                )
            )
        known = set(beside)
        for run in unfinished(book):
            same_printer = run.printer == printer and run.state != "finished"
            if same_printer or (run.batch == batch and run.id not in known):
                raise BookRefused(
                    tr(
                        "run {id} of batch {batch} on {printer} was not answered for: `cheque resume {batch}` or "
                        "`cheque "
                        "confirm {batch}` first.",
                        id=run.id,
                        batch=run.batch,
                        printer=run.printer,
                    )
                )
        planned = plan(book, batch, first, count)
        run_id = int(book.value("SELECT coalesce(max(id), 0) + 1 FROM run"))
        change.append(
            "run.begun",
            {
                "run": run_id,
                "batch": batch,
                "account": found.account,
                "printer": printer,
                "address": address,
                "language": language,
                "proof": proof,
                "forms": planned.stretches,
                **({"continuations": planned.continuations} if planned.continuations else {}),
            },
        )
    return run_id, planned


def sent(book: Book, run: int, first: int, last: int, *, digest: str, length: int, k: int) -> None:
    """A window of forms is about to go: `digest` is SHA-256 of its `length` bytes; k the first form's place.

    BookRefused, and nothing may be sent, when the numbers are not (or no longer) reserved for this run.
    """
    with book.change() as change:
        change.append(
            "run.sent", {"run": run, "first": first, "last": last, "digest": digest, "length": length, "k": k}
        )


def stopped(book: Book, run: int, cause: str) -> None:
    """The run stopped before its end. BookRefused when it had ended, or was answered for."""
    cause = " ".join(cause.split()).encode(errors="backslashreplace").decode()
    with book.change() as change:
        _going(book, run)
        change.append("run.stopped", {"run": run, "cause": cause})


def finished(book: Book, run: int) -> None:
    """Every form of the run was sent; a person has to look now. BookRefused as for `stopped`."""
    with book.change() as change:
        _going(book, run)
        change.append("run.finished", {"run": run})


def _going(book: Book, run: int) -> None:
    found = get(book, run)
    if found.state == "closed":
        raise BookRefused(
            tr("run {run} was answered for already, from elsewhere: nothing more of it is sent or said.", run=run)
        )
    if found.state != "open":
        raise BookRefused(tr("run {run} is {state} already.", run=run, state=tr(found.state)))


def seen(book: Book, run: int, what: Seen, *, how: str) -> None:
    """What a person saw on the paper closes a run. Every number it holds must be answered for, once.

    `how` is the command it was told to. Reserved numbers were never sent: they cannot be good.
    """
    with book.change() as change:
        found = get(book, run)
        if found.state == "closed":
            raise BookRefused(
                tr("run {run} was answered for already; `cheque show NUMBER` tells what was said.", run=run)
            )
        _answered(forms(book, run), what, stock.range_of(book, found.account, found.first))
        change.append(
            "paper.seen",
            {
                "run": run,
                "how": how,
                "good": ranges_of(sorted(what.good)),
                "spoiled": _reasons(what.spoiled),
                "missing": _reasons(what.missing),
                "blank": ranges_of(sorted(what.blank)),
            },
        )


def _answered(held: list[Form], what: Seen, box: stock.Range) -> None:
    text = box.text
    told: list[int] = [*what.good, *what.spoiled, *what.missing, *what.blank]
    states = {form.number: form.state for form in held}
    for number in told:
        if number not in states:
            raise BookRefused(
                tr(
                    "number {number} is not in doubt in this run, so nothing can be said of it here.",
                    number=text(number),
                )
            )
    twice = min((number for number, times in Counter(told).items() if times > 1), default=0)
    if twice:
        raise UsageRefused(tr("number {twice} is answered for twice: say one thing of it.", twice=text(twice)))
    left = sorted(set(states) - set(told))
    if left:
        raise UsageRefused(
            tr("nothing is said of number {left}", left=text(left[0]))
            + (tr(" and {count} more", count=len(left) - 1) if len(left) > 1 else "")
            + tr(": every form in doubt must be answered for.")
        )
    for number in what.good:
        if states[number] is not State.SENT:
            raise BookRefused(
                tr(
                    "number {number} was never sent to the printer, so it cannot be a good cheque. Look again: "
                    "either a form was skipped, or another print used it.",
                    number=text(number),
                )
            )
    pays = {form.item: form.number for form in held if not form.goes_on}
    for form in held:
        if form.goes_on and form.number in what.good and pays.get(form.item) not in what.good:
            raise BookRefused(
                tr(
                    "number {number} only goes on with {get}, which is not good: so it is not good either.",
                    number=text(form.number),
                    get=text(pays.get(form.item, 0)),
                )
            )


def _reasons(told: dict[int, str]) -> list[list[int | str]]:
    """Number -> reason as ranges with one reason each."""
    found: list[list[int | str]] = []
    for number in sorted(told):
        reason = stock.said(told[number], tr("a reason is wanted for number {number}.", number=number))
        if found and found[-1][1] == number - 1 and found[-1][2] == reason:
            found[-1][1] = number
        else:
            found.append([number, number, reason])
    return found
