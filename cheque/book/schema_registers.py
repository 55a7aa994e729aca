"""The tables that find what a register has again: the invoices that were paid.

`key`: vendor and number as `cheque.likeness` compares them, for every payment of an accepted register; whether its
batch was withdrawn or the payment pulled is asked of `batch` and `claim`.
"""

REGISTERS: dict[str, tuple[str, ...]] = {
    "invoice": (
        """CREATE TABLE invoice (
            key INTEGER NOT NULL, batch INTEGER NOT NULL, item INTEGER NOT NULL,
            PRIMARY KEY (key, batch, item)) STRICT, WITHOUT ROWID""",
    ),
}
