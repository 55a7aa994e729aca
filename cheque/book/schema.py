"""The tables of a book: what is written once, and what is derived from it and can be rebuilt.

Written once: `event` (the chain), `payment` and `content` (what events refer to by digest: the payments of a
batch, a form definition), `proof_page` (the page digests of a proof). Everything else is derived.
A number that has no row in `number` is on hand when a range of `stock` holds it.
"""

#: Raise it when the derived tables change: an older book's are then rebuilt from its events when opened.
DERIVED_VERSION = 1

WRITTEN_ONCE = (
    """CREATE TABLE event (
        seq INTEGER PRIMARY KEY, at TEXT NOT NULL, who TEXT NOT NULL, station TEXT NOT NULL,
        kind TEXT NOT NULL, body TEXT NOT NULL, prev TEXT NOT NULL UNIQUE, digest TEXT NOT NULL)""",
    """CREATE TABLE payment (
        batch INTEGER NOT NULL, item INTEGER NOT NULL, body TEXT NOT NULL, PRIMARY KEY (batch, item))""",
    "CREATE TABLE content (digest TEXT PRIMARY KEY, body TEXT NOT NULL)",
    """CREATE TABLE proof_page (
        proof TEXT NOT NULL, item INTEGER NOT NULL, digest TEXT NOT NULL, PRIMARY KEY (proof, item))""",
)

#: name -> (how to make it, its indexes)
DERIVED: dict[str, tuple[str, ...]] = {
    "stock": (
        """CREATE TABLE stock (
            id INTEGER PRIMARY KEY, account TEXT NOT NULL, form TEXT NOT NULL, first INTEGER NOT NULL,
            last INTEGER NOT NULL, digits INTEGER NOT NULL, seq INTEGER NOT NULL)""",
        "CREATE INDEX stock_range ON stock (account, first)",
    ),
    "number": (
        """CREATE TABLE number (
            account TEXT NOT NULL, number INTEGER NOT NULL, stock INTEGER NOT NULL, state TEXT NOT NULL,
            role TEXT NOT NULL, batch INTEGER NOT NULL, item INTEGER NOT NULL, run INTEGER NOT NULL,
            origin_batch INTEGER NOT NULL, origin_item INTEGER NOT NULL, reason TEXT NOT NULL,
            custody TEXT NOT NULL, stop TEXT NOT NULL, seq INTEGER NOT NULL,
            PRIMARY KEY (account, number))""",
        # the law of the house, held by the database itself: one live cheque for a payment
        """CREATE UNIQUE INDEX one_live_cheque ON number (origin_batch, origin_item)
            WHERE role = 'cheque' AND state IN ('reserved', 'sent', 'printed')""",
        "CREATE INDEX number_origin ON number (origin_batch, origin_item)",
        "CREATE INDEX number_batch ON number (batch, item)",
        "CREATE INDEX number_run ON number (run, state)",
        "CREATE INDEX number_state ON number (account, state, number)",
        "CREATE INDEX number_stock ON number (stock, state)",
    ),
    "tally": (
        """CREATE TABLE tally (
            stock INTEGER NOT NULL, state TEXT NOT NULL, forms INTEGER NOT NULL,
            PRIMARY KEY (stock, state))""",
    ),
    "batch": (
        """CREATE TABLE batch (
            id INTEGER PRIMARY KEY, account TEXT NOT NULL, form TEXT NOT NULL, form_digest TEXT NOT NULL,
            currency TEXT NOT NULL, items INTEGER NOT NULL, total INTEGER NOT NULL, hash INTEGER NOT NULL,
            source TEXT NOT NULL, kind TEXT NOT NULL, pairs TEXT NOT NULL, state TEXT NOT NULL,
            replaces INTEGER NOT NULL, proof TEXT NOT NULL, at TEXT NOT NULL, seq INTEGER NOT NULL)""",
    ),
    "claim": (
        """CREATE TABLE claim (
            batch INTEGER NOT NULL, item INTEGER NOT NULL, origin_batch INTEGER NOT NULL,
            origin_item INTEGER NOT NULL, account TEXT NOT NULL, payee TEXT NOT NULL, amount INTEGER NOT NULL,
            date TEXT NOT NULL, reference TEXT NOT NULL, role TEXT NOT NULL, expected TEXT NOT NULL,
            pulled TEXT NOT NULL, PRIMARY KEY (batch, item))""",
        "CREATE INDEX claim_same ON claim (account, reference, payee, amount, date)",
        "CREATE INDEX claim_payee ON claim (account, payee)",
        "CREATE INDEX claim_amount ON claim (amount)",
        "CREATE INDEX claim_origin ON claim (origin_batch, origin_item)",
    ),
    "run": (
        """CREATE TABLE run (
            id INTEGER PRIMARY KEY, batch INTEGER NOT NULL, account TEXT NOT NULL, printer TEXT NOT NULL,
            address TEXT NOT NULL, language TEXT NOT NULL, first INTEGER NOT NULL, last INTEGER NOT NULL,
            state TEXT NOT NULL, cause TEXT NOT NULL, at TEXT NOT NULL, seq INTEGER NOT NULL)""",
        "CREATE INDEX run_batch ON run (batch)",
        "CREATE INDEX run_open ON run (state, printer)",
    ),
    "shift": (
        """CREATE TABLE shift (
            printer TEXT NOT NULL, form TEXT NOT NULL, right_by INTEGER NOT NULL, down_by INTEGER NOT NULL,
            seq INTEGER NOT NULL, PRIMARY KEY (printer, form))""",
    ),
    # which events speak of a number: ranges filed under every bucket of numbers they touch
    "touch": (
        """CREATE TABLE touch (
            account TEXT NOT NULL, bucket INTEGER NOT NULL, first INTEGER NOT NULL, last INTEGER NOT NULL,
            seq INTEGER NOT NULL)""",
        "CREATE INDEX touch_place ON touch (account, bucket)",
    ),
    "batch_event": (
        "CREATE TABLE batch_event (batch INTEGER NOT NULL, seq INTEGER NOT NULL, PRIMARY KEY (batch, seq))",
    ),
}
BUCKET = 1024
