"""Several runs side by side, a thread each, every one with the book open for itself; any may fail alone.

What a person must be asked is asked in the thread that called, one question after another, because there is one
terminal and one person at it. The runs that wait for no answer go on meanwhile.
"""

import ctypes
import queue
import threading
from collections.abc import Callable, Sequence
from typing import NamedTuple

from cheque import run
from cheque.book.book import Book
from cheque.device import Device
from cheque.errors import RunStopped
from cheque.run import Progress, Setting, Watch
from cheque.tongue import mark, tr

#: how often it is looked whether all have ended
TICK = 0.1
_AT_ONCE = mark("stopped at once by the operator")


class Job(NamedTuple):
    """One run that was begun: on a printer, its plan, and the open way there.

    `release` is called in the run's own thread when it has ended, however: it closes the way and lets go of the
    printer, so that this one can be resumed while the others still print.
    """

    printer: str
    run: int
    planned: Sequence[tuple[int, int]]
    setting: Setting
    way: Device
    window: int
    release: Callable[[], None]


class _Question(NamedTuple):
    """Something to ask in the thread that has the terminal, and where the answer goes."""

    ask: Callable[[], object]
    stopped: object  # the answer when everything is being stopped
    answer: "queue.SimpleQueue[object]"


def send_together(
    book: Book, jobs: Sequence[Job], watch: Watch, *, progress: Callable[[str, Progress], None]
) -> dict[str, Exception]:
    """Send the forms of every run; gives why each printer that did not get to its end stopped.

    `watch` is as for one run, except that `progress` takes the printer's name. A KeyboardInterrupt raised here (the
    operator wants all stopped at once) stops every run as it would stop one. Raises nothing for a run that stopped.
    """
    asked: queue.SimpleQueue[_Question] = queue.SimpleQueue()
    failed: dict[str, Exception] = {}

    def put(ask: Callable[[], object], stopped: object) -> object:
        question = _Question(ask, stopped, queue.SimpleQueue())
        asked.put(question)
        return question.answer.get()

    def work(job: Job) -> None:
        mine = Watch(
            lambda now: progress(job.printer, now),
            lambda number: str(put(lambda: watch.first_form(number), tr(_AT_ONCE))),
            watch.stop,
            lambda what: bool(put(lambda: watch.stalled(what), False)),
        )
        try:
            with book.another() as own:
                run.send(own, job.run, job.planned, job.setting, job.way, window=job.window, watch=mine)
        except KeyboardInterrupt:  # outside of what the run itself sees to
            failed[job.printer] = RunStopped(tr("{at_once}. Look at the paper, then resume.", at_once=tr(_AT_ONCE)))
        except Exception as error:
            failed[job.printer] = error
        finally:
            job.release()

    threads = [threading.Thread(target=work, args=(job,), name=job.printer) for job in jobs]
    for thread in threads:
        thread.start()
    _attend(threads, asked)
    return failed


def _attend(threads: list[threading.Thread], asked: "queue.SimpleQueue[_Question]") -> None:
    """Put the questions of the threads until all have ended."""
    at_once = False
    while any(thread.is_alive() for thread in threads):
        question = None
        try:
            question = asked.get(timeout=TICK)
            question.answer.put(question.stopped if at_once else question.ask())
        except queue.Empty:
            continue
        except KeyboardInterrupt:
            at_once = True
            if question is not None:
                question.answer.put(question.stopped)
            _interrupt(threads)
    for thread in threads:
        thread.join()


def _interrupt(threads: list[threading.Thread]) -> None:
    """What Ctrl-C is to the main thread: each run is stopped where it stands, and tells the book so."""
    for thread in threads:
        if thread.is_alive() and thread.ident is not None:
            ctypes.pythonapi.PyThreadState_SetAsyncExc(
                ctypes.c_ulong(thread.ident), ctypes.py_object(KeyboardInterrupt)
            )
