"""Files that cannot be written, or fail on the way: real full disks, real read-only mounts, injected faults."""

import os
import resource
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from cheque.device import DeviceError, file


def _mount(folder: Path, *options: str) -> Iterator[Path]:
    if os.geteuid() != 0:
        pytest.skip("only root can mount a small disk")
    folder.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", ",".join(options), "cheque-test", str(folder)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        pytest.skip(f"this machine lets nobody mount: {done.stderr.strip()}")
    try:
        yield folder
    finally:
        subprocess.run(["umount", str(folder)], check=True)


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    yield from _mount(tmp_path / "disk", "size=64k")


@pytest.fixture
def read_only_disk(tmp_path: Path) -> Iterator[Path]:
    yield from _mount(tmp_path / "disk", "size=64k", "ro")


def _refusal(address: str) -> str:
    with pytest.raises(DeviceError) as fault:
        file.open_device(address, stall=1)
    assert fault.value.taken == 0
    assert address in str(fault.value)
    assert "\n" not in str(fault.value)
    return str(fault.value)


def test_a_full_disk_tells_how_many_bytes_it_took_and_the_run_can_go_on_elsewhere(small_disk: Path) -> None:
    device = file.open_device(f"file:{small_disk}/a.prn", stall=1)
    device.send(b"a" * 40_000)
    with pytest.raises(DeviceError, match="the disk is full") as fault:
        device.send(b"b" * 40_000)
    taken = fault.value.taken
    assert f"{taken:,} of the last 40,000 bytes are on the disk" in str(fault.value)
    assert (small_disk / "a.prn").read_bytes() == b"a" * 40_000 + b"b" * taken
    assert 0 < taken < 40_000
    with pytest.raises(DeviceError, match="nothing more is sent after this fault: the disk is full"):
        device.send(b"c")
    with pytest.raises(DeviceError, match="not finished"):
        device.finish()
    device.close()


def test_a_disk_already_full_is_said_before_anything_is_sent(small_disk: Path) -> None:
    (small_disk / "filler").write_bytes(bytes(64 * 1024))
    device = file.open_device(f"file:{small_disk}/a.prn", stall=1)
    with pytest.raises(DeviceError, match="the disk is full") as fault:
        device.send(b"x")
    assert fault.value.taken == 0
    device.close()


def test_a_read_only_disk_is_refused(read_only_disk: Path) -> None:
    assert "mounted read-only" in _refusal(f"file:{read_only_disk}/a.prn")


def test_a_file_grown_to_its_limit_is_said(tmp_path: Path) -> None:
    device = file.open_device(f"file:{tmp_path}/a.prn", stall=1)
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    ignored = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (10_000, hard))
    try:
        with pytest.raises(DeviceError, match="may not grow") as fault:
            device.send(bytes(30_000))
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
        signal.signal(signal.SIGXFSZ, ignored)
    assert fault.value.taken == 10_000
    device.close()


def test_what_is_no_ordinary_private_file_is_refused_and_left_as_it_was(tmp_path: Path) -> None:
    target = tmp_path / "elsewhere"
    target.write_bytes(b"theirs")
    (tmp_path / "link").symlink_to(target)
    (tmp_path / "dangling").symlink_to(tmp_path / "nowhere")
    (tmp_path / "folder").mkdir()
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "open").write_bytes(b"")
    (tmp_path / "open").chmod(0o640)
    (tmp_path / "two").write_bytes(b"")
    (tmp_path / "two").chmod(0o600)
    os.link(tmp_path / "two", tmp_path / "names")
    said = {
        "link": "it is a symbolic link",
        "dangling": "it is a symbolic link",
        "folder": "it is a folder",
        "pipe": "not a file",
        "open": "others can read or write it; make it private (chmod 600)",
        "two": "a second name",
        "missing/a.prn": "its folder does not exist",
        "elsewhere/a.prn": "not a folder",
        "n" * 300: "its name is too long",
    }
    for name, words in said.items():
        assert words in _refusal(f"file:{tmp_path}/{name}")
    assert target.read_bytes() == b"theirs"
    assert not (tmp_path / "nowhere").exists()
    assert "device or a pipe" in _refusal("file:/dev/null")


def test_a_file_of_someone_else_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a.prn").write_bytes(b"")
    (tmp_path / "a.prn").chmod(0o600)
    monkeypatch.setattr(os, "geteuid", lambda: os.getuid() + 1)
    assert "belongs to someone else" in _refusal(f"file:{tmp_path}/a.prn")
    # A new one that cannot be made private is not left lying about.
    assert "belongs to someone else" in _refusal(f"file:{tmp_path}/b.prn")
    assert not (tmp_path / "b.prn").exists()


def test_two_runs_to_one_file_are_refused(tmp_path: Path) -> None:
    first = file.open_device(f"file:{tmp_path}/a.prn", stall=1)
    assert "another run is writing to it" in _refusal(f"file:{tmp_path}/a.prn")
    first.close()
    file.open_device(f"file:{tmp_path}/a.prn", stall=1).close()


def test_a_file_removed_or_written_to_during_the_run_is_found(tmp_path: Path) -> None:
    device = file.open_device(f"file:{tmp_path}/a.prn", stall=1)
    (tmp_path / "a.prn").unlink()
    with pytest.raises(DeviceError, match="was removed during the run"):
        device.send(b"x")
    device.close()
    device = file.open_device(f"file:{tmp_path}/b.prn", stall=1)
    with (tmp_path / "b.prn").open("ab") as meddler:
        meddler.write(b"more")
    with pytest.raises(DeviceError, match="something else wrote to the file"):
        device.send(b"x")
    device.close()


SCRIPT = """
import sys
from cheque.device import DeviceError, file
try:
    device = file.open_device("file:" + sys.argv[1], stall=1)
    for letter in b"abcd":
        device.send(bytes([letter]) * 1000)
    device.finish()
except DeviceError as fault:
    print(fault.taken, fault, sep="|")
    try:
        device.send(b"z")
    except (DeviceError, NameError) as again:
        print(again)
"""


def _injected(path: Path, watched: Path, call: str, fault: str) -> list[str]:
    """What SCRIPT says when `call` on the file or folder `watched` fails as strace is told."""
    if not shutil.which("strace"):
        pytest.skip("strace is not on this machine, so no fault can be put into a system call")
    inject = ["-P", str(watched), "-e", f"trace={call}", "-e", f"inject={call}:{fault}"]
    command = ["strace", "-f", "-qq", "-o", os.devnull, *inject, sys.executable, "-c", SCRIPT, str(path)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=30)
    if "PTRACE" in done.stderr or "ptrace" in done.stderr:
        pytest.skip(f"this machine lets nobody trace: {done.stderr.strip()}")
    assert done.returncode == 0, done.stderr
    return done.stdout.splitlines()


def test_a_disk_that_fails_while_syncing_is_believed_about_nothing_of_that_send(tmp_path: Path) -> None:
    path = tmp_path / "a.prn"
    said = _injected(path, path, "fsync", "error=EIO:when=3")
    assert said[0].startswith(f"0|file:{path}: the disk did not confirm it (input/output error)")
    assert "0 of the last 1,000 bytes are on the disk" in said[0]
    assert "nothing more is sent after this fault" in said[1]
    assert path.stat().st_size == 3000


def test_a_disk_that_fails_while_writing_is_one_clear_message(tmp_path: Path) -> None:
    path = tmp_path / "a.prn"
    said = _injected(path, path, "write", "error=EIO:when=2")
    assert said[0].startswith(f"0|file:{path}: input/output error; 0 of the last 1,000 bytes")
    assert path.read_bytes() == b"a" * 1000


def test_a_new_file_whose_folder_cannot_be_synced_is_refused_and_removed(tmp_path: Path) -> None:
    path = tmp_path / "a.prn"
    said = _injected(path, tmp_path, "fsync", "error=EIO")
    assert "its folder could not be synced (input/output error)" in said[0]
    assert not path.exists()
