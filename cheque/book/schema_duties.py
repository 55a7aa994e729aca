"""The tables of hands kept apart: who approved a batch's proof, and what waits for a second person."""

#: table -> (how to make it, its indexes, its guards)
DERIVED: dict[str, tuple[str, ...]] = {
    "approval": (
        """CREATE TABLE approval (
            batch INTEGER NOT NULL, proof TEXT NOT NULL, who TEXT NOT NULL, seq INTEGER NOT NULL,
            PRIMARY KEY (batch, proof, who)) STRICT, WITHOUT ROWID""",
    ),
    # `id`: the event that asked; `kind`: of the event that is asked for; `body`: of that event, as text; `done`: 1 when
    # it happened
    "asked": (
        """CREATE TABLE asked (
            id INTEGER PRIMARY KEY, kind TEXT NOT NULL, account TEXT NOT NULL, number INTEGER NOT NULL,
            body TEXT NOT NULL, who TEXT NOT NULL, at TEXT NOT NULL, done INTEGER NOT NULL) STRICT""",
        "CREATE INDEX asked_open ON asked (account, number) WHERE done = 0",
    ),
}
