"""What one payment shows is the same in whichever process it is looked at, a fresh interpreter too."""

import io
import pickle
from contextlib import closing
from functools import partial
from pathlib import Path

import pytest
from journeys.firm import DEMO, REGISTER

from cheque import crew, library, looking, run
from cheque.looking import Look, heard
from cheque.payment import Kind, from_kept, to_text
from cheque.register import Reading, read_register, read_rows
from cheque.register.maps import load as load_map
from cheque.settings import load
from cheque.tongue import speak


@pytest.fixture
def setting(tmp_path: Path) -> run.Setting:
    """Payroll forms on an escp9 printer."""
    from journeys.firm import Firm

    found = load(Firm(tmp_path).set_up().folder / "cheque.toml")
    return run.setting(library.load("payroll-us"), found.accounts["main"], found.printers["payroom"])


def shares(reading: Reading, data: bytes) -> list[list[object]]:
    """A register in shares of five."""
    return list(crew.shares(read_rows(io.BytesIO(data), reading), 5))


def demo() -> bytes:
    """The demo's register, with a line that cannot be read, and one that does not fit."""
    data = (DEMO / REGISTER).read_bytes()
    first = data.splitlines(keepends=True)[1]
    return data + first.replace(b".", b",") + first.replace(b"2026-11-27", b"27 November") + b"x,y\n"


def test_a_fresh_interpreter_sees_what_is_seen_here(setting: run.Setting, monkeypatch: pytest.MonkeyPatch) -> None:
    stated: list[str] = []
    reading = Reading(REGISTER, "USD", state=stated.append)
    look = Look(reading, ["cp437"], setting.form, [setting])
    jobs = shares(reading, demo())
    here = [look(share) for share in jobs]  # type: ignore[arg-type]
    assert sum(map(len, here)) >= 27
    assert any(heard(told).looked.faults for share in here for told in share)
    monkeypatch.setitem(crew.ALONE, crew.FRESH, 0)
    with closing(crew.in_order(look, jobs, begin=crew.FRESH, many=2)) as found:  # type: ignore[arg-type]
        assert [result for _, result in found] == here
    there = pickle.loads(pickle.dumps(look))
    assert [there(pickle.loads(pickle.dumps(share))) for share in jobs] == here


def test_what_a_map_says_goes_along(setting: run.Setting) -> None:
    by = load_map('kind = "csv"\nseparator = ";"\ndecimal_mark = ","\ndate = "DD.MM.YYYY"\n', "their.toml")
    reading = Reading("their.csv", "USD", map=by)
    data = b"payee;amount;date;reference\nAy Li;1,77;27.11.2026;W48-1\nBo Reed;2,03;28.11.2026;W48-2\n"
    look = Look(reading, ["cp437"], None, [])
    (share,) = shares(reading, data)
    there = pickle.loads(pickle.dumps(look))(pickle.loads(pickle.dumps(share)))
    assert there == look(share)  # type: ignore[arg-type]
    assert [heard(told).looked.item[2:4] for told in there] == [(177, "2026-11-27"), (203, "2026-11-28")]


def test_workers_that_are_fresh_interpreters_prove_as_this_one_does(setting: run.Setting) -> None:
    look = Look(Reading(REGISTER, "USD"), ["cp437"], setting.form, [setting])
    seen = [heard(told) for told in look(list(read_rows(io.BytesIO(demo()), Reading(REGISTER, "USD"))))]
    kept = [(item, one.kept) for item, one in enumerate(seen, 1) if one.kept]
    again = pickle.loads(pickle.dumps(partial(run.proved_pages, setting)))
    assert again(kept) == run.proved_pages(setting, kept)
    assert pickle.loads(pickle.dumps(setting)).language is setting.language


def test_a_fresh_interpreter_is_not_asked_to_speak_another_language(setting: run.Setting) -> None:
    class Other:
        def gettext(self, message: str) -> str:
            return message.upper()

        def ngettext(self, one: str, many: str, number: int) -> str:
            return many.upper()

    look = Look(Reading(REGISTER, "USD"), ["cp437"], setting.form, [setting])
    speak(Other())
    try:
        with pytest.raises(TypeError, match="speaks no other language"):
            pickle.dumps(look)
    finally:
        speak(None)


def test_nothing_of_a_payment_is_lost_on_the_way(setting: run.Setting) -> None:
    """Main has the payment without the stub lines that no other payment is held against; the book has all of it."""
    data = (DEMO / REGISTER).read_bytes()
    reading = Reading(REGISTER, "USD")
    look = Look(reading, ["cp437"], setting.form, [setting])
    whole = list(read_register(io.BytesIO(data), reading))
    seen = [heard(told) for told in look(list(read_rows(io.BytesIO(data), reading)))]
    assert len(seen) == len(whole) == 24
    for payment, one in zip(whole, seen, strict=True):
        assert one.looked.item == payment._replace(stub=())  # type: ignore[union-attr]
        assert one.text == to_text(payment)  # type: ignore[arg-type]
        assert from_kept(payment.item, one.kept) == payment._replace(line=0)  # type: ignore[union-attr]


def test_invoices_go_along_because_others_are_held_against_them() -> None:
    data = b"payee,amount,date,reference,invoice1,invoice1_net,note1\nAy Li,1.77,2026-11-27,R1,INV-7,1.77,thanks\n"
    reading = Reading("suppliers.csv", "USD")
    ((told,),) = [Look(reading, ["cp437"], None, [])(list(read_rows(io.BytesIO(data), reading)))]
    payment = heard(told).looked.item
    assert [(line.kind, line.text) for line in payment.stub] == [(Kind.INVOICE, "INV-7")]  # type: ignore[union-attr]
    assert looking.never_shown(None) == []
