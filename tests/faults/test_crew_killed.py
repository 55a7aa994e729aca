"""Workers killed, and the process that has them: nothing is half done in the book, and nobody is left behind."""

import os
import re
import signal
import subprocess
import time
from pathlib import Path
from typing import NamedTuple

import pytest
from journeys.crowd import FIRST, accept, all_gone, asked, begin, crowd, kill, process, sending, workers
from journeys.firm import Firm

PAYMENTS = 3_000


@pytest.fixture(scope="module")
def accepted(tmp_path_factory: pytest.TempPathFactory) -> Firm:
    """A firm with a batch."""
    firm = crowd(tmp_path_factory.mktemp("crowd"), PAYMENTS)
    accept(firm, 1)
    return firm


ACCEPT = ("batch", "accept", "crowd.csv", "--form", "payroll-us")


def accepting(folder: Path) -> "tuple[Firm, subprocess.Popen[bytes]]":
    """A firm that accepts its register, its crew at work."""
    firm = crowd(folder, PAYMENTS)
    return firm, begin(firm, 2, *ACCEPT, *(firm.folder / "slip").read_text().split())


@pytest.mark.parametrize("kills", [1, 2])
def test_what_a_killed_worker_would_have_looked_at_is_accepted_all_the_same(
    accepted: Firm, tmp_path: Path, kills: int
) -> None:
    firm, child = accepting(tmp_path)
    assert all(kill(pid) for pid in until_there_are_workers(child)[:kills])
    ended(child, 0)
    for table in ("payment", "claim"):
        rows = f"SELECT * FROM {table} ORDER BY item"
        assert asked(firm, rows) == asked(accepted, rows)
    firm.run("book", "verify")


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL])
def test_a_register_whose_acceptance_is_stopped_is_not_accepted(tmp_path: Path, number: int) -> None:
    firm, child = accepting(tmp_path)
    until_there_are_workers(child)
    (os.killpg if number == signal.SIGINT else os.kill)(child.pid, number)
    said = ended(child, 4 if number == signal.SIGINT else -number)
    assert number != signal.SIGINT or said.endswith("cheque: stopped by the operator; nothing more was done.\n")
    assert asked(firm, "SELECT count(*) FROM batch") == asked(firm, "SELECT count(*) FROM payment") == [(0,)]
    firm.run("book", "verify")
    accept(firm, 2)


class Proved(NamedTuple):
    """A firm with a batch and its proof, the proof's code, and what one core sends of it."""

    firm: Firm
    code: str
    stream: bytes


@pytest.fixture(scope="module")
def proved(accepted: Firm, tmp_path_factory: pytest.TempPathFactory) -> Proved:
    """The same with its proof."""
    firm = accepted.copy(tmp_path_factory.mktemp("proved"))
    code = process(firm, 1, "proof", "1")[0].strip()
    alone = firm.copy(tmp_path_factory.mktemp("alone"))
    process(alone, 1, *sending(code))
    return Proved(firm, code, stream(alone))


def stream(firm: Firm) -> bytes:
    """What was sent."""
    return (firm.folder / "payroom.prn").read_bytes()


def until_there_are_workers(child: "subprocess.Popen[bytes]", how_many: int = 2) -> list[int]:
    """The workers of a process, when it has them all."""
    deadline = time.monotonic() + 60
    while len(found := workers(child)) < how_many:
        assert child.poll() is None, child.communicate()
        assert time.monotonic() < deadline
        time.sleep(0.001)
    return found


def ended(child: "subprocess.Popen[bytes]", status: int) -> str:
    """What a process said that ended so; nobody of its group is there any more, soon."""
    _, err = child.communicate(timeout=60)
    assert child.returncode == status, err.decode()
    deadline = time.monotonic() + 5
    while not all_gone(child):
        assert time.monotonic() < deadline
        time.sleep(0.01)
    assert b"Traceback" not in err
    return err.decode()


@pytest.mark.parametrize("kills", [1, 2])
def test_what_a_killed_worker_would_have_proved_is_proved_all_the_same(
    proved: Proved, accepted: Firm, tmp_path: Path, kills: int
) -> None:
    firm = accepted.copy(tmp_path)
    child = begin(firm, 2, "proof", "1")
    assert all(kill(pid) for pid in until_there_are_workers(child)[:kills])
    out, _ = child.communicate(timeout=60)
    assert (child.returncode, out.decode().strip()) == (0, proved.code)


@pytest.mark.parametrize("kills", [1, 2])
def test_what_a_killed_worker_would_have_made_is_sent_all_the_same(proved: Proved, tmp_path: Path, kills: int) -> None:
    firm = proved.firm.copy(tmp_path)
    child = begin(firm, 2, *sending(proved.code))
    assert all(kill(pid) for pid in until_there_are_workers(child)[:kills])
    ended(child, 0)
    assert stream(firm) == proved.stream
    firm.run("book", "verify")


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_a_run_with_a_crew_stops_as_any_run_does(proved: Proved, tmp_path: Path, number: int) -> None:
    """Ctrl-C and a closed terminal go to the whole group, workers too."""
    firm = proved.firm.copy(tmp_path)
    child = begin(firm, 2, *sending(proved.code))
    until_there_are_workers(child)
    (os.kill if number == signal.SIGTERM else os.killpg)(child.pid, number)
    said = ended(child, 4)
    assert "Stopping at the end of the form in hand" in said
    assert "Look at the paper, then `cheque resume 1`." in said
    sent_and_whole(proved, firm)


def test_a_second_ctrl_c_stops_a_run_with_a_crew_at_once(proved: Proved, tmp_path: Path) -> None:
    firm = proved.firm.copy(tmp_path)
    child = begin(firm, 2, *sending(proved.code))
    until_there_are_workers(child)
    for _ in range(2):
        os.killpg(child.pid, signal.SIGINT)
        time.sleep(0.005)
    assert "the run stopped after" in ended(child, 4)
    sent_and_whole(proved, firm)


def sent_and_whole(proved: Proved, firm: Firm) -> None:
    """What is there is the beginning of what one core sends, and *sent*; the rest goes, and each payment once."""
    there = stream(firm)
    assert proved.stream.startswith(there)
    ends = [*[found.start() for found in re.finditer(b"\x1b@", proved.stream)][1:], len(proved.stream)]
    whole = sum(end <= len(there) for end in ends)
    torn = there != proved.stream[: ends[whole - 1] if whole else 0]
    ((sent,),) = asked(firm, "SELECT count(*) FROM number WHERE state = 'sent'")
    assert whole + torn <= sent <= whole + 250
    firm.run("book", "verify")
    last, following = str(FIRST + whole - 1) if whole else "none", str(FIRST + whole + torn)
    rest = ["--last-good", last, "--next-number", following, *(["--between", "torn"] if torn else [])]
    process(firm, 2, "resume", "1", *rest, "--power-cycled", "--paper-loaded", "--after-first", "go-on")
    on_forms = asked(
        firm, "SELECT count(DISTINCT item), count(*) FROM number WHERE state IN ('sent', 'printed') AND batch = 1"
    )
    assert on_forms == [(PAYMENTS, PAYMENTS)]
    firm.run("book", "verify")


@pytest.mark.parametrize("delay", [0.0, 0.02, 0.05, 0.1])
def test_a_run_killed_with_its_crew_at_work_leaves_nobody_behind(proved: Proved, tmp_path: Path, delay: float) -> None:
    firm = proved.firm.copy(tmp_path)
    child = begin(firm, 2, *sending(proved.code))
    until_there_are_workers(child)
    time.sleep(delay)
    child.kill()
    child.wait()
    sent_and_whole(proved, firm)  # at once: no worker holds the printer's lock, or the book
    deadline = time.monotonic() + 5
    while not all_gone(child):
        assert time.monotonic() < deadline
        time.sleep(0.01)
    child.communicate()


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL])
def test_a_proof_stopped_with_its_crew_at_work_changes_nothing(accepted: Firm, tmp_path: Path, number: int) -> None:
    firm = accepted.copy(tmp_path)
    child = begin(firm, 2, "proof", "1")
    until_there_are_workers(child)
    (os.killpg if number == signal.SIGINT else os.kill)(child.pid, number)
    said = ended(child, 4 if number == signal.SIGINT else -number)
    assert number != signal.SIGINT or said.strip() == "cheque: stopped by the operator; nothing more was done."
    assert asked(firm, "SELECT proof FROM batch") == [("",)]
    assert asked(firm, "SELECT count(*) FROM proof_page") == [(0,)]
    firm.run("book", "verify")
