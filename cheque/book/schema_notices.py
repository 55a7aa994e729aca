"""The tables of what the bank was told, and of stops: derived from the events `notice.*` and `stop.*`."""

#: table -> (how to make it, its indexes, its guards)
DERIVED: dict[str, tuple[str, ...]] = {
    # `what`: issued or stopped; `written`: text, camt.107 or camt.108; `state`: made, sent, accepted or refused;
    # `on_day`, `by_whom`: when that was, and whom by or through whom; `seq` made it, `state_seq` put it in its state
    "notice": (
        """CREATE TABLE notice (
            id INTEGER PRIMARY KEY, what TEXT NOT NULL, written TEXT NOT NULL, name TEXT NOT NULL, file TEXT NOT NULL,
            items INTEGER NOT NULL, state TEXT NOT NULL, by_whom TEXT NOT NULL, on_day TEXT NOT NULL,
            reason TEXT NOT NULL, at TEXT NOT NULL, seq INTEGER NOT NULL, state_seq INTEGER NOT NULL) STRICT""",
        "CREATE INDEX notice_state ON notice (state)",
    ),
    # What the bank was told of a number (`mark`: issue, void, stop), and of which payment on it. `live`: 0 once the
    # bank has refused that notice
    "notified": (
        """CREATE TABLE notified (
            account TEXT NOT NULL, number INTEGER NOT NULL, mark TEXT NOT NULL, notice INTEGER NOT NULL,
            batch INTEGER NOT NULL, item INTEGER NOT NULL, live INTEGER NOT NULL, seq INTEGER NOT NULL,
            PRIMARY KEY (account, number, mark, notice)) STRICT, WITHOUT ROWID""",
        "CREATE INDEX notified_notice ON notified (notice)",
    ),
    # The latest that is known of a stop. `state`: requested, confirmed, refused; `on_day`: of that; `lapses`: the last
    # day of it, or ""; `spoken`: 1 while it is only spoken; `notice`: the request, 0 when it was no file
    "stop_order": (
        """CREATE TABLE stop_order (
            account TEXT NOT NULL, number INTEGER NOT NULL, state TEXT NOT NULL, reason TEXT NOT NULL,
            told TEXT NOT NULL, by_whom TEXT NOT NULL, on_day TEXT NOT NULL, lapses TEXT NOT NULL,
            spoken INTEGER NOT NULL, notice INTEGER NOT NULL, seq INTEGER NOT NULL,
            PRIMARY KEY (account, number)) STRICT, WITHOUT ROWID""",
        "CREATE INDEX stop_order_lapses ON stop_order (state, lapses)",
    ),
}
