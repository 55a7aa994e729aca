"""The pairs digest against everyday tools: `LC_ALL=C sort` (POSIX) and `sha256sum` (SHA-256, FIPS 180-4)."""

import os
import shutil
import subprocess

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque import pairs
from cheque.pairs import Pairs

needs_tools = pytest.mark.skipif(not (shutil.which("sort") and shutil.which("sha256sum")), reason="no coreutils here")


def by_tools(lines: list[str]) -> str:
    text = "".join(line + "\n" for line in lines).encode()
    environment = {**os.environ, "LC_ALL": "C"}
    ordered = subprocess.run(["sort"], input=text, capture_output=True, check=True, env=environment).stdout
    return subprocess.run(["sha256sum"], input=ordered, capture_output=True, check=True).stdout.decode().split()[0]


def digest_of(these: list[tuple[str, int]]) -> str:
    gathered = Pairs("USD")
    for payee, amount in these:
        gathered.add(payee, amount)
    return gathered.digest()


@needs_tools
def test_anyone_can_compute_the_digest_with_sort_and_sha256sum() -> None:
    people = ["Niamh O'Dunmarrow", "Ay Li", "Ay Lim", "Ay Li", "Zoë Marlinspike", "Ay", ""]
    these = [(payee, 81240 + 7 * n) for n, payee in enumerate(people)]
    lines = [f"{payee}\t{amount // 100}.{amount % 100:02d}" for payee, amount in these]
    assert digest_of(these) == by_tools(lines)
    assert digest_of([]) == by_tools([])


@needs_tools
def test_many_pairs_in_pieces_have_the_digest_of_all(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pairs, "_PIECE", 50)
    monkeypatch.setattr(pairs, "_BLOCK", 16)
    these = [(f"Payee é {n * 7919 % 1000}", n) for n in range(1234)]
    assert digest_of(these) == by_tools([f"{payee}\t{n // 100}.{n % 100:02d}" for payee, n in these])


@settings(max_examples=100, deadline=None)
@given(st.lists(st.tuples(st.text(max_size=3), st.integers(0, 99)), max_size=8), st.data())
def test_the_digest_knows_the_pairs_and_not_their_order(these: list[tuple[str, int]], data: st.DataObject) -> None:
    shuffled = data.draw(st.permutations(these))
    assert digest_of(shuffled) == digest_of(these)
    if these:
        payee, amount = these[0]
        assert digest_of([(payee, amount + 1), *these[1:]]) != digest_of(these)
        assert digest_of([*these, these[0]]) != digest_of(these)
