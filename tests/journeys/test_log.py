"""The station's log: what was done and what was refused, and no account number in it."""

import re
import stat

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from journeys.firm import Firm

from cheque import log

ACCOUNT = "000417293355"


@pytest.fixture
def firm(tmp_path):
    firm = Firm(tmp_path).set_up()
    firm.register()
    return firm


def lines(firm):
    return (firm.folder / "book" / "log" / "cheque.log").read_text("utf-8").splitlines()


def test_each_command_that_used_the_book_has_a_line_with_its_status(firm):
    firm.accept()
    firm.run("show", "999999", expect=None)
    firm.run("find", "Marlow Private", expect=1)
    told = [line.split(" ", 2)[2] for line in lines(firm)]
    assert re.fullmatch(r"stock receive 0 \d+\.\d{3}", told[0])
    assert re.fullmatch(r"batch accept 0 \d+\.\d{3}", told[1])
    assert re.fullmatch(r"show 5 \d+\.\d{3} 999999 is on no stock.*", told[2])
    assert re.fullmatch(r"find \d \d+\.\d{3}.*", told[3])
    assert "Private" not in "".join(told)


def test_it_is_its_owners_alone(firm):
    folder = firm.folder / "book" / "log"
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert stat.S_IMODE((folder / "cheque.log").stat().st_mode) == 0o600


def test_an_account_number_is_never_in_it(firm):
    firm.run("show", ACCOUNT, expect=None)
    firm.run("find", f"x{ACCOUNT}", expect=1)
    assert ACCOUNT not in "\n".join(lines(firm))
    assert "···3355" in "\n".join(lines(firm))


def test_a_log_that_cannot_be_written_stops_nothing(firm):
    (firm.folder / "book" / "log" / "cheque.log").unlink()
    (firm.folder / "book" / "log" / "cheque.log").mkdir()
    firm.run("stock", "list")


def test_it_is_set_aside_when_it_is_large_and_five_are_kept(tmp_path):
    (tmp_path / "log").mkdir()
    path = tmp_path / "log" / "cheque.log"
    for number in range(8):
        log.write(tmp_path, f"beginning {number}")
        path.write_bytes(path.read_bytes() + b"x" * (log.LARGEST + 1))
    log.write(tmp_path, "the last")
    kept = sorted(found.name for found in (tmp_path / "log").iterdir())
    assert kept == ["cheque.log", *(f"cheque.log.{n}" for n in range(1, 5))]
    assert path.read_text() == "the last\n"
    assert (tmp_path / "log" / "cheque.log.1").read_text().startswith("beginning 7")


@given(st.text(max_size=30), st.integers(8, 30).flatmap(lambda n: st.from_regex(rf"\d{{{n}}}", fullmatch=True)))
@settings(max_examples=60, deadline=None)
def test_no_run_of_eight_digits_passes(text, digits):
    masked = log.masked(f"{text} {digits} {text}")
    assert not re.search(r"\d(?:[ -]?\d){7,}", masked)


@pytest.mark.parametrize("number", ["100501", "1000001"])
def test_a_number_of_a_form_stays_readable(number):
    assert log.masked(f"number {number} is void") == f"number {number} is void"


def test_quiet_says_answers_and_refusals_only(firm):
    assert firm.run("-q", "stock", "list").err == ""
    assert "is on no stock" in firm.run("-q", "show", "999999", expect=5).err
    assert firm.run("-q", "-v", "stock", "list", expect=2).out == ""


def test_verbose_says_what_was_used_and_how_long_it_took(firm):
    said = firm.run("-v", "stock", "list").err
    assert re.search(r"settings: .*cheque\.toml; book: .*book; log: .*log; \d+\.\d\d s, exit status 0", said)
