"""The page about registers says what the reader does."""

import hashlib
import re
from pathlib import Path

from cheque.cli.register import check
from cheque.errors import InputRefused
from cheque.pairs import Pairs
from cheque.register import KINDS, kind_of, maps, pain001
from cheque.register.columns import GROUPS, SINGLE
from cheque.register.csvfile import RECORD_LIMIT

PAGE = (Path(__file__).parents[2] / "docs" / "registers.md").read_text(encoding="utf-8")


def test_every_column_is_on_the_page_and_no_other() -> None:
    groups = {f"{kind}1" for kind in GROUPS} | {f"{kind}1_{part}" for kind, parts in GROUPS.items() for part in parts}
    tables = "\n".join(line for line in PAGE.splitlines() if line.startswith("| `"))
    named = set(re.findall(r"`([a-z]+\d?(?:_[a-z_]+)?)`", tables))
    assert named - {"cheque", "check", "csv", "xlsx"} == {*SINGLE, *groups} - {"address2", "address3"}


BLOCKS = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)


def test_every_key_of_a_map_on_the_page_is_one_of_the_readers() -> None:
    """Each line alone, for CSV or for a spreadsheet: the page shows the keys of both in one block."""
    keys, tables = BLOCKS[0].split("\n\n", 1)
    tried = 0
    for line in keys.splitlines()[1:]:
        body = f"{line}\nfirst_year = 1970\n" if line.startswith("date") else f"{line}\n"
        good = [kind for kind in ("csv", "xlsx") if loads(f'kind = "{kind}"\n{body}{tables}', line)]
        assert good, line
        tried += 1
    assert tried == 17


def loads(text: str, line: str) -> bool:
    if line.startswith("decimal_mark"):  # beside the mark of its locale
        text = text.replace("[columns]", 'thousands_mark = "."\n[columns]', 1)
    if line.startswith("thousands_mark"):
        text = text.replace("[columns]", 'decimal_mark = ","\n[columns]', 1)
    if line.startswith("header"):
        text = text.split("[columns]")[0]
    try:
        maps.load(text, "map.toml")
    except InputRefused:
        return False
    return True


def test_the_map_of_records_on_the_page_is_a_good_one() -> None:
    by = maps.load('kind = "fixed-width"\nencoding = "cp037"\n' + BLOCKS[1], "map.toml")
    assert (by.record_length, by.carriage_control, by.page_heading_lines) == (160, True, 3)
    assert [field.column for field in by.records[0].fields] == ["payee", "amount"]


def test_the_versions_suffixes_and_options_on_the_page_are_the_readers() -> None:
    assert f"versions {pain001.VERSIONS[0]} and {pain001.VERSIONS[1]} to {pain001.VERSIONS[-1]}" in PAGE
    for name in KINDS:
        assert all(f"`{suffix}`" in PAGE for suffix in kind_of("", kind=name).suffixes)
        assert f"`{name}`" in PAGE
    options = {option for each in check.params for option in each.opts if option.startswith("--")}
    assert set(re.findall(r"^\| `(--[a-z-]+)", PAGE, re.MULTILINE)) == options - {"--json", "--account", "--help"}


def test_the_limit_on_the_page_is_the_readers() -> None:
    assert f"{RECORD_LIMIT:,} bytes" in PAGE


def test_the_example_of_the_page_is_the_pairs_digest() -> None:
    assert "Niamh O'\\''Dunmarrow\\t863.79\\nAy Li\\t575.11\\n" in PAGE
    pairs = Pairs("USD")
    pairs.add("Niamh O'Dunmarrow", 86379)
    pairs.add("Ay Li", 57511)
    assert pairs.digest() == hashlib.sha256(b"Ay Li\t575.11\nNiamh O'Dunmarrow\t863.79\n").hexdigest()
