"""The table of what a book put back from a copy must account for before anything prints."""

#: table -> (how to make it, its indexes, its guards)
DERIVED: dict[str, tuple[str, ...]] = {
    # Numbers up to the one that was at a printer's head when a backup was put back: whatever was done with them since
    # the backup was made, the book does not know. `seq`: the event that says so
    "gap": (
        """CREATE TABLE gap (
            account TEXT NOT NULL, first INTEGER NOT NULL, last INTEGER NOT NULL, seq INTEGER NOT NULL,
            PRIMARY KEY (account, first, last)) STRICT, WITHOUT ROWID""",
    ),
}
