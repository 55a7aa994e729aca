"""From events to tables: what each kind of event changes. One small function a kind, in the tables `KINDS`,
one file for each group of kinds.

These functions judge little twice: a rule of the trade is refused, with what to do, by the commands that
append events (`stock`, `batches`, `runs`, `cheques`). But whatever would break a promise of the book is
refused here too, so that no path around the commands can do it.

A body is the same whatever language is spoken, but for what is only told: why an attempt was refused, why a run
stopped, and the reason of a form that went down with another of its payment. Those stand as they were said to whoever
was there, in the language of that person, as a note in a binder does: a record of what was told would be none if it
were told anew, and those who read the binder in another language find the numbers and sums beside it. Nothing reads
or compares them. (The log of a station is told likewise, for the same reason.)

The bodies, for good. Every number is an `account` and a whole number; `first` and `last` are a range of them.

    book.begun        book, format
    stock.received    account, form, first, last, digits
    stock.counted     account, first, last, counted, expected
    stock.destroyed   account, first, last, witness, reason
    batch.refused     what was given and what was found: of its own making, told and never used; `why` as it was said
    batch.accepted    batch, account, form, form_digest, currency, items, total, hash, source, kind, register,
                      pairs, payments; replaces (number, batch, item) for a reprint; order, group and collation when
                      it is not in the register's order; not_a_duplicate; apart (batch, items: [first, last]
                      each) for advices of a batch on a form of their own; encoding, when the register's
                      was named beside its map; more that is only told
    payment.pulled    batch, item, reason
    batch.withdrawn   batch, reason
    proof.made        batch, proof, pages
    run.begun         run, batch, account, printer, address, language, proof, forms: [number, item, how many] each;
                      continuations, where stubs go on on further forms: [number, item, how many] each
    run.sent          run, first, last, digest, length, k
    run.stopped       run, cause
    run.finished      run
    paper.seen        run, how, good and blank: [first, last] each, spoiled and missing: [first, last, reason] each
    form.spoiled      account, first, last, reason
    form.missing      account, first, last, reason
    form.found        account, first, last, as (on hand, spoiled), reason
    cheque.voided     account, number, reason, paper (in hand, returned, not in hand); asked (the event that asked)
    cheque.disposed   account, number, disposition (reissue, still owed, not owed, paid otherwise), reason
    cheque.manual     account, number, batch, item, reason; asked
    batch.approved    batch, proof
    second.asked      kind, body: of the event that a second person is asked for
    second.dropped    asked
    stop.requested    account, number, reason, told, on, notice (0 when it was asked for without a file); by
    stop.confirmed    account, number, by, on; lapses (the last day of it, or ""), spoken (1), reason, told
    stop.renewed      account, number, by, on, lapses
    stop.refused      account, number, by, on, told
    stop.overridden   account, number, reason
    custody.changed   account, first, last, place (to be signed, held, handed over, mailed, returned), to
    shift.set         printer, form, right, down
    numbers.moved     account, first, last, by, left (spoiled, missing), reason, approved
    statement.read    account, statement (its name), source, digest, first, last (days), entries, fresh, lists
                      (texts of items, as in `apply/bank.py`); opening, closing where it gives balances
    notice.made       notice, what (issued, stopped), written (text, camt.107, camt.108), name, file, digest, layout
                      (the digest of its text, or ""), numbers: [account, mark (issue, void, stop), first, last] each,
                      items, totals: [currency, minor units] each, again (why a second time, or "")
    notice.sent       notice, by (how, or through whom), on
    notice.accepted   notice, by, on
    notice.refused    notice, by, on, reason
    book.moved        to: it goes to another place, and only `book.arrived` follows
    book.arrived      from, to
    book.placed       from, to: somebody said that it was moved here by other means
    book.restored     to, digest (of the paper, or ""), gaps: [account, first, last] each; before anything prints they
                      are accounted for
    opening.entered   account, form, first, last, digits, batch, item: cheques out before the book was begun
"""

from cheque.book.apply import bank, batches, cheques, duties, notices, numbers, owed, places, runs
from cheque.book.apply.law import Apply, Body, law
from cheque.book.event import Event
from cheque.book.move import ranges_of as ranges_of
from cheque.book.move import stock_of as stock_of
from cheque.book.store import Store
from cheque.errors import BookRefused
from cheque.tongue import tr


def apply(store: Store, event: Event, body: Body) -> None:
    """Bring the derived tables up to this event. BookRefused when it breaks the law of states."""
    if event.kind not in KINDS:
        raise BookRefused(
            tr(
                "event {seq} is of a kind {kind!r} that this version does not know: the book was written by a "
                "newer one. Use that one.",
                seq=event.seq,
                kind=event.kind,
            )
        )
    KINDS[event.kind](store, event, body)


def _begun(store: Store, event: Event, body: Body) -> None:
    law(event, event.seq == 1, "a book begins once")


KINDS: dict[str, Apply] = {
    "book.begun": _begun,
    **numbers.KINDS,
    **batches.KINDS,
    **runs.KINDS,
    **cheques.KINDS,
    **bank.KINDS,
    **notices.KINDS,
    **places.KINDS,
    **owed.KINDS,
    **duties.KINDS,
}
