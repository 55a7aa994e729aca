"""Commands as a user runs them, in processes of their own: signals, two at once, streams that are not there."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable

import pytest
from device.peers import Peer, peer, soon
from journeys.firm import Firm

from cheque.attendant import SIGNALS

GO_ON = ("--paper-loaded", "--after-first", "go-on")


def order(firm: Firm, *more: str) -> tuple[str, ...]:
    """The command line that prints batch 1."""
    return ("print", "1", "--first-number", "100501", "--proof-code", firm.proof(), *GO_ON, *more)


def ended(process: "subprocess.Popen[bytes]") -> tuple[int, str]:
    """The exit status and the talk of a command that comes to its end by itself."""
    out, err = process.communicate(timeout=20)
    assert b"Traceback" not in err
    assert b"fault of the tool" not in err
    del out
    return process.returncode, err.decode()


def sent(firm: Firm) -> int:
    """How many forms are sent, as the book knows."""
    return [state for _, state in firm.numbers().values()].count("sent")


def slowly(taken: int) -> Callable[[Peer], None]:
    """A printer that takes so much, then nothing until it is told to go on, then everything."""

    def behave(printer: Peer) -> None:
        printer.take(taken)
        printer.wait()
        printer.take_all()

    return behave


@pytest.mark.parametrize("which", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP], ids=lambda one: one.name)
def test_a_signal_stops_the_run_at_the_end_of_the_form_in_hand(accepted: Firm, which: signal.Signals) -> None:
    line = order(accepted)
    with peer(slowly(9_000), buffer=2304) as printer:
        accepted.change("file:payroom.prn", printer.address)
        run = accepted.start(*line)
        soon(lambda: len(printer.read) >= 9_000, 15)
        time.sleep(0.3)  # until nothing more is taken
        before = sent(accepted)
        run.send_signal(which)
        time.sleep(0.3)
        assert run.poll() is None  # the form in hand is not yet through
        printer.go.set()
        status, said = ended(run)
    assert status == 4
    assert "Stopping at the end of the form in hand. Ctrl-C again stops at once." in said
    assert f"the run stopped after {before} of 24 forms: {SIGNALS[which]}. Look at the paper" in said
    assert printer.read.count(b"\x1b@") == before  # every form that was begun came out whole
    assert sent(accepted) == before
    accepted.change(printer.address, "file:payroom.prn")
    told = accepted.resume(str(100500 + before), str(100501 + before))
    assert f"Why it stopped: {SIGNALS[which]}." in told.err
    accepted.run("confirm", "1", "--good-count", str(24 - before))
    accepted.run("reconcile", "numbers", "1")


def test_a_second_ctrl_c_stops_at_once_and_what_was_not_taken_never_leaves(accepted: Firm) -> None:
    line = order(accepted)
    with peer(slowly(9_000), buffer=2304) as printer:
        accepted.change("file:payroom.prn", printer.address)
        run = accepted.start(*line)
        soon(lambda: len(printer.read) >= 9_000, 15)
        time.sleep(0.3)
        before = sent(accepted)
        run.send_signal(signal.SIGINT)
        time.sleep(0.2)
        run.send_signal(signal.SIGINT)
        status, said = ended(run)  # although the printer takes nothing
        printer.go.set()
    assert status == 4
    assert f"the run stopped after {before - 1} of 24 forms: socket://" in said
    assert "stopped by hand" in said
    assert sent(accepted) == before  # the form in hand is in doubt
    assert accepted.run("batch", "list", "--json").json[0]["is"] == "stopped: resume it"


def test_two_runs_at_once_on_one_printer_are_refused(accepted: Firm) -> None:
    line = order(accepted, "--count", "12")
    with peer(slowly(5_000), buffer=2304) as printer:
        accepted.change("file:payroom.prn", printer.address)
        first = accepted.start(*line)
        soon(lambda: len(printer.read) >= 5_000, 15)
        for other in (
            line,
            ("resume", "1", "--power-cycled", "--last-good", "100501", "--next-number", "100502", *GO_ON),
        ):
            said = accepted.spawn(*other)
            assert said.status == 5
            assert f"printer payroom is in use by another run (process {first.pid})" in said.err
            assert "Let it end, or stop it with Ctrl-C in its own terminal." in said.err
        said = accepted.spawn("confirm", "1", "--good-count", "1")
        assert said.status == 5
        assert "is in use by another run" in said.err
        printer.go.set()
        assert ended(first)[0] == 0
    accepted.run("confirm", "1", "--good-count", "12")


def test_a_printer_that_takes_nothing_is_given_up_when_nobody_is_there(accepted: Firm) -> None:
    accepted.change("# stall_seconds = 164", "stall_seconds = 5")
    line = order(accepted)
    with peer(slowly(5_000), buffer=2304) as printer:
        accepted.change("file:payroom.prn", printer.address)
        status, said = ended(accepted.start(*line))
        printer.go.set()
    assert status == 4
    assert "nothing was taken for 5 s" in said
    assert "Look at the printer (paper, cover, on-line light) and at the cable. Look at the paper, then" in said
    assert accepted.run("batch", "list", "--json").json[0]["is"] == "stopped: resume it"


def test_a_bridge_that_does_not_hang_up_is_remarked_on(accepted: Firm, monkeypatch: pytest.MonkeyPatch) -> None:
    from cheque.device import tcp

    monkeypatch.setattr(tcp, "FINISH_SECONDS", 0.2)

    def behave(printer: Peer) -> None:
        while printer.read.count(b"\x1b@") < 2 or not printer.read.endswith(b"\n"):
            printer.read += printer.connection.recv(65536)
        printer.wait()

    with peer(behave) as printer:
        accepted.change("file:payroom.prn", printer.address)
        said = accepted.print(1, 100501, "--count", "2")
        printer.go.set()
    assert "note: socket://" in said.err
    assert "everything was acknowledged, but the other side did not close the connection" in said.err
    assert "A TCP connection tells which bytes the printer or bridge has acknowledged" in said.err


def test_talk_that_nobody_reads_stops_no_run(accepted: Firm) -> None:
    line = order(accepted)
    read, write = os.pipe()
    run = accepted.start(*line, stderr=write)
    os.close(write)
    os.close(read)  # as `2>&1 | head` does
    run.communicate(timeout=20)
    assert run.returncode == 0
    assert sent(accepted) == 24
    assert len(accepted.struck()) == 24


def test_an_answer_that_nobody_reads_ends_without_a_traceback(paid: Firm) -> None:
    read, write = os.pipe()
    os.close(read)
    run = paid.start("batch", "show", "1", stdout=write)
    os.close(write)
    _, err = run.communicate(timeout=20)
    assert run.returncode == 1
    assert err == b""


def test_standard_streams_that_are_closed_are_no_fault_of_the_tools_own(accepted: Firm) -> None:
    def shell(line: str) -> "subprocess.CompletedProcess[bytes]":
        return subprocess.run(
            ["sh", "-c", f'exec "{sys.executable}" -m cheque {line}'], cwd=accepted.folder, capture_output=True,
            check=False,
        )  # fmt: skip

    code = accepted.proof()
    done = shell(f"print 1 --first-number 100501 --proof-code {code} --paper-loaded <&-")
    assert done.returncode == 2
    assert b"who looks at the first form?" in done.stderr
    done = shell("register check - <&-")
    assert done.returncode == 3
    assert b"standard input is closed" in done.stderr
    done = shell("words - <&-")
    assert done.returncode == 2
    assert b"standard input is closed" in done.stderr
    done = shell("batch list >&-")
    assert b"Traceback" not in done.stderr
    done = shell(f"print 1 --first-number 100501 --proof-code {code} --paper-loaded --after-first go-on 2>&-")
    assert done.returncode == 0
    assert sent(accepted) == 24


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp437", "utf-8"])
def test_a_terminal_without_a_letter_shows_its_number_and_nothing_is_lost(paid: Firm, encoding: str) -> None:
    for line, text in ((("show", "100502"), "Aurélie Thornquay-Baptiste"), (("show", "100501"), "bytes ")):
        done = subprocess.run(
            [sys.executable, "-m", "cheque", *line], cwd=paid.folder, capture_output=True, check=False,
            env={**os.environ, "PYTHONIOENCODING": encoding},
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        # click writes UTF-8 where Python was told ascii.
        shown = done.stdout.decode("utf-8" if encoding == "ascii" else encoding)
        assert text in shown
        assert "…" in shown or "\\u2026" in shown


def test_the_same_command_in_a_process_says_the_same(paid: Firm) -> None:
    for line in (("batch", "list"), ("show", "100503"), ("batch", "show", "9"), ("prnt",), ("--version",)):
        here, there = paid.run(*line, expect=None), paid.spawn(*line)
        assert here == there


def test_no_command_asks_anything_when_nobody_is_there(accepted: Firm) -> None:
    """Standard input is a pipe with answers in it: nothing of it is taken for a yes."""
    said = accepted.spawn(
        "print", "1", "--first-number", "100501", "--proof-code", accepted.proof(), stdin=b"yes\nyes\n"
    )
    assert said.status == 2
    assert "an answer is missing" in said.err
    assert sent(accepted) == 0
