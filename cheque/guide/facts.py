"""Where a book's batches stand, read from the book: for one batch the facts, and for the start what is unfinished."""

from collections.abc import Container, Iterator
from typing import NamedTuple

from cheque.book import batches, notices, runs, stock
from cheque.book.batches import Batch
from cheque.book.book import Reader
from cheque.book.state import IN_HOUSE
from cheque.guide.step import Facts
from cheque.money import plain
from cheque.shown import escaped
from cheque.tongue import counted, tr


class Since(NamedTuple):
    """What was done to one batch since the guided run began; `code` is the proof whose code was keyed in."""

    code: str = ""
    held_told: bool = False
    reconciled: bool = False
    reported: bool = False
    told: bool = False
    signed: bool = False


def facts_of(reader: Reader, batch: int, since: Since) -> Facts:
    """The facts about one batch; those about none when it is 0 or was withdrawn."""
    found = batches.get(reader, batch) if batch else None
    if found is None or found.state != "accepted":
        return Facts()
    states = {run.state for run in runs.unfinished(reader, batch=batch)}
    return Facts(
        batch=batch,
        waiting=min(batches.left(reader, batch), 1),
        stopped=bool(states - {"finished"}),
        finished="finished" in states,
        held=len(batches.held(reader, batch)),
        to_sign=len(to_sign(reader, batch)),
        approved=bool(found.proof) and found.proof in (since.code, _printed_by(reader, batch)),
        held_told=since.held_told,
        reconciled=since.reconciled,
        reported=since.reported,
        told=since.told,
        signed=since.signed,
    )


def _printed_by(reader: Reader, batch: int) -> str:
    """The proof that the latest run of a batch was begun by: it was looked at then, and its code keyed in."""
    before = runs.of_batch(reader, batch)
    return runs.proof_of(reader, before[-1].id) if before else ""


def to_sign(reader: Reader, batch: int) -> list[int]:
    """The good cheques of a batch that wait to be signed, by number."""
    return [
        row[0]
        for row in reader.rows(
            "SELECT number FROM number WHERE batch = ? AND state = 'printed' AND role = 'cheque' "
            "AND custody = 'to be signed' ORDER BY number",
            batch,
        )
    ]


def unsent(reader: Reader, account: str, batch: int) -> list[int]:
    """The notices of a batch's good cheques that were made and not sent."""
    good = [
        row[0]
        for row in reader.rows(
            "SELECT number FROM number WHERE batch = ? AND state = 'printed' AND role = 'cheque' ORDER BY number", batch
        )
    ]
    return sorted(notices.untold(reader, account, good)[1])


class Unfinished(NamedTuple):
    """A batch that is not done with, and why, in words."""

    batch: Batch
    why: str

    @property
    def sentence(self) -> str:
        """Which it is, and why."""
        one = self.batch
        total = f"{plain(one.total, one.currency)} {one.currency}"
        items = counted(one.items, "payment")
        return tr(
            "batch {id}, {source}, {items}, {total}: {why}",
            id=one.id,
            source=escaped(one.source),
            items=items,
            total=total,
            why=self.why,
        )


def unfinished(reader: Reader) -> list[Unfinished]:
    """Every batch with something left to print, or forms that nobody has answered for; oldest first."""
    found = []
    for batch in batches.current(reader, 0)[0]:
        if batch.state != "accepted":
            continue
        why = "; ".join(_why(reader, batch))
        if why:
            found.append(Unfinished(batch, why))
    return found


def _why(reader: Reader, batch: Batch) -> Iterator[str]:
    states = {run.state for run in runs.unfinished(reader, batch=batch.id)}
    if states - {"finished"}:
        yield tr("its run stopped, forms are in doubt")
    if "finished" in states:
        yield tr("printed, and nobody has looked yet")
    left = batch.waits
    if left and states:
        yield tr("{left} more to print", left=left)
    elif left:
        yield tr("{left} to print", left=left) if batch.proof else tr("its proof is to be looked at")
    if held := len(batches.held(reader, batch.id)):
        yield tr("{held} held back, their forms missing", held=held)


class Attention(NamedTuple):
    """One thing to be seen to before cheques are handed over; `batch` 0 when it is of none."""

    sentence: str
    batch: int = 0


def before_handover(reader: Reader, told: Container[str] = ()) -> list[Attention]:
    """What is to be seen to before cheques are handed over.

    Stops that the bank has not confirmed; cheques to be signed; for the accounts in `told`, whose bank is told by a
    notice, cheques that no notice that was sent tells of.
    """
    found = []
    for account, number, state in reader.rows(
        "SELECT account, number, state FROM number WHERE stop <> '' "  # as its index has it
        "AND stop IN ('needed', 'overridden', 'requested', 'refused') ORDER BY account, number"
    ):
        which = f"{account}:{preprinted(reader, account, number)}"
        found.append(
            Attention(tr("{which} is {state}: the bank has not confirmed that it stopped it", which=which, state=state))
        )
    for batch, account, count, low, high in reader.rows(
        f"SELECT batch, account, count(*), min(number), max(number) FROM number WHERE {IN_HOUSE} "
        "AND role = 'cheque' AND custody = 'to be signed' GROUP BY batch, account ORDER BY batch"
    ):
        first, last = preprinted(reader, account, low), preprinted(reader, account, high)
        which = (
            tr("cheque {first}", first=first)
            if count == 1
            else tr("{count} cheques between {first} and {last}", count=count, first=first, last=last)
        )
        found.append(Attention(tr("batch {batch}: {which} to be signed", batch=batch, which=which), batch))
    return [*found, *_untold(reader, told)]


def preprinted(reader: Reader, account: str, number: int) -> str:
    """A number as it is preprinted, leading zeros and all."""
    return stock.range_of(reader, account, number).text(number)


def _untold(reader: Reader, told: Container[str]) -> Iterator[Attention]:
    """Cheques that are still in the house, and that the bank does not know of."""
    here: dict[tuple[int, str], list[int]] = {}
    for batch, account, number in reader.rows(
        f"SELECT batch, account, number FROM number WHERE {IN_HOUSE} AND role = 'cheque' "
        "ORDER BY batch, account, number"
    ):
        if account in told:
            here.setdefault((batch, account), []).append(number)
    for (batch, account), numbers in here.items():
        never, made = notices.untold(reader, account, numbers)
        if never:
            what = "1 cheque" if len(never) == 1 else tr("{count} cheques", count=len(never))
            yield Attention(tr("batch {batch}: the bank has not been told of {what}", batch=batch, what=what), batch)
        for notice in sorted(made):
            yield Attention(
                tr("batch {batch}: notice {notice} to the bank is made, and not sent", batch=batch, notice=notice),
                batch,
            )
