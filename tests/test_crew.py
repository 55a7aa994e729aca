"""A crew of worker processes changes nothing but the time; what it must bear is in `tests/crewed.py`."""

import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import crewed
import pytest

from cheque import crew
from cheque.errors import UsageRefused

HERE = Path(__file__).parent
SCENARIOS = [
    name
    for name, one in vars(crewed).items()
    if callable(one) and getattr(one, "__annotations__", {}).keys() == {"begin", "return"} and name != "begun_at"
]
AWAITED = "workers_end_when_the_one_process_is_killed"


def begin_scenario(name: str, begin: str) -> "subprocess.Popen[str]":
    """A scenario in a process of its own."""
    command = [sys.executable, "-W", "error", "-c", "import crewed; crewed.main()", name, begin]
    pipe = subprocess.PIPE
    return subprocess.Popen(command, cwd=HERE, stdout=pipe, stderr=pipe, text=True)


@pytest.mark.parametrize("begin", [crew.FORK, crew.FRESH])
@pytest.mark.parametrize("name", sorted(set(SCENARIOS) - {AWAITED}))
def test_a_crew_changes_nothing_but_the_time(name: str, begin: str) -> None:
    with begin_scenario(name, begin) as child:
        said = child.communicate(timeout=120)
    assert (child.returncode, *said) == (0, "", "")


@pytest.mark.parametrize("begin", [crew.FORK, crew.FRESH])
def test_no_worker_outlives_the_one_process(begin: str) -> None:
    with begin_scenario(AWAITED, begin) as child:
        assert child.stdout
        workers = [int(pid) for pid in child.stdout.readline().split()]
        assert len(workers) == 3
        child.kill()
    deadline = time.monotonic() + 10
    while any(map(alive, workers)):
        assert time.monotonic() < deadline
        time.sleep(0.01)


def alive(pid: int) -> bool:
    """Whether a process is there and no zombie (an orphan's next of kin may be slow to bury it)."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except (FileNotFoundError, ProcessLookupError):
        return False


def test_there_are_enough_scenarios() -> None:
    assert len(SCENARIOS) == 15


def test_work_that_waits_for_something_slower_has_no_crew(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delattr(os, "fork")
    monkeypatch.delattr(os, "posix_spawn")
    found = list(crew.in_order(str, iter(range(30)), each=0, begin=crew.FORK, many=3))
    assert found == [(job, str(job)) for job in range(30)]


def test_one_core_or_a_thread_beside_others_has_no_crew(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delattr(os, "fork")
    monkeypatch.delattr(os, "posix_spawn")
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {3})
    monkeypatch.delenv(crew.CORES, raising=False)
    assert crew.workers() == 1
    assert len(list(crew.in_order(str, range(100), each=100))) == 100
    ways: list[str] = []
    thread = threading.Thread(target=lambda: ways.append(crew.way()))
    thread.start()
    thread.join()
    assert ways == [crew.NONE]
    assert len(list(crew.in_order(str, range(100), each=100, begin=crew.NONE, many=3))) == 100


def test_a_fork_is_only_made_where_no_other_thread_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(threading, "active_count", lambda: 1)
    assert crew.way() == crew.FORK
    monkeypatch.setattr(threading, "active_count", lambda: 2)
    assert crew.way() == crew.FRESH
    monkeypatch.setattr(threading, "active_count", lambda: 1)
    monkeypatch.setattr(sys, "platform", "darwin")
    assert crew.way() == crew.FRESH


def test_there_is_a_worker_for_each_core_that_may_be_used(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(crew.CORES, raising=False)
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {0, 1, 2})
    assert crew.workers() == 3
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: set(range(96)))
    assert crew.workers() == crew.MOST
    monkeypatch.delattr(os, "sched_getaffinity")
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    assert crew.workers() == 2
    monkeypatch.setattr(os, "cpu_count", lambda: None)
    assert crew.workers() == 1


def test_the_environment_says_how_many(monkeypatch: pytest.MonkeyPatch) -> None:
    for told in ("1", "2", "64"):
        monkeypatch.setenv(crew.CORES, told)
        assert crew.workers() == int(told)
    for told in ("0", "65", "two", "-1", "1.5", "٣", " 2"):
        monkeypatch.setenv(crew.CORES, told)
        with pytest.raises(UsageRefused, match="wanted how many cores to use, 1 to 64"):
            crew.workers()


def test_shares_are_so_many_payments_at_a_time() -> None:
    assert list(crew.shares(range(5), 2)) == [[0, 1], [2, 3], [4]]
    assert list(crew.shares([])) == []


def test_a_worker_that_speaks_what_it_was_not_taught_is_let_go() -> None:
    for said in (b"\xff" * 8, (5).to_bytes(8, "big") + b"hello"):
        jobs, results = os.pipe(), os.pipe()
        child = os.posix_spawn("/bin/sleep", ["sleep", "60"], {})
        hand = crew._Hand(child, jobs[1], results[0])
        os.write(results[1], said)
        assert not hand.receive()  # it was asked nothing
        hand.end()
        with pytest.raises(ProcessLookupError):
            os.kill(child, signal.SIGKILL)
        os.close(jobs[0])
        os.close(results[1])
