"""The tables of what the bank says: its statements, every item booked, and which cheques it has paid.

All derived from the events `statement.read`. A cheque that the bank has paid is a fact of its own beside the state of
the form, as custody is: the form stays what it was (printed, or even voided or on hand), and is *cleared* as well.
"""

#: table -> (how to make it, its indexes, its guards)
DERIVED: dict[str, tuple[str, ...]] = {
    # `first_day`, `last_day`: the days that it covers; `opening`, `closing`: minor units, NULL when it gives none;
    # `entries`: how many items it has, `fresh`: how many of them no statement before it had
    "statement": (
        """CREATE TABLE statement (
            seq INTEGER PRIMARY KEY, account TEXT NOT NULL, name TEXT NOT NULL, digest TEXT NOT NULL,
            first_day TEXT NOT NULL, last_day TEXT NOT NULL, opening INTEGER, closing INTEGER,
            entries INTEGER NOT NULL, fresh INTEGER NOT NULL) STRICT""",
        "CREATE INDEX statement_account ON statement (account, last_day)",
    ),
    # One item booked by the bank. `amount`: minor units, less than 0 when it was paid out of the account; `number`:
    # the cheque that it names, 0 when none of ours; `nth`: which of several alike on one day
    "bank_item": (
        """CREATE TABLE bank_item (
            account TEXT NOT NULL, booked TEXT NOT NULL, number INTEGER NOT NULL, amount INTEGER NOT NULL,
            nth INTEGER NOT NULL, valued TEXT NOT NULL, reference TEXT NOT NULL, payee TEXT NOT NULL,
            about TEXT NOT NULL, seq INTEGER NOT NULL,
            PRIMARY KEY (account, booked, number, amount, nth)) STRICT, WITHOUT ROWID""",
        "CREATE INDEX bank_item_number ON bank_item (account, number)",
        "CREATE INDEX bank_item_seq ON bank_item (seq, number)",
    ),
    # A number that the bank has paid, and has not taken back. `booked`: the first day on which it was paid; `amount`:
    # what was paid in all, minor units, less what was taken back; `payments`: how often; `seq`: the latest statement
    "cleared": (
        """CREATE TABLE cleared (
            account TEXT NOT NULL, number INTEGER NOT NULL, booked TEXT NOT NULL, amount INTEGER NOT NULL,
            payments INTEGER NOT NULL, seq INTEGER NOT NULL, PRIMARY KEY (account, number)) STRICT, WITHOUT ROWID""",
        """CREATE TRIGGER number_cleared_is_not_voided BEFORE UPDATE OF state ON number
            WHEN NEW.state = 'voided' AND EXISTS (SELECT 1 FROM cleared
            WHERE account = NEW.account AND number = NEW.number)
            BEGIN SELECT RAISE(ABORT, 'a cheque that the bank has paid is not voided'); END""",
        """CREATE TRIGGER number_cleared_is_not_moved BEFORE UPDATE OF number ON number
            WHEN NEW.number <> OLD.number AND EXISTS (SELECT 1 FROM cleared
            WHERE account = OLD.account AND number IN (OLD.number, NEW.number))
            BEGIN SELECT RAISE(ABORT, 'a cheque that the bank has paid keeps its number'); END""",
    ),
}
