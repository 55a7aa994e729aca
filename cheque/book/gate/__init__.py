"""A book under roles: on a PostgreSQL server, where stations may only knock at doors that the database itself keeps.

Beside the book's schema stands another, its *gate*, with functions that run as the book's owner. A station calls
`append` with its own name, a kind and a body, and nothing else: who, when, the number and the digest are the server's;
that this person may do it, that the duties asked are kept and that the step is lawful are judged there, behind the
lock of the head. The same functions bring the derived tables up to the event; they say again in PL/pgSQL what
`cheque.book.apply` says in Python, and `cheque book verify`, which rebuilds the tables with the latter, holds the two
against each other whenever it is run.
"""

from typing import NamedTuple

#: who does what; each is a role at the server that people are granted
HANDS = ("reader", "preparer", "approver", "printer", "reconciler", "auditor")
#: who owns the tables: not a hand of the office
OWNER = "owner"

_NOTICES = ("notice.made", "notice.sent", "notice.accepted", "notice.refused")
_STOPS = ("stop.requested", "stop.confirmed", "stop.renewed", "stop.refused")
_SECOND = ("second.asked", "second.dropped")
#: which hand may append which kind of event, to begin with (common practice: take the register, approve it, hold the
#: forms and print, reconcile are four hands)
ALLOWED: dict[str, tuple[str, ...]] = {
    OWNER: ("opening.entered", "batch.accepted", "book.placed", "book.restored", "book.moved", "book.arrived"),
    "reader": (),
    "preparer": (
        *("batch.refused", "batch.accepted", "payment.pulled", "batch.withdrawn", "proof.made", "cheque.disposed"),
        *("stop.overridden", "stop.requested", *_SECOND),
    ),
    "approver": (
        *("batch.approved", "proof.made", "payment.pulled", "batch.withdrawn", "cheque.voided", "cheque.manual"),
        *("cheque.disposed", "custody.changed", "stock.received", "stock.counted", "stock.destroyed", "form.found"),
        *("numbers.moved", *_SECOND, *_STOPS, *_NOTICES),
    ),
    "printer": (
        *("proof.made", "run.begun", "run.sent", "run.stopped", "run.finished", "paper.seen", "shift.set"),
        *("form.spoiled", "form.missing", "form.found", "stock.counted", "custody.changed", *_SECOND),
    ),
    "reconciler": (
        *("statement.read", "stock.counted", "custody.changed", "cheque.disposed", "stop.requested", *_SECOND),
        *(_STOPS[1:]),
        *_NOTICES,
    ),
    "auditor": ("stock.counted",),
}


class Asks(NamedTuple):
    """The duties that are asked. `over`: account -> minor units above which two approve a batch."""

    approve: bool
    reconcile: bool
    second_person: bool
    over: dict[str, int]


def schema_of(schema: str) -> str:
    """The name of the gate's schema, beside a book's."""
    return f"{schema}_roles"
