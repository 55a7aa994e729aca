"""A short, seeded sample of the long search of `campaign/fuzz_decoders.py`, and that the search can find."""

import json
import random
from pathlib import Path

import pytest
from campaign import fuzz_decoders

from cheque.language import Strikes, get
from cheque.page import Mark
from cheque.units import INCH

EVIDENCE = Path(__file__).parents[2] / "docs" / "evidence" / "fuzz-decoders.md"


def mutated(some, inputs):
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
    return bytes(one[: fuzz_decoders.LONGEST])


def test_every_input_that_the_campaign_kept_is_borne():
    kept = fuzz_decoders.read_corpus()
    assert len(kept) > 100
    for data in kept:
        fuzz_decoders.check(data)


def test_a_sample_of_changed_streams_is_borne():
    some = random.Random("decoders")
    inputs = fuzz_decoders.seeds() + fuzz_decoders.read_corpus()
    for _ in range(4000):
        fuzz_decoders.check(mutated(some, inputs))


def test_the_evidence_says_what_the_tally_holds():
    tally = json.loads(fuzz_decoders.TALLY.read_text())
    evidence = EVIDENCE.read_text(encoding="utf-8")
    assert f"{tally['executions']:,} executions" in evidence
    assert f"{len(fuzz_decoders.read_corpus())} inputs" in evidence
    assert tally["executions"] >= 10_000_000


def test_every_seed_is_read_by_its_decoder():
    for data in fuzz_decoders.seeds():
        printer = fuzz_decoders.printers()[data[0]]
        assert get(printer.language).decode(data[1:], printer).marks


@pytest.mark.parametrize(
    "wrong",
    [
        lambda data, printer: 1 // 0,
        lambda data, printer: Strikes((), 0),
        lambda data, printer: Strikes((Mark(-1, 0, INCH // 10, 0, "x"),), INCH),
        lambda data, printer: Strikes((Mark(0, 0, INCH // 10, 0, "x" * 10_000),), INCH),
    ],
)
def test_the_search_finds_a_decoder_that_is_wrong(monkeypatch, wrong):
    data = fuzz_decoders.seeds()[0]
    fuzz_decoders.check(data)
    language = get(fuzz_decoders.printers()[data[0]].language)
    monkeypatch.setattr(language, "decode", wrong)
    with pytest.raises((AssertionError, ZeroDivisionError)):
        fuzz_decoders.check(data)
