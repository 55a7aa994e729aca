"""A crew: worker processes that do the pure part of a long piece of work, so that all cores of the machine are used.

The process that a person began reads (a register, a book) and hands out jobs, lists of some hundreds of payments; the
workers lay out, encode, decode and compare; what they found comes back in the order of the jobs. The book, the printer
and the terminal stay with the one process: a worker has none of them. Nothing is different for the crew but the time:

- The first jobs are done without it, one by one; so a short batch begins no process.
- What a worker could not do (it was killed; the work raised something) is done again here, where an error is raised as
  it would have been without a crew, in its place.
- A worker ends when its pipe does: by the end of the work, or of the process that began it, however that ended.
- So many jobs are under way at once, no more: a million payments take no more memory than ten thousand.

On Linux a worker is a fork, which is there in 2 ms and has in memory what was read and worked out so far; it closes
everything it inherited, book and printer included, and uses none of it. Elsewhere, or when other threads run, a fork
is not safe: then it is a fresh interpreter, there in 90 ms, and the work must be one that can be pickled. Windows has
neither way, and no crew.

CHEQUE_CORES=1 in the environment turns it off; another number is how many workers there are.
"""

import gc
import os
import pickle
import signal
import sys
import threading
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator
from contextlib import contextmanager, suppress
from itertools import islice
from selectors import EVENT_READ, EVENT_WRITE, BaseSelector, DefaultSelector
from typing import Any, BinaryIO, Generic, TypeVar

from cheque.errors import UsageRefused
from cheque.tongue import tr

Job = TypeVar("Job")
Result = TypeVar("Result")
#: payments in a job, about: less, and handing over costs; more, and the last ones are waited for
SHARE = 100
FORK, FRESH, NONE = "fork", "fresh", ""
#: how workers are begun -> so many payments are done before: a fork (2 ms) has paid for itself within a hundred more,
#: a fresh interpreter (90 ms of processor) within two thousand
ALONE = {FORK: 200, FRESH: 4_000, NONE: 0}
#: the one process cannot keep more of them busy than so many
MOST = 8
#: jobs under way for each worker: one in hand, one in its pipe, one done and not yet asked for
_EACH = 3
CORES = "CHEQUE_CORES"
_HEAD = 8
_PIPE = 1 << 20
_LONGEST = 1 << 30
#: where a worker finds its jobs and puts its results
_JOBS, _RESULTS = 3, 4
#: no descriptor that a worker is to have is below
_ABOVE = 10
#: what ends the one process is for it to hear: the crew goes on until its pipes end
_ITS = tuple(getattr(signal, name) for name in ("SIGINT", "SIGHUP", "SIGTERM") if hasattr(signal, name))
_END: Any = object()


def workers() -> int:
    """How many workers a crew has: as the environment says, else one for each core that may be used; 1 is no crew.

    UsageRefused when the environment says something that is no number.
    """
    if told := os.environ.get(CORES, ""):
        if not (told.isdecimal() and told.isascii() and 1 <= int(told) <= 64):
            raise UsageRefused(
                tr(
                    "found {cores} in the environment; wanted how many cores to use, 1 to 64.",
                    cores=f"{CORES}={told!a}",
                )
            )
        return int(told)
    usable = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return min(usable, MOST)


def way() -> str:
    """How workers are begun here. A run in a thread beside others has none: those share the machine already."""
    if threading.current_thread() is not threading.main_thread():
        return NONE
    if not (hasattr(os, "posix_spawn") and hasattr(signal, "pthread_sigmask")):
        return NONE  # as on Windows, whose pipes nobody can wait for side by side
    return FORK if sys.platform == "linux" and threading.active_count() == 1 else FRESH


def shares(payments: Iterable[Job], size: int = SHARE) -> Iterator[list[Job]]:
    """Payments, so many at a time."""
    rest = iter(payments)
    while share := list(islice(rest, size)):
        yield share


def in_order(
    work: Callable[[Job], Result],
    jobs: Iterable[Job],
    *,
    each: int = SHARE,
    begin: str | None = None,
    many: int = 0,
) -> Generator[tuple[Job, Result], None, None]:
    """Each job and its result, in the order of the jobs; close it (`contextlib.closing`) and the crew is gone.

    work: looks at nothing but the job; is done in any process, once or twice. each: how many payments are in a job,
    about; 0 when they are waited for by something slower than a processor: then there is no crew. begin, many: how
    workers are begun, and how many, where that is not as `way` and `workers` say.
    """
    jobs = iter(jobs)
    begin = way() if begin is None else begin
    many = (many or workers()) if each else 1
    for job in islice(jobs, -(-ALONE[begin] // each) if each else 0):
        yield job, work(job)
    job = next(jobs, _END)
    if job is not _END and many > 1:
        with _crew(work, begin, many) as crew:
            if crew.hands:
                yield from crew.do(job, jobs)
                return
    while job is not _END:
        yield job, work(job)
        job = next(jobs, _END)


class _Task(Generic[Job]):
    """One job under way: `done` when its answer is there, `answer` None when it must be done here."""

    def __init__(self, job: Job) -> None:
        self.job, self.done = job, False
        self.answer: bytes | None = None


class _Hand:
    """One worker, from the outside: its process, its two pipes, and the tasks it was given, in order."""

    def __init__(self, pid: int, jobs: int, results: int) -> None:
        self.pid, self.jobs, self.results = pid, jobs, results
        self.tasks: deque[_Task[Any]] = deque()
        self.unsent: deque[memoryview] = deque()
        self.got = bytearray()

    def send(self) -> bool:
        """Put as much into its pipe as goes in now; whether something is left. OSError when it is gone."""
        while self.unsent:
            try:
                written = os.write(self.jobs, self.unsent[0])
            except BlockingIOError:
                return True
            left = self.unsent[0][written:]
            if left:
                self.unsent[0] = left
            else:
                self.unsent.popleft()
        return False

    def receive(self) -> bool:
        """Take what is in its pipe; False when it is gone."""
        try:
            piece = os.read(self.results, _PIPE)
        except BlockingIOError:
            return True
        self.got += piece
        while len(self.got) >= _HEAD:
            end = _HEAD + int.from_bytes(self.got[:_HEAD], "big")
            if end > _LONGEST or not self.tasks:
                return False  # it speaks what it was not taught
            if len(self.got) < end:
                break
            task = self.tasks.popleft()
            task.done, task.answer = True, bytes(self.got[_HEAD:end]) or None
            del self.got[:end]
        return bool(piece)

    def give_up(self) -> None:
        """What it was given and has not done must be done elsewhere."""
        for task in self.tasks:
            task.done = True
        self.tasks.clear()
        self.unsent.clear()

    def end(self) -> None:
        """It ends, whatever it is at: it has nothing of its own that could be half done."""
        os.close(self.jobs)
        os.close(self.results)
        with suppress(ChildProcessError, ProcessLookupError):  # buried already, where nobody hears of ended processes
            if os.waitpid(self.pid, os.WNOHANG)[0] == 0:
                os.kill(self.pid, signal.SIGKILL)
                os.waitpid(self.pid, 0)


class _Crew(Generic[Job, Result]):
    """Workers, and the jobs that are under way with them."""

    def __init__(self, work: Callable[[Job], Result], hands: list[_Hand], selector: BaseSelector) -> None:
        self._work, self.hands, self._selector = work, hands, selector
        for hand in hands:
            self._selector.register(hand.results, EVENT_READ, hand)

    def do(self, first: Job, rest: Iterator[Job]) -> Iterator[tuple[Job, Result]]:
        """Each job with its result, in order."""
        under_way: deque[_Task[Job]] = deque()
        most = _EACH * len(self.hands)
        job = first
        while job is not _END or under_way:
            while job is not _END and len(under_way) < most:
                under_way.append(self._give(job))
                job = next(rest, _END)
            task = under_way.popleft()
            while not task.done:
                self._pump()
            yield task.job, self._work(task.job) if task.answer is None else pickle.loads(task.answer)

    def _give(self, job: Job) -> _Task[Job]:
        """Hand a job to the worker that has least to do; to none when there is none left."""
        task = _Task(job)
        if not self.hands:
            task.done = True
            return task
        data = pickle.dumps(job, pickle.HIGHEST_PROTOCOL)
        hand = min(self.hands, key=lambda one: len(one.tasks))
        hand.tasks.append(task)
        hand.unsent += (memoryview(len(data).to_bytes(_HEAD, "big")), memoryview(data))
        self._send(hand)
        return task

    def _send(self, hand: _Hand) -> None:
        try:
            left = hand.send()
        except OSError:
            self._lost(hand)
            return
        known = hand.jobs in self._selector.get_map()
        if left and not known:
            self._selector.register(hand.jobs, EVENT_WRITE, hand)
        elif known and not left:
            self._selector.unregister(hand.jobs)

    def _pump(self) -> None:
        """Wait until a worker says something, or takes more."""
        for key, _ in self._selector.select():
            hand: _Hand = key.data
            if hand not in self.hands:
                continue
            if key.fd == hand.jobs:
                self._send(hand)
            elif not hand.receive():
                self._lost(hand)

    def _lost(self, hand: _Hand) -> None:
        self.hands.remove(hand)
        for pipe in (hand.jobs, hand.results):
            with suppress(KeyError):
                self._selector.unregister(pipe)
        hand.give_up()
        hand.end()


@contextmanager
def _crew(work: Callable[[Job], Result], begin: str, many: int) -> Iterator[_Crew[Job, Result]]:
    """A crew that begins now, and is gone at the end. It has no workers where none can be begun."""
    hands: list[_Hand] = []
    try:
        if begin:
            _take_on(hands, work, begin, many)
        with DefaultSelector() as selector:
            yield _Crew(work, hands, selector)
    finally:
        while hands:
            hands.pop().end()


def _take_on(hands: list[_Hand], work: Callable[[Job], Result], begin: str, many: int) -> None:
    """So many workers, or as many as the system lets us have."""
    before = signal.pthread_sigmask(signal.SIG_BLOCK, _ITS)  # no handler of ours may run in a fork
    try:
        recipe = b"" if begin == FORK else pickle.dumps(work, pickle.HIGHEST_PROTOCOL)
        while len(hands) < many:
            hands.append(_hand(work, recipe, begin))
    except Exception:  # no process or descriptor left; work that cannot be pickled: it is done by those there are
        pass
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _hand(work: Callable[[Job], Result], recipe: bytes, begin: str) -> _Hand:
    import fcntl

    ours: list[int] = []
    theirs: list[int] = []
    try:
        for end in (1, 0):  # what we write it reads, and the other way about
            pair = os.pipe()
            ours.append(pair[end])
            theirs.append(_above(pair[1 - end]))
            with suppress(OSError, AttributeError):  # room for a whole job, where the system gives it
                fcntl.fcntl(pair[end], fcntl.F_SETPIPE_SZ, _PIPE)
        pid = _forked(work, *theirs) if begin == FORK else _fresh(*theirs)
    except BaseException:
        for pipe in ours:
            os.close(pipe)
        raise
    finally:
        for pipe in theirs:
            os.close(pipe)
    for pipe in ours:
        os.set_blocking(pipe, False)
    hand = _Hand(pid, *ours)
    if recipe:
        hand.unsent += (memoryview(len(recipe).to_bytes(_HEAD, "big")), memoryview(recipe))
    return hand


def _above(pipe: int) -> int:
    """The same pipe under a number that nothing in a worker is to have."""
    import fcntl

    try:
        return fcntl.fcntl(pipe, fcntl.F_DUPFD_CLOEXEC, _ABOVE)
    finally:
        os.close(pipe)


# -- in the worker -----------------------------------------------------------------------------------------------------


def _forked(work: Callable[[Any], Any], jobs: int, results: int) -> int:
    """Begin a worker as a fork; gives its process. In the worker it never returns."""
    pid = os.fork()
    if pid:
        return pid
    try:
        nothing = os.open(os.devnull, os.O_RDWR)
        for standard in range(3):
            os.dup2(nothing, standard)
        os.dup2(jobs, _JOBS)
        os.dup2(results, _RESULTS)
        _let_go()
        gc.freeze()
        _settle()
        with open(_JOBS, "rb") as pipe:
            _serve(work, pipe)
    finally:
        os._exit(0)  # nothing that was inherited is closed or finished here: it is not ours


def _let_go() -> None:
    """Close what was inherited: the book, its locks, a way to a printer would be held for longer than the one process.

    (Not every number that there can be: where the system sets no limit, that takes minutes on an older one.)
    """
    for name in os.listdir("/proc/self/fd"):
        if int(name) > _RESULTS:
            with suppress(OSError):
                os.close(int(name))


def _fresh(jobs: int, results: int) -> int:
    """Begin a worker as a fresh interpreter; gives its process."""
    code = f"import sys; sys.path[:] = {sys.path!r}; from cheque.crew import serve; serve()"
    doing = [(os.POSIX_SPAWN_OPEN, n, os.devnull, os.O_RDWR, 0) for n in range(3)]
    doing += [(os.POSIX_SPAWN_DUP2, jobs, _JOBS), (os.POSIX_SPAWN_DUP2, results, _RESULTS)]  # type: ignore[list-item]
    return os.posix_spawn(sys.executable, [sys.executable, "-c", code], os.environ, file_actions=doing)


def serve() -> None:
    """The whole life of a worker that is a fresh interpreter: the first that comes is the work itself."""
    _settle()
    with open(_JOBS, "rb") as pipe:
        recipe = _next(pipe)
        if recipe:
            _serve(pickle.loads(recipe), pipe)


def _settle() -> None:
    """Leave it to the one process when to end; and when memory runs out, let the system take this one, not that."""
    for one in _ITS:
        signal.signal(one, signal.SIG_DFL if one == signal.SIGTERM else signal.SIG_IGN)
    signal.pthread_sigmask(signal.SIG_UNBLOCK, _ITS)
    with suppress(OSError), open("/proc/self/oom_score_adj", "w", encoding="ascii") as file:
        file.write("500")


def _next(pipe: BinaryIO) -> bytes:
    """What comes next; nothing at the end."""
    return pipe.read(int.from_bytes(pipe.read(_HEAD), "big"))


def _serve(work: Callable[[Any], Any], pipe: BinaryIO) -> None:
    """Do job after job until the pipe ends. What cannot be done is answered with nothing."""
    while data := _next(pipe):
        try:
            answer = pickle.dumps(work(pickle.loads(data)), pickle.HIGHEST_PROTOCOL)
        except Exception:
            answer = b""
        left = memoryview(len(answer).to_bytes(_HEAD, "big") + answer)
        while left:
            try:
                left = left[os.write(_RESULTS, left) :]
            except OSError:  # nobody waits for it any more
                return
