"""A short sample of the images of a disk after a power cut (`tests/campaign/power_loss.py`), shown to find losses."""

import random
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from campaign import kill_run, power_loss
from campaign.kill_run import Campaign
from campaign.power_loss import Disk, Op, Traced


@pytest.fixture(scope="module")
def campaign() -> Iterator[Campaign]:
    if not shutil.which("strace"):
        pytest.skip("strace is not installed")
    with kill_run.beginning(("socket",)) as made:
        yield made


@pytest.fixture(scope="module")
def traced(campaign: Campaign, tmp_path_factory: pytest.TempPathFactory) -> Traced:
    return power_loss.trace(campaign, tmp_path_factory.mktemp("trace"))


def test_whatever_a_power_cut_leaves_on_the_disk_opens_verifies_and_is_gone_on_from(
    campaign: Campaign, traced: Traced
) -> None:
    sends = [place for place, op in enumerate(traced.ops, 1) if op.what == "send"]
    syncs = [place for place, op in enumerate(traced.ops, 1) if op.what == "sync"]
    assert len(sends) == kill_run.PAYMENTS
    assert len(syncs) > kill_run.PAYMENTS
    chosen = {sends[0] - 1, sends[1], syncs[3] - 1, syncs[5], len(traced.ops) - 3}
    tried = 0
    for place, disk, sent in power_loss.cuts(traced):
        for variant in power_loss.VARIANTS if place in chosen else ():
            chance = random.Random(f"{place}:{variant}")
            one = power_loss.attempt(campaign, traced, disk.image(variant, chance), sent, chance)
            assert one.wrong == [], (place, variant)
            tried += 1
    assert tried == 4 * len(chosen)


def test_bytes_leave_only_after_the_disk_has_been_told_to_keep_what_was_written(traced: Traced) -> None:
    waiting = False
    for op in traced.ops:
        if op.what in ("write", "sync"):
            waiting = op.what == "write"
        assert not (op.what == "send" and waiting)


def test_a_disk_that_lies_about_its_syncs_is_found_out(campaign: Campaign, traced: Traced) -> None:
    disk, sent = Disk(traced.before), b""
    for op in traced.ops:
        sent += op.data if op.what == "send" else b""
        if op.what != "sync":
            disk.do(op)
    chance = random.Random(1)
    one = power_loss.attempt(campaign, traced, disk.image("least", chance), sent, chance)
    assert any("on hand in the book" in wrong for wrong in one.wrong)


def test_a_disk_keeps_what_was_synced_and_any_part_of_the_rest(tmp_path: Path) -> None:
    (tmp_path / "book").mkdir()
    (tmp_path / "book" / "a").write_bytes(b"0123456789")
    disk = Disk(tmp_path)
    disk.do(Op("write", "book/a", b"AB", 2))
    disk.do(Op("sync", "book/a"))
    disk.do(Op("write", "book/a", b"XYZ", 8))
    disk.do(Op("make", "book/b"))
    disk.do(Op("append", "book/b", b"new"))
    chance = random.Random(1)
    assert disk.image("least", chance) == {"book/a": b"01AB456789"}
    assert disk.image("most", chance) == {"book/a": b"01AB4567XYZ", "book/b": b"new"}
    disk.do(Op("sync", "book"))
    assert disk.image("least", chance) == {"book/a": b"01AB456789", "book/b": b""}
    disk.do(Op("cut", "book/a", at=4))
    disk.do(Op("sync", "book/a"))
    disk.do(Op("remove", "book/b"))
    assert disk.image("least", chance) == {"book/a": b"01AB", "book/b": b""}
    torn = {disk.image("torn", random.Random(seed)).get("book/b") for seed in range(60)}
    assert torn >= {None, b"", b"n", b"new"}
