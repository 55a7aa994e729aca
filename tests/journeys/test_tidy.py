"""Proofs and print streams show pay and can be printed again: they go when their batch is closed, and not before."""

import os
import stat
import time

import pytest
from journeys.firm import Firm

from cheque import made


@pytest.fixture
def firm(tmp_path):
    firm = Firm(tmp_path).set_up()
    firm.register()
    firm.accept()
    return firm


def code(firm, batch=1):
    return firm.run("proof", str(batch)).out.strip()


def printed(firm):
    firm.run(
        "print", "1", "--printer", "payroom", "--first-number", "100501", "--proof-code", code(firm),
        "--paper-loaded", "--after-first", "go-on",
    )  # fmt: skip


def test_a_proof_stays_while_payments_lack_a_form(firm):
    firm.run("proof", "1", "-o", "proof.html")
    said = firm.run("tidy")
    assert "stays: proof" in said.out
    assert "batch 1 has payments without a form" in said.out
    assert (firm.folder / "proof.html").exists()


def test_a_run_that_nobody_has_answered_for_keeps_its_print_stream(firm):
    printed(firm)
    said = firm.run("tidy")
    assert "stays: print stream" in said.out
    assert "cheque confirm 1" in said.out
    assert (firm.folder / "payroom.prn").exists()


def test_what_a_closed_batch_left_is_deleted_and_nothing_else(firm):
    for name in ("proof.html", "proof.pdf"):
        firm.run("proof", "1", "-o", name)
    printed(firm)
    firm.run("confirm", "1", "--good-count", "24")
    firm.run("report", "control", "--batch", "1", "-o", "control.txt")
    (firm.folder / "proof-of-mine.pdf").write_text("mine")
    looked = firm.run("tidy", "--look")
    assert (firm.folder / "payroom.prn").exists()
    assert looked.out.count("would be deleted") == 3
    said = firm.run("tidy", "--json").json
    assert {os.path.basename(path) for path in said["deleted"]} == {"proof.html", "proof.pdf", "payroom.prn"}
    left = {path.name for path in firm.folder.iterdir()}
    assert left >= {"control.txt", "proof-of-mine.pdf", "cheque.toml", "book"}
    assert not left & {"proof.html", "proof.pdf", "payroom.prn"}
    assert "Nothing is there" in firm.run("tidy").err


def test_a_withdrawn_batch_is_closed(firm):
    firm.run("proof", "1", "-o", "proof.txt")
    firm.run("batch", "withdraw", "1", "--reason", "the wrong week")
    firm.run("tidy")
    assert not (firm.folder / "proof.txt").exists()


def test_a_file_that_became_a_link_is_not_followed(firm):
    firm.run("proof", "1", "-o", "proof.txt")
    firm.run("batch", "withdraw", "1", "--reason", "the wrong week")
    (firm.folder / "proof.txt").unlink()
    (firm.folder / "keep").write_text("keep")
    (firm.folder / "proof.txt").symlink_to(firm.folder / "keep")
    assert "no file of its own" in firm.run("tidy").out
    assert (firm.folder / "keep").exists()


def test_what_a_kill_left_half_written_goes_after_a_day(firm):
    old, new = firm.folder / ".cheque-old", firm.folder / ".cheque-new"
    for path in (old, new):
        path.write_bytes(b"half")
    os.utime(old, (time.time() - 2 * 86400,) * 2)
    firm.run("tidy")
    assert not old.exists()
    assert new.exists()


def test_a_list_that_a_power_cut_left_torn_is_read_as_far_as_it_goes(firm):
    firm.run("proof", "1", "-o", "proof.txt")
    with (firm.folder / "book" / "made").open("a") as file:
        file.write('{"what": "proof", "pa')
    assert "stays: proof" in firm.run("tidy").out


def test_the_list_is_its_owners_alone(firm):
    firm.run("proof", "1", "-o", "proof.txt")
    assert stat.S_IMODE((firm.folder / "book" / "made").stat().st_mode) == 0o600


def test_a_file_that_cannot_be_deleted_is_told_of_with_those_that_were(firm, monkeypatch):
    firm.run("proof", "1", "-o", "first.txt")
    firm.run("proof", "1", "-o", "second.txt")
    printed(firm)
    firm.run("confirm", "1", "--good-count", "24")
    remove = made.remove

    def locked(one):
        if one.path.name == "first.txt":
            raise PermissionError(13, "Permission denied")
        remove(one)

    monkeypatch.setattr(made, "remove", locked)
    said = firm.run("tidy", expect=1).out
    assert "first.txt: it cannot be deleted: Permission denied. See to it, then tidy again" in said
    assert "deleted: proof of batch 1: " in said
    assert "second.txt" in said
    assert (firm.folder / "first.txt").exists()
    assert not (firm.folder / "second.txt").exists()
    assert not (firm.folder / "payroom.prn").exists()
    told = firm.run("tidy", "--json", expect=1).json
    assert told["deleted"] == []
    monkeypatch.undo()
    firm.run("tidy")
    assert not (firm.folder / "first.txt").exists()
