"""The control report of a batch: the register, its totals against the slip, who gets how much, proofs and runs.

It is the sheet for the binder. The latest digest of the book stands on it in full, so that a record altered
later no longer agrees with the paper (`cheque book verify --digest`). Payee and amount stand side by side, new
payees first, because two amounts exchanged between payees pass every total.
"""

from collections.abc import Iterator

from cheque import ordering
from cheque.book import batches
from cheque.book.batches import Batch
from cheque.book.book import Reader
from cheque.book.event import Event
from cheque.payment import Role
from cheque.prove import proof_code
from cheque.reconcile import money
from cheque.reconcile.written import Preprinted
from cheque.report import departments, moved
from cheque.report.control_tables import pulled_table, refused_table, runs_table, totals_table
from cheque.report.page import (
    Cell,
    Column,
    Digest,
    Fact,
    Group,
    Kind,
    Money,
    Place,
    Report,
    Row,
    Table,
    Total,
    line_of,
)
from cheque.report.parts import account_facts, counted, firm
from cheque.report.reconciled import steps_table
from cheque.report.standing import batch_events, event
from cheque.report.when import When, local_minutes
from cheque.settings import Settings
from cheque.tongue import mark, tr

SIGNATURES = (mark("Compared with payroll's slip by"), mark("Printed by"), mark("Numbers reconciled by"))


def build(reader: Reader, settings: Settings, when: When, *, batch: int) -> Report:
    """The control report of a batch. BookRefused when there is none."""
    found = batches.get(reader, batch)
    accepted = event(reader, found.seq)
    every = money.claims(reader, batch)
    fates = money.fates(found, every, money.forms(reader, batch))
    numbers = Preprinted(reader)
    return Report(
        "control",
        tr("Control report, batch {batch}", batch=batch),
        firm(settings, [found.account]),
        when.as_of,
        when.read,
        facts=tuple(_facts(reader, settings, found, accepted)),
        tables=(
            totals_table(found, accepted, every),
            steps_table(money.steps(found, fates, numbers), found),
            pulled_table(reader, found, every),
            refused_table(reader, found),
            _pairs_table(reader, found, every),
            *departments.tables(reader, found, accepted.data),
            _proofs_table(reader, found),
            runs_table(reader, found, numbers),
            *moved.tables(reader, found, numbers),
        ),
        notes=tuple(_notes(found)),
        signatures=SIGNATURES,
    )


def _facts(reader: Reader, settings: Settings, batch: Batch, accepted: Event) -> Iterator[Fact]:
    body = accepted.data
    yield Fact("batch", "Batch", batch.id)
    yield from account_facts(settings, [batch.account])
    yield Fact("currency", "Currency", batch.currency)
    yield Fact("form", "Form", batch.form)
    yield Fact("source", "Register", f"{batch.source} ({batch.kind})")
    if body.get("register"):
        yield Fact("register_digest", tr("Its digest"), Digest(str(body["register"])))
    if batch.pairs:
        yield Fact("pairs_digest", tr("Pairs digest"), Digest(batch.pairs))
    order, group = str(body.get("order", "")), str(body.get("group", ""))
    yield Fact("order", "Printed", ordering.said(order, group))
    if body.get("not_a_duplicate"):
        yield Fact("not_a_duplicate", tr("Not paid twice"), str(body["not_a_duplicate"]))
    if body.get("allowed"):
        yield Fact("allowed", tr("Allowed again"), ", ".join(map(str, body["allowed"])))
    replaces = body.get("replaces")
    if replaces:
        yield Fact(
            "replaces",
            "Replaces",
            tr(
                "{account}:{number}, batch {batch}",
                account=batch.account,
                number=replaces["number"],
                batch=replaces["batch"],
            ),
        )
    yield Fact(
        "accepted",
        "Accepted",
        tr(
            "{local_minutes} by {who} at {station}",
            local_minutes=local_minutes(accepted.at),
            who=accepted.who,
            station=accepted.station,
        ),
    )
    if batch.state != "accepted":
        yield from _withdrawn(reader, batch)
    for told in batch_events(reader, batch.id, "batch.approved"):
        code = proof_code(str(told.data["proof"]))
        yield Fact(
            "approved",
            "Approved",
            tr("{local_minutes} by {who}: proof {code}", local_minutes=local_minutes(told.at), who=told.who, code=code),
        )
    last = reader.head
    yield Fact("book_event", tr("Latest event"), f"{last.seq}, {local_minutes(last.at)}")
    yield Fact("book_digest", tr("Digest of the book"), Digest(last.digest))


def _withdrawn(reader: Reader, batch: Batch) -> Iterator[Fact]:
    for told in batch_events(reader, batch.id, "batch.withdrawn"):
        yield Fact(
            "withdrawn",
            "WITHDRAWN",
            tr(
                "{local_minutes} by {who}: {reason}",
                local_minutes=local_minutes(told.at),
                who=told.who,
                reason=told.data["reason"],
            ),
        )


PAIR_COLUMNS = (
    Column("item", "Line", Kind.COUNT),
    Column("payee", "Payee"),
    Column("amount", "Amount", Kind.MONEY),
    Column("reference", "Reference"),
    Column("note", "Note"),
    Column("new", place=Place.DATA),
)


def _pairs_table(reader: Reader, batch: Batch, every: list[money.Claim]) -> Table:
    new = new_payees(reader, batch)
    references: dict[int, str] = dict(reader.rows("SELECT item, reference FROM claim WHERE batch = ?", batch.id))
    groups = []
    for title, some in (
        (tr("New payees: nothing was paid to them from this account before"), [c for c in every if c.item in new]),
        (tr("Payees paid before"), [c for c in every if c.item not in new]),
    ):
        if some:
            rows = tuple(_pair(claim, batch, references[claim.item], claim.item in new) for claim in some)
            groups.append(Group(title, rows))
    advices = sum(claim.role == Role.ADVICE for claim in every)
    total = Money(sum(claim.amount for claim in every if claim.role != Role.ADVICE), batch.currency)
    what = counted(len(every) - advices, "cheque") if advices else counted(len(every), "payment")
    return Table(
        "payments",
        tr("Payee and amount as accepted: new payees first, each group in the order of printing"),
        PAIR_COLUMNS,
        tuple(groups),
        (Total(what, line_of(PAIR_COLUMNS, {"amount": total})),),
        empty=tr("No payments."),
    )


def _pair(claim: money.Claim, batch: Batch, reference: str, new: bool) -> Row:
    notes = ["advice"] if claim.role == Role.ADVICE else []
    notes += ["pulled"] if claim.pulled else []
    cells: dict[str, Cell] = {
        "item": claim.item,
        "payee": claim.payee,
        "amount": Money(claim.amount, batch.currency),
        "reference": reference,
        "note": ", ".join(notes),
        "new": "yes" if new else "no",
    }
    return line_of(PAIR_COLUMNS, cells)


def new_payees(reader: Reader, batch: Batch) -> set[int]:
    """The payments, by item, whose payee the account paid in no accepted batch before this one."""
    return {
        row[0]
        for row in reader.rows(
            "SELECT c.item FROM claim c WHERE c.batch = ? AND NOT EXISTS (SELECT 1 FROM claim e "
            "JOIN batch b ON b.id = e.batch WHERE e.account = c.account AND e.fresh IN (0, 1, 2) "
            "AND e.payee = c.payee "
            "AND e.batch < c.batch AND b.state = 'accepted')",
            batch.id,
        )
    }


PROOF_COLUMNS = (
    Column("made", "Made"),
    Column("by", "By"),
    Column("code", "Code"),
    Column("latest", "Now"),
    Column("digest", "Digest", place=Place.BELOW),
)


def _proofs_table(reader: Reader, batch: Batch) -> Table:
    rows = []
    for told in batch_events(reader, batch.id, "proof.made"):
        digest = str(told.data["proof"])
        cells: dict[str, Cell] = {
            "made": local_minutes(told.at),
            "by": tr("{who} at {station}", who=told.who, station=told.station),
            "code": proof_code(digest),
            "latest": tr("the one to print by") if digest == batch.proof else "superseded",
            "digest": Digest(digest),
        }
        rows.append(line_of(PROOF_COLUMNS, cells))
    return Table("proofs", "Proofs", PROOF_COLUMNS, (Group("", tuple(rows)),), empty=tr("No proof was made."))


def _notes(batch: Batch) -> Iterator[str]:
    yield (
        tr(
            "The digest of the book is that of its latest event: read it back with `cheque book verify "
            "--digest`. It finds a record altered or cut short since this was printed; it does not prevent "
            "it."
        )
    )
    if batch.pairs:
        yield tr("The pairs digest covers payee and amount of every payment, whatever their order.")
