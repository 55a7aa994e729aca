"""The smaller tables of the control report: totals against the slip, payments pulled, attempts refused, runs."""

from collections.abc import Iterator

from cheque.book import duties, runs
from cheque.book.batches import Batch
from cheque.book.book import Reader
from cheque.book.event import Event
from cheque.book.state import State
from cheque.money import plain
from cheque.payment import Role
from cheque.reconcile import money
from cheque.reconcile.written import Preprinted, within
from cheque.report.page import Cell, Column, Digest, Group, Kind, Money, Place, Table, Total, line_of
from cheque.report.parts import counted
from cheque.report.standing import batch_events
from cheque.report.when import local_minutes
from cheque.tongue import tr

TOTAL_COLUMNS = (
    Column("total", "Total"),
    Column("given", "On the slip", to_right=True),
    Column("found", "In the register", to_right=True),
    Column("agrees", "Agrees"),
)


def totals_table(batch: Batch, accepted: Event, every: list[money.Claim]) -> Table:
    """Every total that was keyed in, beside the register's own."""
    body = accepted.data
    hashed = batch.hash if body.get("hash_column") or batch.hash else None
    rows: list[tuple[str, Cell, Cell]] = [
        (tr("Item count"), body.get("given_item_count"), batch.items),
        (tr("Control total"), _money(body.get("given_control_total"), batch), Money(batch.total, batch.currency)),
        (tr("Hash total"), body.get("given_hash_total"), hashed),
    ]
    given = str(body.get("given_pairs_digest", ""))
    if given:
        rows.append(("Pairs digest", given, Digest(batch.pairs)))
    notes = (
        [tr("Hash total: the sum of the column {hash_column!r}.", hash_column=body["hash_column"])]
        if body.get("hash_column")
        else []
    )
    advices = sum(claim.amount for claim in every if claim.role == Role.ADVICE)
    transfers = body.get("transfers", advices)  # parts of net pay are in it, and in no claim
    if transfers:
        notes.append(
            tr("Paid by transfer, and not in the control total: {amount}.", amount=plain(transfers, batch.currency))
        )
    lines = tuple(
        line_of(TOTAL_COLUMNS, {"total": name, "given": given, "found": found, "agrees": _agrees(given, found)})
        for name, given, found in rows
        if given is not None or found is not None
    )
    return Table("totals", "Totals", TOTAL_COLUMNS, (Group("", lines),), notes=tuple(notes))


def _money(given: int | None, batch: Batch) -> Money | None:
    return None if given is None else Money(given, batch.currency)


def _agrees(given: Cell, found: Cell) -> str:
    if given is None:
        return tr("not given")
    if isinstance(found, Digest):
        return "yes" if found.hex.startswith("".join(str(given).split()).lower()) else "NO"
    return "yes" if given == found else "NO"


PULLED_COLUMNS = (
    Column("item", "Line", Kind.COUNT),
    Column("payee", "Payee"),
    Column("amount", "Amount", Kind.MONEY),
    Column("reason", "Reason"),
    Column("pulled", "Pulled"),
)


def pulled_table(reader: Reader, batch: Batch, every: list[money.Claim]) -> Table:
    """Payments taken out of the batch: why, when, by whom."""
    told = {event.data["item"]: event for event in batch_events(reader, batch.id, "payment.pulled")}
    pulled = [claim for claim in every if claim.pulled]
    rows = [
        line_of(
            PULLED_COLUMNS,
            {
                "item": claim.item,
                "payee": claim.payee,
                "amount": Money(claim.amount, batch.currency),
                "reason": claim.pulled,
                "pulled": tr(
                    "{local_minutes} by {who}",
                    local_minutes=local_minutes(told[claim.item].at),
                    who=told[claim.item].who,
                ),
            },
        )
        for claim in pulled
    ]
    amount = Money(sum(claim.amount for claim in pulled), batch.currency)
    total = Total(counted(len(pulled), "payment"), line_of(PULLED_COLUMNS, {"amount": amount}))
    totals = (total,) if pulled else ()
    return Table(
        "pulled", tr("Payments pulled"), PULLED_COLUMNS, (Group("", tuple(rows)),), totals, empty=tr("None was pulled.")
    )


REFUSED_COLUMNS = (
    Column("when", "When"),
    Column("by", "By"),
    Column("source", "Register"),
    Column("item_count", "Item count given", Kind.COUNT),
    Column("control_total", "Total given", Kind.MONEY),
    Column("why", "Why", place=Place.BELOW),
)


def refused_table(reader: Reader, batch: Batch) -> Table:
    """Attempts at accepting that were refused since the account's batch before was accepted."""
    rows = []
    for told in _refused(reader, batch):
        body = told.data
        cells: dict[str, Cell] = {
            "when": local_minutes(told.at),
            "by": told.who,
            "source": str(body.get("source", "")),
            "item_count": body.get("given_item_count"),
            "control_total": _money(body.get("given_control_total"), batch),
            "why": _first_line(str(body.get("why", ""))),
        }
        rows.append(line_of(REFUSED_COLUMNS, cells))
    return Table(
        "refused",
        tr("Attempts refused since the account's batch before"),
        REFUSED_COLUMNS,
        (Group("", tuple(rows)),),
        empty=tr("None was refused."),
    )


def _refused(reader: Reader, batch: Batch) -> Iterator[Event]:
    before = reader.value(
        "SELECT max(seq) FROM batch WHERE account = ? AND seq < ? AND kind <> 'reprint'", batch.account, batch.seq
    )
    for row in reader.rows(
        "SELECT seq, at, who, station, kind, body, prev, digest FROM event WHERE seq > ? AND seq < ? "
        "AND kind = 'batch.refused' ORDER BY seq",
        before or 0,
        batch.seq,
    ):
        told = Event(*row)
        if told.data.get("account", batch.account) == batch.account:
            yield told


def _first_line(text: str) -> str:
    """The reason in one line; what follows it were hints to the one who keyed it in."""
    return " ".join(text.split("\n  ")[:2]) if "\n" in text else text


RUN_COLUMNS = (
    Column("run", "Run", Kind.COUNT),
    Column("numbers", "Numbers"),
    Column("printer", "Printer"),
    Column("good", "Good", Kind.COUNT),
    Column("voided", "Void", Kind.COUNT),
    Column("spoiled", "Spoiled", Kind.COUNT),
    Column("missing", "Missing", Kind.COUNT),
    Column("doubt", "In doubt", Kind.COUNT),
    Column("begun", "Begun", place=Place.BELOW),
    Column("by", "By", place=Place.BELOW),
    Column("ended", "Ended", place=Place.BELOW),
)
_STATES = {
    State.PRINTED: "good",
    State.VOIDED: "voided",
    State.SPOILED: "spoiled",
    State.MISSING: "missing",
    State.SENT: "doubt",
    State.RESERVED: "doubt",
}


def runs_table(reader: Reader, batch: Batch, numbers: Preprinted) -> Table:
    """Every run of the batch, and what became of its forms."""
    rows = []
    for run in runs.of_batch(reader, batch.id):
        counts = dict.fromkeys(("good", "voided", "spoiled", "missing", "doubt"), 0)
        stocks = [0]
        for form in within(reader, run.account, run.first, run.last):
            stocks.append(form.stock)
            if form.run == run.id and State(form.state) in _STATES:
                counts[_STATES[State(form.state)]] += 1
        cells: dict[str, Cell] = {
            "run": run.id,
            "begun": local_minutes(run.at),
            "by": duties.beginner(reader, run.id),
            "printer": f"{run.printer} ({run.language})",
            "numbers": numbers.stretch(stocks[-1], run.first, run.last),
            **counts,
            "ended": run.cause or ("" if run.state == "closed" else run.state),
        }
        rows.append(line_of(RUN_COLUMNS, cells))
    return Table("runs", "Runs", RUN_COLUMNS, (Group("", tuple(rows)),), empty=tr("Nothing was printed."))
