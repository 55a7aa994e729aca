"""`queue:NAME`: a queue of the system spooler, raw, one job for each window of forms.

    queue:payroom

Jobs are handed in with `lp` (POSIX) and followed to their end with IPP (RFC 8011), so the spooler must speak it;
where it listens is asked of `lpstat -H`.

What it can tell: that the spooler gave a job to its printer's backend and calls it completed; for a socket that
means that its bytes were sent. What it cannot tell: how much of a job that failed got through (`taken` is then 0,
and the window in doubt), what waits in the printer's memory, and what came out on paper.

Rules:

1. A queue that would print a failed job again from its start pays people twice: it is refused
   (`printer-error-policy` must be abort-job).
2. A class is refused, since it spreads jobs over printers; so is a queue that is stopped or takes no jobs.
3. A queue with any unfinished job is refused: something old may be waiting there. The same is looked at before
   every window, because other people's jobs would print on the numbered forms.
4. One window is handed in at a time, and the next only after the spooler calls the last completed. A job that
   began to print and begins again (as after a restart of the spooler) is cancelled at once, and is a fault.
5. A job given up is cancelled. After its end a job is purged, since its spooled copy could be printed again; where
   the spooler will not, `remarks` says so.
"""

import contextlib
import os
import re
import socket
import subprocess
import tempfile
import time
from typing import BinaryIO, cast

from cheque import system
from cheque.device import DeviceError, Stalled, ipp
from cheque.tongue import mark, tr

LP_SECONDS = 60.0
UNKNOWN_SECONDS = 2.0
SHORTEST_WAIT, LONGEST_WAIT = 0.02, 0.5

_QUEUE = re.compile(r"\w[\w.+-]{0,126}")
_ASKED = [
    "printer-state",
    "printer-state-message",
    "printer-is-accepting-jobs",
    "printer-error-policy",
    "printer-type",
]
_CLASS = 0x01  # a bit of printer-type
_STOPPED = 5  # of printer-state, RFC 8011, 5.4.11
_SAFE_POLICY = "abort-job"
_STATES = {
    ipp.PENDING: mark("waits in the queue"),
    ipp.HELD: mark("is held"),
    ipp.PROCESSING: mark("is being sent"),
    ipp.STOPPED: mark("is stopped"),
    ipp.CANCELLED: mark("was cancelled"),
    ipp.ABORTED: mark("was given up by the spooler"),
}
_OVER = (ipp.CANCELLED, ipp.ABORTED, ipp.COMPLETED)
_LOOK = mark("Look at the paper, switch the printer off and on, then resume")


def check(address: str) -> str | None:
    """What is wrong with `queue:NAME` as written, or None. Opens nothing."""
    scheme, colon, name = address.partition(":")
    if scheme != "queue" or not colon:
        return tr("{address!r} is not of the form queue:NAME", address=address)
    if not _QUEUE.fullmatch(name):
        return tr("{address!r}: a queue's name is letters, digits and . _ + - only", address=address)
    return None


def tells() -> str:
    """One sentence for people: what a spooler's queue can tell, and what it cannot."""
    return tr(
        "A spooler's queue tells that a job was passed on to the printer; it cannot tell how much of a "
        "failed job got there, what waits in the printer's memory, or what came out on paper."
    )


def open_device(address: str, *, stall: float) -> "QueueDevice":
    """See that the queue is there, fit for numbered forms, and empty. Raises DeviceError; hands in nothing."""
    wrong = check(address)
    if wrong:
        raise DeviceError(f"{wrong}.")
    queue = address.partition(":")[2]
    spooler = ipp.Spooler(_server(address), system.person())
    try:
        state = spooler.printer(queue, _ASKED)
        reason = _unfit(state, queue) or _busy(spooler, queue)
    except ipp.IppError as error:
        raise DeviceError(
            tr("{address}: {error}. See that the spooler runs and speaks IPP.", address=address, error=error)
        ) from error
    if reason:
        raise DeviceError(tr("{address}: {happened}.", address=address, happened=reason))
    return QueueDevice(address, spooler, queue, stall)


class QueueDevice:
    """A queue in use. Not for several threads."""

    def __init__(self, address: str, spooler: ipp.Spooler, queue: str, stall: float) -> None:
        self.address = address
        #: What people should know although nothing failed.
        self.remarks: list[str] = []
        self._spooler, self._queue, self._stall = spooler, queue, stall
        self._job: int | None = None  # the one not yet over
        self._title = ""  # of the job not yet over, by which it is found when its number is not known
        self._lp: subprocess.Popen[bytes] | None = None
        self._broken = ""

    def send(self, data: bytes) -> None:
        """Hand `data` in as one job; returns when the spooler calls it completed, and has purged it.

        Stalled when the job's state does not change for `stall` seconds (`send(b"")` goes on waiting), DeviceError
        when it was given up or cancelled; `taken` is then 0: how much got through is not known.
        """
        if self._broken:
            raise DeviceError(
                tr(
                    "{address}: nothing more is sent after this fault: {broken}",
                    address=self.address,
                    broken=self._broken,
                )
            )
        if data and self._job is not None:
            raise DeviceError(
                tr("{address}: the last job is not over yet; wait for it, or close.", address=self.address)
            )
        try:
            if data:
                self._alone()
                self._hand_in(data)
            if self._job is not None:
                self._follow(self._job)
        except KeyboardInterrupt as stop:
            self._cancel()
            raise self._fault(tr("stopped by hand"), tr(_LOOK)) from stop

    def finish(self) -> None:
        """Every job was followed to its end by `send`; raises DeviceError when one was not."""
        if self._broken:
            raise DeviceError(
                tr(
                    "{address}: not finished, because of this fault: {broken}",
                    address=self.address,
                    broken=self._broken,
                )
            )
        self.send(b"")
        self._broken = tr("the queue was finished")

    def close(self) -> None:
        """Let go; a job that is not over is cancelled. Never raises."""
        self._broken = self._broken or tr("the queue was closed")
        self._cancel()

    def _alone(self) -> None:
        try:
            reason = _busy(self._spooler, self._queue)
        except ipp.IppError as error:
            raise self._fault(str(error), tr("See that the spooler runs, then resume")) from error
        if reason:
            raise self._fault(reason, tr("Nothing of this window was handed in; look at the paper, then resume"))

    def _hand_in(self, data: bytes) -> None:
        """Run `lp`, and note the job's number.

        It is kept out of reach of the terminal's Ctrl-C, and its input and output are no pipes: once begun it ends
        in its own time, and only then is it known whether there is a job to cancel.
        """
        self._title, self._lp = f"cheque-{os.getpid()}-{time.monotonic_ns()}", None
        command = ["lp", "-d", self._queue, "-o", "raw", "-o", "job-sheets=none", "-t", self._title, "-"]
        with _memory() as given, _memory() as said, _memory() as complained:
            given.write(data)
            given.seek(0)
            self._lp = subprocess.Popen(
                command, stdin=given, stdout=said, stderr=complained, env=_environment(), start_new_session=True
            )
            try:
                status = self._lp.wait(LP_SECONDS)
            except subprocess.TimeoutExpired as error:
                self._lp.kill()
                self._lp.wait()
                self._cancel()
                raise self._fault(
                    tr("lp did not hand the job in within {lp_seconds:g} s", lp_seconds=LP_SECONDS),
                    tr("See that nothing is left of it (lpstat -o {queue}), then resume", queue=self._queue),
                ) from error
            found = re.search(r"\S-(\d+)(?:\s|$)", _text(said))
            if status or not found:
                why = _text(complained) or tr("status {status}", status=status)
                raise self._fault(tr("lp did not hand the job in ({why})", why=why), tr("Put it right, then resume"))
        self._job = int(found[1])

    def _jobs(self) -> list[int]:
        """The job in hand, or the one that an interrupted `lp` may have handed in."""
        if self._job is not None or not self._title:
            return [] if self._job is None else [self._job]
        until = time.monotonic() + UNKNOWN_SECONDS
        with contextlib.suppress(ipp.IppError, subprocess.TimeoutExpired):
            if self._lp is not None:
                self._lp.wait(LP_SECONDS)
                return self._spooler.unfinished(self._queue, self._title)
            while time.monotonic() < until:  # interrupted while `lp` was being started
                time.sleep(0.1)
                if found := self._spooler.unfinished(self._queue, self._title):
                    return found
        return []

    def _follow(self, job: int) -> None:
        """Until the job is completed. Anything else is a fault; no change for too long is a stall."""
        wait, moved, last, began = SHORTEST_WAIT, time.monotonic(), 0, 0
        while True:
            state, message, begins = self._state(job)
            if began and state and begins != began and state not in _OVER:
                self._cancel()
                raise self._fault(
                    tr(
                        "the spooler began to send job {queue}-{job} again from its start, so it was cancelled",
                        queue=self._queue,
                        job=job,
                    ),
                    tr("Some of it may have been printed twice. {look}", look=tr(_LOOK)),
                )
            began = began or begins
            if state == ipp.COMPLETED:
                self._job, self._title = None, ""
                self._purge(job)
                return
            if state in _OVER:
                self._job, self._title = None, ""
                self._purge(job)
                raise self._fault(
                    tr(
                        "job {queue}-{job} {states}{message}",
                        queue=self._queue,
                        job=job,
                        states=tr(_STATES[state]),
                        message=message,
                    ),
                    tr(_LOOK),
                )
            if state and state != last:
                wait, moved, last = SHORTEST_WAIT, time.monotonic(), state
            if time.monotonic() - moved >= self._stall:
                happened = tr(_STATES.get(state, mark("cannot be asked after")))
                raise Stalled(
                    tr(
                        "{address}: job {queue}-{job} {happened}{message} and has not got on for {stall:g} s. Look at "
                        "the printer and the queue (lpstat -p {queue}).",
                        address=self.address,
                        queue=self._queue,
                        job=job,
                        happened=happened,
                        message=message,
                        stall=self._stall,
                    )
                )
            time.sleep(min(wait, self._stall))
            wait = min(wait * 2, LONGEST_WAIT)

    def _state(self, job: int) -> tuple[int, str, int]:
        """The job's state, what the spooler says, and when it began to send; state 0 while it does not answer."""
        try:
            found = self._spooler.job(self._queue, job)
        except ipp.IppError as error:
            return 0, f" ({error})", 0
        if found is None:
            self._job, self._title = None, ""
            raise self._fault(
                tr("the spooler no longer knows job {queue}-{job}, so its fate is unknown", queue=self._queue, job=job),
                tr("Let it keep the history of jobs (PreserveJobHistory). {look}", look=tr(_LOOK)),
            )
        message = str(found.get("job-printer-state-message", [""])[0]).strip().rstrip(".")
        return _number(found, "job-state"), f" ({message})" if message else "", _number(found, "time-at-processing")

    def _purge(self, job: int) -> None:
        try:
            self._spooler.purge(self._queue, job)
        except ipp.IppError as error:
            self.remarks.append(
                tr(
                    "{address}: the spooled copy of job {queue}-{job} was not deleted ({error}). It can be printed "
                    "again: have the spooler keep no files of finished jobs (PreserveJobFiles No).",
                    address=self.address,
                    queue=self._queue,
                    job=job,
                    error=error,
                )
            )

    def _cancel(self) -> None:
        """Cancel the job in hand; what the spooler will not cancel is found when the queue is next opened."""
        jobs = self._jobs()
        self._job, self._title = None, ""
        for job in jobs:
            with contextlib.suppress(OSError, subprocess.SubprocessError):
                subprocess.run(
                    ["cancel", f"{self._queue}-{job}"],
                    capture_output=True,
                    env=_environment(),
                    timeout=LP_SECONDS,
                    start_new_session=True,
                    check=False,
                )
            with contextlib.suppress(ipp.IppError):
                self._spooler.purge(self._queue, job)

    def _fault(self, happened: str, do: str) -> DeviceError:
        self._broken = happened
        return DeviceError(tr("{address}: {happened}. {do}.", address=self.address, happened=happened, do=do))


def _number(values: ipp.Values, name: str) -> int:
    """An attribute that is a whole number; 0 when it is missing or has no value yet."""
    value = values.get(name, [0])[0]
    return value if isinstance(value, int) else 0


def _unfit(state: ipp.Values | None, queue: str) -> str:
    """Why the queue may not be used, or nothing."""
    if state is None:
        return tr("the spooler has no queue of that name. See which there are: lpstat -e")
    if _number(state, "printer-type") & _CLASS:
        return tr("it is a class, which spreads jobs over several printers. Name one printer's queue")
    if _number(state, "printer-state") == _STOPPED:
        message = str(state.get("printer-state-message", [""])[0]).strip().rstrip(".")
        said = f" ({message})" if message else ""
        return tr("the queue is stopped{said}. See to the printer, then: cupsenable {queue}", said=said, queue=queue)
    if not _number(state, "printer-is-accepting-jobs"):
        return tr("the queue takes no jobs. Let it: cupsaccept {queue}", queue=queue)
    policy = state.get("printer-error-policy", ["unknown"])[0]
    if policy != _SAFE_POLICY:
        return tr(
            "found error policy {policy}; wanted {safe_policy}, since a failed job must not be printed again "
            "from its start. Set it: lpadmin -p {queue} -o printer-error-policy={safe_policy}",
            policy=policy,
            safe_policy=_SAFE_POLICY,
            queue=queue,
        )
    return ""


def _busy(spooler: ipp.Spooler, queue: str) -> str:
    jobs = spooler.unfinished(queue)
    if not jobs:
        return ""
    names = ", ".join(f"{queue}-{job}" for job in sorted(jobs)[:5])
    more = "" if len(jobs) <= 5 else tr(" and {count} more", count=len(jobs) - 5)
    return tr(
        "jobs are in the queue that are not this window's: {names}{more}. They would print on the "
        "numbered forms: wait for them, or cancel them (cancel {queue}-{min})",
        names=names,
        more=more,
        queue=queue,
        min=min(jobs),
    )


def _server(address: str) -> str:
    """Where the spooler listens: a path, or HOST:PORT."""
    try:
        done = subprocess.run(
            ["lpstat", "-H"], capture_output=True, text=True, env=_environment(), timeout=LP_SECONDS, check=False
        )
    except FileNotFoundError as error:
        raise DeviceError(
            tr(
                "{address}: this machine has no spooler (no lpstat). Install one, or use another kind of address.",
                address=address,
            )
        ) from error
    except subprocess.TimeoutExpired as error:
        raise DeviceError(
            tr("{address}: lpstat does not answer. See that the spooler runs.", address=address)
        ) from error
    server = done.stdout.strip()
    if (server.startswith("/") and hasattr(socket, "AF_UNIX")) or re.fullmatch(r"\S+:\d+", server):
        return server
    raise DeviceError(
        tr("{address}: lpstat -H does not say where the spooler is. See that it speaks IPP.", address=address)
    )


def _memory() -> BinaryIO:
    """A file that is on no disk, where the system has such."""
    if hasattr(os, "memfd_create"):
        return os.fdopen(os.memfd_create("cheque", os.MFD_CLOEXEC), "w+b", buffering=0)
    return cast(BinaryIO, tempfile.TemporaryFile(buffering=0))


def _text(file: BinaryIO) -> str:
    file.seek(0)
    return " ".join(file.read().decode(errors="replace").split())


def _environment() -> dict[str, str]:
    """Ours, with the spooler's commands speaking their standard words."""
    return {**os.environ, "LC_ALL": "C"}
