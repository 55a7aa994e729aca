"""What `tests/test_crew.py` tries with a crew, each in a process of its own (`import crewed; crewed.main()`).

A process of its own, because a fork wants one without other threads, and the one that runs the tests may have some.
"""

import os
import signal
import sys
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from cheque import crew

MAIN = "CREWED_MAIN"
EACH = 100
#: longer than any pipe holds
LONG = 3_000_000


def here() -> bool:
    """Whether this is the one process, and no worker."""
    return os.environ[MAIN] == str(os.getpid())


def done(job: Any, begin: str, many: int = 3, work: Any = None) -> list[Any]:
    """All results of some jobs."""
    with closing(crew.in_order(work or job[0], job[1], each=EACH, begin=begin, many=many)) as found:
        return list(found)


def begun_at(begin: str) -> int:
    """How many jobs are done before there are workers."""
    return -(-crew.ALONE[begin] // EACH)


# -- work --------------------------------------------------------------------------------------------------------------


def who(job: int) -> tuple[int, bool]:
    return job, here()


def long(job: str) -> str:
    return job + job[::-1]


def fussy(job: int) -> int:
    if job == 70:
        raise ValueError(f"job {job} cannot be done")
    time.sleep(0.002)
    return job


def sickly(job: int) -> int:
    if job % 10 == 3 and not here():
        os.kill(os.getpid(), signal.SIGKILL)
    return -job


def mortal(job: int) -> int:
    if not here():
        os.kill(os.getpid(), signal.SIGKILL)
    return -job


def unspeakable(job: int) -> Any:
    return job if here() else (lambda: job)


def holds(job: int) -> list[str]:
    """What is open in this process."""
    return sorted(os.listdir("/proc/self/fd"), key=int)


def heard(job: int) -> tuple[bool, ...]:
    handlers = [signal.getsignal(one) for one in (signal.SIGINT, signal.SIGHUP, signal.SIGTERM)]
    blocked = signal.pthread_sigmask(signal.SIG_BLOCK, ())
    return handlers == [signal.SIG_IGN, signal.SIG_IGN, signal.SIG_DFL], not blocked, here()


# -- scenarios ---------------------------------------------------------------------------------------------------------


def results_come_in_the_order_of_the_jobs(begin: str) -> None:
    found = done((who, range(300)), begin)
    assert [job for job, _ in found] == list(range(300))
    assert [result[0] for _, result in found] == list(range(300))
    first = begun_at(begin)
    assert all(result[1] for _, result in found[:first])
    assert not any(result[1] for _, result in found[first:])


def jobs_and_results_longer_than_a_pipe_get_through(begin: str) -> None:
    first = begun_at(begin)
    jobs = ["short"] * first + [letter * LONG for letter in "abcdefghij"]
    for _, (job, result) in zip(range(first + 10), done((long, jobs), begin), strict=True):
        assert result == job + job[::-1]


def an_error_is_raised_in_its_place(begin: str) -> None:
    seen = []

    def all_of_them() -> None:
        with closing(crew.in_order(fussy, range(300), each=EACH, begin=begin, many=3)) as found:
            seen.extend(job for job, _ in found)

    with pytest.raises(ValueError, match="job 70 cannot be done"):
        all_of_them()
    assert seen == list(range(70))


def what_a_killed_worker_had_in_hand_is_done_here(begin: str) -> None:
    assert [result for _, result in done((sickly, range(200)), begin)] == [-job for job in range(200)]


def when_all_workers_are_gone_all_is_done_here(begin: str) -> None:
    assert [result for _, result in done((mortal, range(200)), begin)] == [-job for job in range(200)]


def what_cannot_be_told_is_done_here(begin: str) -> None:
    assert [result for _, result in done((unspeakable, range(80)), begin)] == list(range(80))


def no_more_jobs_are_under_way_than_so_many(begin: str) -> None:
    taken = [0]

    def jobs() -> Iterator[int]:
        for job in range(300):
            taken[0] += 1
            yield job

    with closing(crew.in_order(who, jobs(), each=EACH, begin=begin, many=3)) as found:
        for job, _ in found:
            assert taken[0] <= job + 1 + 3 * 3 + 1


def who_stops_early_leaves_no_process_and_nothing_open(begin: str) -> None:
    before = holds(0)
    for stop in (begun_at(begin) + 1, begun_at(begin) + 20):
        with closing(crew.in_order(long, ["x" * 100_000] * 500, each=EACH, begin=begin, many=3)) as found:
            for place, _ in enumerate(found):
                if place == stop:
                    assert len(children()) == 3
                    break
        assert children() == []
        assert holds(0) == before


def the_end_leaves_no_process_and_nothing_open(begin: str) -> None:
    before = holds(0)
    done((who, range(100)), begin)
    assert children() == []
    assert holds(0) == before


def a_worker_has_nothing_open_but_its_own_pipes(begin: str) -> None:
    with open(os.devnull) as _, open(os.devnull) as _:
        found = done((holds, range(60)), begin)
    # its three standard streams on nothing, its two pipes, and the folder that is being listed
    assert [result for _, result in found[begun_at(begin) :]] == [["0", "1", "2", "3", "4", "5"]] * (
        60 - begun_at(begin)
    )


def a_worker_leaves_it_to_the_one_process_when_to_end(begin: str) -> None:
    for one in (signal.SIGINT, signal.SIGHUP, signal.SIGTERM):
        signal.signal(one, lambda *_: None)
    found = done((heard, range(60)), begin)
    assert {result for _, result in found[begun_at(begin) :]} == {(True, True, False)}


def a_system_that_buries_the_dead_unasked_is_borne(begin: str) -> None:
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    assert [result for _, result in done((sickly, range(200)), begin)] == [-job for job in range(200)]
    assert children() == []


def a_short_piece_of_work_begins_no_process(begin: str) -> None:
    os.fork = os.posix_spawn = None  # type: ignore[assignment]
    assert len(done((who, range(begun_at(begin))), begin)) == begun_at(begin)


def where_no_process_can_be_begun_all_is_done_here(begin: str) -> None:
    def refused(*_: object, **__: object) -> int:
        raise BlockingIOError("no more processes")

    os.fork = os.posix_spawn = refused
    before = holds(0)
    assert all(result[1] for _, result in done((who, range(60)), begin))
    assert holds(0) == before


def workers_end_when_the_one_process_is_killed(begin: str) -> None:
    """Told to the test, which kills: the workers' numbers."""
    with closing(crew.in_order(fussy, iter(lambda: 1, 2), each=EACH, begin=begin, many=3)) as found:
        for place, _ in enumerate(found):
            if place == begun_at(begin) + 5:
                print(*children(), flush=True)


def children() -> list[int]:
    """The processes that this one began and that are there, zombies too."""
    return [int(pid) for pid in Path(f"/proc/self/task/{os.getpid()}/children").read_text().split()]


def main() -> None:
    """Run the scenario that is named."""
    os.environ[MAIN] = str(os.getpid())
    globals()[sys.argv[1]](sys.argv[2])
