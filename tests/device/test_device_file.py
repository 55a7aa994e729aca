"""A print stream in a file: private, durable, only ever added to."""

import os
import stat
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque.device import DeviceError, file


def test_a_new_print_stream_is_its_owners_alone_whatever_the_mask(tmp_path: Path) -> None:
    mask = os.umask(0)
    try:
        device = file.open_device(f"file:{tmp_path}/a.prn", stall=1)
    finally:
        os.umask(mask)
    device.send(b"one")
    device.finish()
    device.close()
    assert stat.S_IMODE((tmp_path / "a.prn").stat().st_mode) == 0o600
    assert (tmp_path / "a.prn").read_bytes() == b"one"


def test_a_resumed_run_follows_what_the_stopped_one_left(tmp_path: Path) -> None:
    address = f"file:{tmp_path}/a.prn"
    assert file.held(address) == 0
    for data in (b"first", b"second"):
        device = file.open_device(address, stall=1)
        device.send(data)
        device.close()
    assert (tmp_path / "a.prn").read_bytes() == b"firstsecond"
    assert file.held(address) == 11


def test_bytes_sent_are_in_the_file_before_send_returns(tmp_path: Path) -> None:
    device = file.open_device(f"file:{tmp_path}/a.prn", stall=1)
    for size in (1, 65_536, 65_537, 300_000):
        before = (tmp_path / "a.prn").stat().st_size
        device.send(bytes(size))
        assert (tmp_path / "a.prn").stat().st_size == before + size
    device.close()


@settings(max_examples=25, deadline=None)
@given(pieces=st.lists(st.binary(max_size=200), max_size=6))
def test_every_byte_arrives_once_and_in_order(pieces: list[bytes], tmp_path_factory: pytest.TempPathFactory) -> None:
    path = tmp_path_factory.mktemp("stream") / "a.prn"
    device = file.open_device(f"file:{path}", stall=1)
    for piece in pieces:
        device.send(piece)
    device.finish()
    device.close()
    assert path.read_bytes() == b"".join(pieces)


def test_a_relative_path_is_taken_as_given(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    device = file.open_device("file:a.prn", stall=1)
    device.send(b"x")
    device.close()
    assert (tmp_path / "a.prn").read_bytes() == b"x"


def test_a_closed_file_takes_nothing_more_and_closing_twice_is_no_fault(tmp_path: Path) -> None:
    device = file.open_device(f"file:{tmp_path}/a.prn", stall=1)
    device.close()
    device.close()
    with pytest.raises(DeviceError, match="closed"):
        device.send(b"x")
    with pytest.raises(DeviceError, match="closed"):
        device.finish()


@pytest.mark.parametrize(
    ("address", "says"),
    [
        ("file:", "names no file"),
        ("file:a/", "names a folder"),
        ("file:..", "names a folder"),
        ("file://host/a.prn", "looks like a link"),
        ("file:a\tb", "control character"),
        ("socket:a", "not of the form"),
    ],
)
def test_what_is_wrong_with_a_path_is_said(address: str, says: str) -> None:
    assert says in str(file.check(address))


@pytest.mark.parametrize("address", ["file:a.prn", "file:/srv/a b.prn", "file:../a.prn", "file:été.prn"])
def test_ordinary_paths_are_accepted(address: str) -> None:
    assert file.check(address) is None
