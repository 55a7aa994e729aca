"""The tables of a book: what is written once, and what is derived from it and can be rebuilt.

Written once: `event` (the chain), `payment` and `content` (what events refer to by digest: the payments of a
batch, a form definition), `proof_page` (the page digests of a proof, by the event that made it). Everything
else is derived. A number that has no row in `number` is on hand when a range of `stock` holds it.

The laws that must never break are held by the database itself as well as by the code: what is written once
is neither changed nor removed, an event follows the last, a form goes from state to state as the diagram
says and carries one payment for ever (but for numbers that were found to stand otherwise on the paper, which an
event moves), and a payment has one live cheque.
"""

from cheque.book import schema_bank, schema_duties, schema_notices, schema_owed, schema_places
from cheque.book.event import GENESIS
from cheque.book.schema_registers import REGISTERS
from cheque.book.state import FOLLOWS, IN_HOUSE, LIVE, WASTE, State

#: marks a SQLite file as a book of this tool ("chqb")
APPLICATION = 0x63687162
#: marks a copy of a book that nobody has said to be the book yet ("chqc"): a backup
COPIED = 0x63687163

#: Raise it when the derived tables change: an older book's are then rebuilt from its events when opened.
DERIVED_VERSION = 4


def _never(table: str, what: str) -> tuple[str, str]:
    """Triggers that keep what is written once."""
    made = (
        f"CREATE TRIGGER {table}_never_{verb}d BEFORE {verb.upper()} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{what} is never changed'); END"
        for verb in ("update", "delete")
    )
    return next(made), next(made)


WRITTEN_ONCE = (
    """CREATE TABLE event (
        seq INTEGER PRIMARY KEY, at TEXT NOT NULL, who TEXT NOT NULL, station TEXT NOT NULL,
        kind TEXT NOT NULL, body TEXT NOT NULL, prev TEXT NOT NULL, digest TEXT NOT NULL) STRICT""",
    f"""CREATE TRIGGER event_follows BEFORE INSERT ON event
        WHEN NEW.seq IS NOT coalesce((SELECT max(seq) FROM event), 0) + 1
        OR NEW.prev IS NOT coalesce((SELECT digest FROM event WHERE seq = NEW.seq - 1), '{GENESIS}')
        BEGIN SELECT RAISE(ABORT, 'an event follows the one before it'); END""",
    *_never("event", "what happened"),
    # `body`: as `cheque.payment.to_kept` writes it, a third of the text that the event's digest is of
    """CREATE TABLE payment (
        batch INTEGER NOT NULL, item INTEGER NOT NULL, body TEXT NOT NULL,
        PRIMARY KEY (batch, item)) STRICT, WITHOUT ROWID""",
    *_never("payment", "a payment"),
    "CREATE TABLE content (digest TEXT NOT NULL PRIMARY KEY, body TEXT NOT NULL) STRICT",
    *_never("content", "a text that events refer to"),
    # `digest`: 32 bytes for each form that the payment takes, one after the other
    """CREATE TABLE proof_page (
        seq INTEGER NOT NULL, item INTEGER NOT NULL, digest BLOB NOT NULL,
        PRIMARY KEY (seq, item)) STRICT, WITHOUT ROWID""",
    *_never("proof_page", "a page of a proof"),
)


def _names(states: frozenset[State]) -> str:
    return ", ".join(f"'{state}'" for state in sorted(states))


_LAWFUL = ", ".join(f"'{before}>{after}'" for before in State for after in sorted(FOLLOWS[before]))
_RETURNS = _names(frozenset(state for state in State if State.ON_HAND in FOLLOWS[state]))

#: table -> (how to make it, its indexes, its guards)
DERIVED: dict[str, tuple[str, ...]] = {
    "stock": (
        """CREATE TABLE stock (
            id INTEGER PRIMARY KEY, account TEXT NOT NULL, form TEXT NOT NULL, first INTEGER NOT NULL,
            last INTEGER NOT NULL, digits INTEGER NOT NULL, seq INTEGER NOT NULL,
            CHECK (first >= 1 AND last >= first)) STRICT""",
        "CREATE UNIQUE INDEX stock_range ON stock (account, first)",
        """CREATE TRIGGER stock_apart BEFORE INSERT ON stock WHEN EXISTS (SELECT 1 FROM stock
            WHERE account = NEW.account AND first <= NEW.last AND last >= NEW.first)
            BEGIN SELECT RAISE(ABORT, 'a number is received once'); END""",
    ),
    # `taken`: the event that put a payment on the form; `sent`: the one by which bytes for it may have left,
    # 0 when none; `seq`: the one that put it in the state it is in
    "number": (
        """CREATE TABLE number (
            account TEXT NOT NULL, number INTEGER NOT NULL, stock INTEGER NOT NULL, state TEXT NOT NULL,
            role TEXT NOT NULL, batch INTEGER NOT NULL, item INTEGER NOT NULL, run INTEGER NOT NULL,
            origin_batch INTEGER NOT NULL, origin_item INTEGER NOT NULL, taken INTEGER NOT NULL,
            sent INTEGER NOT NULL, reason TEXT NOT NULL, custody TEXT NOT NULL, stop TEXT NOT NULL,
            seq INTEGER NOT NULL, PRIMARY KEY (account, number)) STRICT, WITHOUT ROWID""",
        f"""CREATE UNIQUE INDEX one_live_cheque ON number (origin_batch, origin_item)
            WHERE role = 'cheque' AND state IN ({_names(LIVE)})""",
        "CREATE INDEX number_origin ON number (origin_batch, origin_item)",
        "CREATE INDEX number_batch ON number (batch, item)",
        "CREATE INDEX number_doubt ON number (run) WHERE state IN ('reserved', 'sent')",
        # forms that are no good cheque and were used: few beside those that are
        f"CREATE INDEX number_waste ON number (account, number) WHERE {WASTE}",
        # missing, and may bear a cheque: asked for in these very words, or it is not used
        "CREATE INDEX number_lost ON number (batch) WHERE state = 'missing' AND sent > 0 AND role = 'cheque'",
        # what is to be seen to before cheques are handed over: those still in the house, and stops
        f"CREATE INDEX number_house ON number (batch, account) WHERE {IN_HOUSE}",
        "CREATE INDEX number_stop ON number (account, number) WHERE stop <> ''",
        f"""CREATE TRIGGER number_leaves_the_box BEFORE INSERT ON number
            WHEN NEW.state NOT IN ({_names(FOLLOWS[State.ON_HAND])})
            BEGIN SELECT RAISE(ABORT, 'a form on hand cannot become that'); END""",
        f"""CREATE TRIGGER number_moves BEFORE UPDATE OF state ON number
            WHEN OLD.state || '>' || NEW.state NOT IN ({_LAWFUL})
            BEGIN SELECT RAISE(ABORT, 'a form in its state cannot become that'); END""",
        f"""CREATE TRIGGER number_returns BEFORE DELETE ON number WHEN OLD.state NOT IN ({_RETURNS})
            BEGIN SELECT RAISE(ABORT, 'a used form never comes back'); END""",
        """CREATE TRIGGER number_keeps_its_payment BEFORE UPDATE OF
            account, stock, role, batch, item, run, origin_batch, origin_item, taken ON number
            BEGIN SELECT RAISE(ABORT, 'a number carries one payment, for ever'); END""",
        # unless it was found that the paper was so many forms off: then `struck` says so first
        """CREATE TRIGGER number_is_the_papers BEFORE UPDATE OF number ON number
            WHEN OLD.state NOT IN ('printed', 'spoiled') OR NOT EXISTS (SELECT 1 FROM struck
            WHERE account = NEW.account AND number = NEW.number AND seq = NEW.seq)
            BEGIN SELECT RAISE(ABORT, 'a number carries one payment, for ever'); END""",
    ),
    # forms whose preprinted number is not the one struck on them, by the preprinted one
    "struck": (
        """CREATE TABLE struck (
            account TEXT NOT NULL, number INTEGER NOT NULL, struck INTEGER NOT NULL, seq INTEGER NOT NULL,
            PRIMARY KEY (account, number)) STRICT, WITHOUT ROWID""",
    ),
    "tally": (
        """CREATE TABLE tally (
            stock INTEGER NOT NULL, state TEXT NOT NULL, forms INTEGER NOT NULL CHECK (forms >= 0),
            PRIMARY KEY (stock, state)) STRICT, WITHOUT ROWID""",
    ),
    # the numbers of a range that are on hand, as ranges that do not touch each other
    "free": (
        """CREATE TABLE free (
            stock INTEGER NOT NULL, first INTEGER NOT NULL, last INTEGER NOT NULL,
            CHECK (last >= first), PRIMARY KEY (stock, first)) STRICT, WITHOUT ROWID""",
    ),
    # `proof`: the digest of the latest proof or ''; `proof_seq`: the event that made it, 0 when none; `waits`: how
    # many of its payments still lack a form and may be printed
    "batch": (
        """CREATE TABLE batch (
            id INTEGER PRIMARY KEY, account TEXT NOT NULL, form TEXT NOT NULL, form_digest TEXT NOT NULL,
            currency TEXT NOT NULL, items INTEGER NOT NULL, total INTEGER NOT NULL, hash INTEGER NOT NULL,
            source TEXT NOT NULL, kind TEXT NOT NULL, pairs TEXT NOT NULL, state TEXT NOT NULL,
            replaces INTEGER NOT NULL, proof TEXT NOT NULL, at TEXT NOT NULL, seq INTEGER NOT NULL,
            proof_seq INTEGER NOT NULL, waits INTEGER NOT NULL CHECK (waits >= 0)) STRICT""",
        "CREATE INDEX batch_waits ON batch (id) WHERE waits > 0",
        "CREATE INDEX batch_currency ON batch (currency)",
    ),
    # `fresh`: 0 when an older payment has the same payee, else 1; or 2, when the name has a letter of
    # `cheque.book.names.ODD`: so each name that was ever paid stands once under 1 or 2 in the index, for `find`
    "claim": (
        """CREATE TABLE claim (
            batch INTEGER NOT NULL, item INTEGER NOT NULL, origin_batch INTEGER NOT NULL,
            origin_item INTEGER NOT NULL, account TEXT NOT NULL, payee TEXT NOT NULL, amount INTEGER NOT NULL,
            date TEXT NOT NULL, reference TEXT NOT NULL, role TEXT NOT NULL, expected TEXT NOT NULL,
            pulled TEXT NOT NULL, fresh INTEGER NOT NULL, PRIMARY KEY (batch, item)) STRICT, WITHOUT ROWID""",
        "CREATE INDEX claim_payee ON claim (fresh, payee, amount)",
        "CREATE INDEX claim_reference ON claim (reference)",
        "CREATE INDEX claim_amount ON claim (amount)",
        "CREATE INDEX claim_reprint ON claim (origin_batch, origin_item) WHERE origin_batch <> batch",
    ),
    "run": (
        """CREATE TABLE run (
            id INTEGER PRIMARY KEY, batch INTEGER NOT NULL, account TEXT NOT NULL, printer TEXT NOT NULL,
            address TEXT NOT NULL, language TEXT NOT NULL, first INTEGER NOT NULL, last INTEGER NOT NULL,
            state TEXT NOT NULL, cause TEXT NOT NULL, at TEXT NOT NULL, seq INTEGER NOT NULL) STRICT""",
        "CREATE INDEX run_batch ON run (batch)",
        "CREATE INDEX run_unfinished ON run (id) WHERE state <> 'closed'",
    ),
    "shift": (
        """CREATE TABLE shift (
            printer TEXT NOT NULL, form TEXT NOT NULL, right_by INTEGER NOT NULL, down_by INTEGER NOT NULL,
            seq INTEGER NOT NULL, PRIMARY KEY (printer, form)) STRICT, WITHOUT ROWID""",
    ),
    # which events speak of a number: ranges filed under every bucket of numbers they touch
    "touch": (
        """CREATE TABLE touch (
            account TEXT NOT NULL, bucket INTEGER NOT NULL, first INTEGER NOT NULL, last INTEGER NOT NULL,
            seq INTEGER NOT NULL, PRIMARY KEY (account, bucket, first, last, seq)) STRICT, WITHOUT ROWID""",
    ),
    "batch_event": (
        """CREATE TABLE batch_event (
            batch INTEGER NOT NULL, seq INTEGER NOT NULL, PRIMARY KEY (batch, seq)) STRICT, WITHOUT ROWID""",
    ),
    **schema_bank.DERIVED,
    **REGISTERS,
    **schema_notices.DERIVED,
    **schema_places.DERIVED,
    **schema_owed.DERIVED,
    **schema_duties.DERIVED,
}
BUCKET = 1024


def everything() -> tuple[str, ...]:
    """Every statement that makes a book's tables, in order."""
    return (*WRITTEN_ONCE, *(statement for statements in DERIVED.values() for statement in statements))
