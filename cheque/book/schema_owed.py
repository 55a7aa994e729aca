"""The table of what became of the debt behind a voided cheque: derived from the events `cheque.disposed`."""

#: table -> (how to make it, its indexes, its guards)
DERIVED: dict[str, tuple[str, ...]] = {
    # the latest word on a voided cheque; a cheque without a row is owed, and nothing was decided
    "disposition": (
        """CREATE TABLE disposition (
            account TEXT NOT NULL, number INTEGER NOT NULL, disposition TEXT NOT NULL, reason TEXT NOT NULL,
            seq INTEGER NOT NULL, PRIMARY KEY (account, number)) STRICT, WITHOUT ROWID""",
    ),
}
