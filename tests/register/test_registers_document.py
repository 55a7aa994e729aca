"""The page about registers says what the reader does."""

import hashlib
import re
from pathlib import Path

from cheque.pairs import Pairs
from cheque.register.columns import GROUPS, SINGLE
from cheque.register.csvfile import RECORD_LIMIT

PAGE = (Path(__file__).parents[2] / "docs" / "registers.md").read_text(encoding="utf-8")


def test_every_column_is_on_the_page_and_no_other() -> None:
    groups = {f"{kind}1" for kind in GROUPS} | {f"{kind}1_{part}" for kind, parts in GROUPS.items() for part in parts}
    tables = "\n".join(line for line in PAGE.splitlines() if line.startswith("| `"))
    named = set(re.findall(r"`([a-z]+\d?(?:_[a-z_]+)?)`", tables))
    assert named - {"cheque", "check", "transfer"} == {*SINGLE, *groups} - {"address2", "address3"}


def test_the_limit_on_the_page_is_the_readers() -> None:
    assert f"{RECORD_LIMIT:,} bytes" in PAGE


def test_the_example_of_the_page_is_the_pairs_digest() -> None:
    assert "Niamh O'\\''Dunmarrow\\t863.79\\nAy Li\\t575.11\\n" in PAGE
    pairs = Pairs("USD")
    pairs.add("Niamh O'Dunmarrow", 86379)
    pairs.add("Ay Li", 57511)
    assert pairs.digest() == hashlib.sha256(b"Ay Li\t575.11\nNiamh O'Dunmarrow\t863.79\n").hexdigest()
