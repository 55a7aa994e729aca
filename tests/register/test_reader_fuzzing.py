"""A short, seeded sample of the long search of `campaign/fuzz_readers.py`, and that the search can find."""

import json
import random
from pathlib import Path

import pytest
from campaign import fuzz_readers

from cheque.errors import Fault
from cheque.payment import Payment
from cheque.register import csvfile, fixedwidth, pain001, xlsxfile

EVIDENCE = Path(__file__).parents[2] / "docs" / "evidence" / "fuzz-readers.md"


def mutated(some: random.Random, inputs: list[bytes]) -> bytes:
    """An input cut, spliced and changed at random."""
    one, two = bytearray(some.choice(inputs)), some.choice(inputs)
    for _ in range(some.randrange(1, 5)):
        place = some.randrange(len(one) + 1)
        how = some.randrange(4)
        if how == 0:
            one[place:place] = bytes(some.randrange(256) for _ in range(some.randrange(1, 4)))
        elif how == 1:
            del one[place : place + some.randrange(1, 9)]
        elif how == 2 and place < len(one):
            one[place] = some.randrange(256)
        else:
            cut = some.randrange(len(two) + 1)
            one[place:] = two[cut:]
    return bytes(one[: fuzz_readers.LONGEST])


@pytest.mark.parametrize("reader", fuzz_readers.READERS)
def test_every_input_that_the_campaign_kept_is_borne(reader: str) -> None:
    kept = fuzz_readers.read_corpus(reader)
    assert len(kept) > 20
    for data in kept:
        fuzz_readers.check(reader, data)


@pytest.mark.parametrize("reader", fuzz_readers.READERS)
def test_a_sample_of_changed_files_is_borne(reader: str) -> None:
    some = random.Random(reader)
    inputs = fuzz_readers.seeds(reader) + fuzz_readers.read_corpus(reader)
    for _ in range(2000):
        fuzz_readers.check(reader, mutated(some, inputs))


def test_the_evidence_says_what_the_tally_holds() -> None:
    evidence = EVIDENCE.read_text(encoding="utf-8")
    tally = json.loads(fuzz_readers.TALLY.read_text())
    assert set(tally) == set(fuzz_readers.READERS)
    for reader, counted in tally.items():
        kept = len(fuzz_readers.read_corpus(reader))
        assert f"| {reader} | {counted['executions']:,} | {kept} |" in evidence


@pytest.mark.parametrize("reader", fuzz_readers.READERS[:4])
def test_every_seed_is_a_good_file(reader: str) -> None:
    for data in fuzz_readers.seeds(reader):
        choices = fuzz_readers.maps_for(reader)
        body = fuzz_readers.package(data) if reader == "xlsx" else data[1:]
        reading = fuzz_readers.reading_of("payday.reg", reader, choices[data[0] % len(choices)], [])
        assert [type(item) for item in fuzz_readers.everything(body, reading)] == [Payment]


@pytest.mark.parametrize(
    "wrong",
    [
        lambda stream, reading: iter([1 // 0]),
        lambda stream, reading: iter(["a payment"]),
        lambda stream, reading: iter([Fault("elsewhere", "x", "y")]),
        lambda stream, reading: iter([Fault("payday.reg", "a\x1b[2J", "y")]),
        lambda stream, reading: iter([Payment(7, "Ay Li", 100, "2026-11-27", "")]),
        lambda stream, reading: iter([Fault("payday.reg", "x", "y")] * 10_000),
    ],
)
def test_the_search_finds_a_reader_that_is_wrong(monkeypatch: pytest.MonkeyPatch, wrong: object) -> None:
    modules = dict(zip(fuzz_readers.READERS, (csvfile, fixedwidth, pain001, xlsxfile), strict=False))
    for reader, module in modules.items():
        data = fuzz_readers.seeds(reader)[0]
        fuzz_readers.check(reader, data)
        with monkeypatch.context() as patch:
            patch.setattr(module, "read", wrong)
            with pytest.raises((AssertionError, ZeroDivisionError)):
                fuzz_readers.check(reader, data)
