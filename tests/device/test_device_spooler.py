"""A queue of a real spooler, started by the tests, with a real socket behind it."""

import contextlib
import os
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from device.peers import soon
from device.spool import Spool, spooler

from cheque.device import DeviceError, Stalled, ipp, remarks
from cheque.device import spooler as queue

STREAM = bytes(range(256)) * 100


class JobPrinter:
    """A printer behind the spooler: a connection for each job; `reads` cleared, it takes nothing."""

    def __init__(self) -> None:
        self.listener = socket.create_server(("127.0.0.1", 0))
        self.listener.settimeout(0.2)
        self.device = f"socket://127.0.0.1:{self.listener.getsockname()[1]}/?contimeout=2"
        self.jobs: list[bytearray] = []
        self.reads = threading.Event()
        self.over = threading.Event()
        self.threads = [threading.Thread(target=self._run)]
        self.threads[0].start()

    def _run(self) -> None:
        while not self.over.is_set():
            with contextlib.suppress(TimeoutError):
                connection, _ = self.listener.accept()
                self.threads.append(threading.Thread(target=self._print, args=(connection,)))
                self.threads[-1].start()

    def _print(self, connection: socket.socket) -> None:
        job = bytearray()
        self.jobs.append(job)
        with connection, contextlib.suppress(OSError):
            connection.settimeout(5)
            while not self.reads.wait(0.05) and not self.over.is_set():
                pass
            while piece := connection.recv(65536):
                job += piece

    def end(self) -> None:
        """Every thread is over."""
        self.over.set()
        for thread in self.threads:
            thread.join(10)
        self.listener.close()


@pytest.fixture(scope="module")
def machine() -> Iterator[JobPrinter]:
    made = JobPrinter()
    try:
        yield made
    finally:
        made.end()


@pytest.fixture(scope="module")
def spool(machine: JobPrinter) -> Iterator[Spool]:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        nobody = f"socket://127.0.0.1:{taken.getsockname()[1]}/?contimeout=1"
    queues = {
        "payroom": {"device": machine.device},
        "nobody": {"device": nobody},
        "halted": {"device": machine.device, "state": "Stopped", "message": "Ribbon out."},
        "closed": {"device": machine.device, "accepting": "No"},
        "again": {"device": machine.device, "policy": "retry-job"},
        "waiting": {"device": machine.device, "policy": "stop-printer"},
    }
    with pytest.MonkeyPatch.context() as patch, spooler(queues, patch.setenv) as made:
        yield made


@pytest.fixture
def printer(machine: JobPrinter, spool: Spool) -> Iterator[JobPrinter]:
    machine.jobs.clear()
    machine.reads.set()
    yield machine
    machine.reads.set()
    for job in spool.ipp.unfinished("payroom"):
        spool.ipp.purge("payroom", job)


def test_every_window_is_a_job_of_its_own_byte_for_byte_without_a_banner(printer: JobPrinter, spool: Spool) -> None:
    device = queue.open_device("queue:payroom", stall=10)
    for start in (0, 10_000, 20_000):
        device.send(STREAM[start : start + 10_000])
    device.finish()
    device.close()
    assert printer.jobs == [STREAM[:10_000], STREAM[10_000:20_000], STREAM[20_000:]]
    assert remarks(device) == ()
    # The copies are gone, though this spooler keeps what it printed.
    assert spool.documents() == []


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("unheard", "no queue of that name"),
        ("crowd", "it is a class"),
        ("halted", r"the queue is stopped \(Ribbon out\)"),
        ("closed", "takes no jobs"),
        ("again", "found error policy retry-job; wanted abort-job"),
        ("waiting", "found error policy stop-printer; wanted abort-job"),
    ],
)
def test_a_queue_unfit_for_numbered_forms_is_refused(printer: JobPrinter, spool: Spool, name: str, says: str) -> None:
    with pytest.raises(DeviceError, match=says) as fault:
        queue.open_device(f"queue:{name}", stall=10)
    assert f"queue:{name}: " in str(fault.value)
    assert printer.jobs == []


def test_a_job_the_spooler_gave_up_is_a_fault_and_not_printed_again(spool: Spool) -> None:
    device = queue.open_device("queue:nobody", stall=20)
    with pytest.raises(DeviceError, match=r"job nobody-\d+ was given up by the spooler") as fault:
        device.send(STREAM)
    assert not isinstance(fault.value, Stalled)
    assert fault.value.taken == 0
    with pytest.raises(DeviceError, match="nothing more is sent after this fault"):
        device.send(STREAM)
    with pytest.raises(DeviceError, match="not finished"):
        device.finish()
    device.close()
    assert spool.ipp.unfinished("nobody") == []
    assert spool.documents() == []


def test_a_printer_that_takes_nothing_is_a_stall_and_the_wait_can_go_on(printer: JobPrinter, spool: Spool) -> None:
    data = STREAM * 400
    printer.reads.clear()
    device = queue.open_device("queue:payroom", stall=1)
    with pytest.raises(Stalled, match="is being sent"):
        device.send(data)
    with pytest.raises(DeviceError, match="not over yet"):
        device.send(b"something else")
    printer.reads.set()
    while True:
        with contextlib.suppress(Stalled):
            device.send(b"")
            break
    device.finish()
    device.close()
    assert printer.jobs == [data]


def test_giving_up_a_stalled_job_cancels_it_and_leaves_no_copy(printer: JobPrinter, spool: Spool) -> None:
    printer.reads.clear()
    device = queue.open_device("queue:payroom", stall=0.5)
    with pytest.raises(Stalled):
        device.send(STREAM * 400)
    device.close()
    soon(lambda: not spool.ipp.unfinished("payroom"))
    soon(lambda: not spool.documents())
    printer.reads.set()
    queue.open_device("queue:payroom", stall=1).close()  # nothing in the way of the resumed run


def test_a_job_somebody_cancelled_is_a_fault(printer: JobPrinter, spool: Spool) -> None:
    printer.reads.clear()

    def cancel() -> None:
        soon(lambda: spool.ipp.unfinished("payroom"))
        soon(lambda: printer.jobs)
        subprocess.run(["cancel", "-a", "payroom"], check=True)

    other = threading.Thread(target=cancel)
    device = queue.open_device("queue:payroom", stall=20)
    other.start()
    with pytest.raises(DeviceError, match=r"job payroom-\d+ was cancelled"):
        device.send(STREAM * 400)
    other.join()
    device.close()


def test_other_peoples_jobs_are_refused_before_and_between_windows(printer: JobPrinter, spool: Spool) -> None:
    device = queue.open_device("queue:payroom", stall=10)
    device.send(b"first window")
    printer.reads.clear()
    subprocess.run(["lp", "-d", "payroom", "-o", "raw", "-"], input=STREAM * 400, check=True, capture_output=True)
    with pytest.raises(DeviceError, match=r"not this window's: payroom-\d+\. They would print") as fault:
        device.send(b"second window")
    assert fault.value.taken == 0
    device.close()
    with pytest.raises(DeviceError, match=r"cancel them \(cancel payroom-\d+\)"):
        queue.open_device("queue:payroom", stall=10)


def test_stopped_by_hand_cancels_the_job(printer: JobPrinter, spool: Spool) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    printer.reads.clear()
    device = queue.open_device("queue:payroom", stall=20)
    before = signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, 0.4)
    try:
        with pytest.raises(DeviceError, match="stopped by hand"):
            device.send(STREAM * 400)
    finally:
        signal.signal(signal.SIGALRM, before)
    device.close()
    soon(lambda: not spool.ipp.unfinished("payroom"))


def test_stopped_by_hand_at_any_moment_leaves_no_job(printer: JobPrinter, spool: Spool) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    printer.reads.clear()
    data = STREAM * 400
    before = signal.signal(signal.SIGALRM, stop)
    try:
        for moment in range(1, 41, 5):  # thousandths of a second: before, during and after lp
            device = queue.open_device("queue:payroom", stall=20)
            signal.setitimer(signal.ITIMER_REAL, moment / 1000)
            with pytest.raises((DeviceError, KeyboardInterrupt)):  # the latter just before it begins
                device.send(data)
            device.close()
            soon(lambda: not spool.ipp.unfinished("payroom"))
    finally:
        signal.signal(signal.SIGALRM, before)


def _lp(folder: Path, script: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """An `lp` that misbehaves, in front of the real one ($LP)."""
    monkeypatch.setenv("LP", str(shutil.which("lp")))
    monkeypatch.setenv("PATH", f"{folder}:{os.environ['PATH']}")
    (folder / "lp").write_text(f"#!/bin/sh\n{script}\n")
    (folder / "lp").chmod(0o700)


def test_stopped_by_hand_while_a_job_is_handed_in_still_cancels_it(
    printer: JobPrinter, spool: Spool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    _lp(tmp_path, 'sleep 0.6; exec "$LP" "$@"', monkeypatch)
    printer.reads.clear()
    device = queue.open_device("queue:payroom", stall=20)
    before = signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, 0.3)
    try:
        with pytest.raises(DeviceError, match="stopped by hand"):
            device.send(STREAM * 20)
    finally:
        signal.signal(signal.SIGALRM, before)
    device.close()
    soon(lambda: not spool.ipp.unfinished("payroom"))
    assert spool.documents() == []


def test_an_lp_that_will_not_take_the_job_is_quoted(
    printer: JobPrinter, spool: Spool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _lp(tmp_path, "echo 'lp: Request entity\n too large' >&2; exit 1", monkeypatch)
    device = queue.open_device("queue:payroom", stall=5)
    with pytest.raises(DeviceError, match=r"lp did not hand the job in \(lp: Request entity too large\)"):
        device.send(STREAM)
    device.close()
    assert printer.jobs == []


def test_an_lp_that_hangs_is_given_up_and_what_to_look_at_is_said(
    printer: JobPrinter, spool: Spool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(queue, "LP_SECONDS", 0.3)
    _lp(tmp_path, "exec sleep 5", monkeypatch)
    device = queue.open_device("queue:payroom", stall=5)
    with pytest.raises(DeviceError, match=r"within 0\.3 s\. See that nothing is left of it \(lpstat -o payroom\)"):
        device.send(STREAM)
    device.close()


def test_a_killed_run_leaves_a_job_that_the_resumed_run_refuses_to_print_over(
    printer: JobPrinter, spool: Spool
) -> None:
    script = "from cheque.device import spooler\nspooler.open_device('queue:payroom', stall=30).send(bytes(10**7))\n"
    printer.reads.clear()
    child = subprocess.Popen([sys.executable, "-c", script], env=os.environ)
    soon(lambda: spool.ipp.unfinished("payroom"))
    soon(lambda: printer.jobs)
    child.kill()
    child.wait(5)
    with pytest.raises(DeviceError, match=r"jobs are in the queue .*payroom-\d+"):
        queue.open_device("queue:payroom", stall=10)


def test_a_spooler_that_died_is_waited_for_and_then_a_stall(printer: JobPrinter, spool: Spool) -> None:
    printer.reads.clear()

    def kill() -> None:
        soon(lambda: printer.jobs)
        spool.stop()

    other = threading.Thread(target=kill)
    device = queue.open_device("queue:payroom", stall=1)
    other.start()
    try:
        with pytest.raises(Stalled, match=r"cannot be asked after .*does not answer"):
            device.send(STREAM * 400)
        device.close()
        with pytest.raises(DeviceError, match="See that the spooler runs"):
            queue.open_device("queue:payroom", stall=1)
    finally:
        other.join()
        spool.start()


def test_a_spooler_restarted_in_mid_job_does_not_print_it_again(printer: JobPrinter, spool: Spool) -> None:
    printer.reads.clear()

    def restart() -> None:
        soon(lambda: printer.jobs)
        time.sleep(1.1)  # a job's start is told in whole seconds
        spool.stop(orderly=True)
        spool.start()

    other = threading.Thread(target=restart)
    device = queue.open_device("queue:payroom", stall=20)
    other.start()
    try:
        with pytest.raises(DeviceError, match="again from its start, so it was cancelled") as fault:
            device.send(STREAM * 400)
    finally:
        other.join()
    assert not isinstance(fault.value, Stalled)
    device.close()
    soon(lambda: not spool.ipp.unfinished("payroom"))


def test_a_spooler_that_forgets_jobs_leaves_their_fate_unknown(
    printer: JobPrinter, spool: Spool, monkeypatch: pytest.MonkeyPatch
) -> None:
    device = queue.open_device("queue:payroom", stall=5)
    monkeypatch.setattr(ipp.Spooler, "job", lambda *_: None)
    with pytest.raises(DeviceError, match=r"no longer knows job payroom-\d+, so its fate is unknown"):
        device.send(b"x")
    device.close()


def test_a_copy_that_could_not_be_deleted_is_remarked_on(
    printer: JobPrinter, spool: Spool, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise ipp.IppError("not allowed")

    monkeypatch.setattr(ipp.Spooler, "purge", refuse)
    device = queue.open_device("queue:payroom", stall=5)
    device.send(b"x")
    device.close()
    assert len(remarks(device)) == 1
    assert "was not deleted (not allowed)" in remarks(device)[0]


def test_a_machine_without_a_spooler_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "/nowhere")
    with pytest.raises(DeviceError, match="this machine has no spooler"):
        queue.open_device("queue:payroom", stall=1)


@pytest.mark.parametrize("address", ["queue:", "queue:-o", "queue:a b", "queue:a/b", "queue:a#b", "file:a"])
def test_a_badly_written_queue_is_refused(address: str) -> None:
    assert address in str(queue.check(address))


@pytest.mark.parametrize("answer", [b"", b"\1", b"\1\1\0\0\0\0\0\1\1", b"\1\1\0\0\0\0\0\1\x21\0\1", b"\xff" * 40])
def test_an_answer_that_is_no_ipp_is_said_to_be_none(answer: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ipp.Spooler, "_post", lambda *_: answer)
    with pytest.raises(ipp.IppError, match=r"not IPP|refused"):
        ipp.Spooler("/nowhere", "root").job("payroom", 1)


def test_waiting_for_a_job_is_not_busy(printer: JobPrinter, spool: Spool) -> None:
    printer.reads.clear()
    device = queue.open_device("queue:payroom", stall=1.5)
    began = time.process_time()
    with pytest.raises(Stalled):
        device.send(STREAM * 400)
    assert time.process_time() - began < 0.4
    device.close()
