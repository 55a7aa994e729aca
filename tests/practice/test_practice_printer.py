"""The practice printer at the end of a real connection and of a real terminal line."""

import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from device.lines import Printer as Line
from device.peers import soon
from practice.struck import form, mechanism, says

from cheque.device import Device, DeviceError, Stalled, kind_of
from cheque.practice import Practice
from cheque.practice.orders import Order, read


@contextmanager
def practice(speed: int = 0, memory: int = 8192) -> Iterator[Practice]:
    with Practice(mechanism(memory=memory), speed=speed) as made:
        yield made


def send_many(way: Device) -> None:
    """More forms than anything on the way could hold."""
    for number in range(502, 600):
        way.send(form(number))


def test_what_the_tools_own_socket_sends_is_on_the_paper() -> None:
    with practice() as printer:
        way = kind_of(printer.address).open_device(printer.address, stall=5.0)
        for number in (501, 502):
            way.send(form(number))
        way.finish()
        way.close()
        printer.settle()
        assert [(s.number, s.whole, says(s)) for s in printer.sheets()] == [
            (501, True, "501"), (502, True, "502"), (503, False, ""),
        ]  # fmt: skip


def test_a_full_memory_holds_the_sender_off_and_loses_nothing() -> None:
    with practice(speed=20_000, memory=64) as printer:
        host, port = printer.address.removeprefix("socket://").split(":")
        sent = b"".join(form(501 + n) for n in range(40))
        with socket.create_connection((host, int(port))) as connection:
            begun = time.monotonic()
            connection.sendall(sent)
        printer.settle(20)
        assert time.monotonic() - begun > len(sent) / 20_000 / 2
        assert [says(s) for s in printer.sheets() if s.whole] == [str(501 + n) for n in range(40)]


def test_out_of_paper_is_a_stall_that_new_paper_ends() -> None:
    with practice(memory=64) as printer:
        printer.order(Order("paper-out"))
        way = kind_of(printer.address).open_device(printer.address, stall=0.4)
        try:
            way.send(form(501))
            with pytest.raises(Stalled):
                send_many(way)
            printer.order(Order("load", 700))
            way.send(b"")
            way.finish()
        finally:
            way.close()
        printer.settle()
        assert says({s.number: s for s in printer.sheets()}[700]) == "502"


def test_a_loss_of_power_breaks_the_connection_refuses_the_next_and_forgets_what_was_held() -> None:
    with practice(speed=200) as printer:
        way = kind_of(printer.address).open_device(printer.address, stall=5.0)
        way.send(form(501))
        printer.order(Order("power-off"))
        with pytest.raises(DeviceError):
            send_many(way)
        way.close()
        with pytest.raises(DeviceError, match="refused"):
            kind_of(printer.address).open_device(printer.address, stall=5.0)
        printer.order(Order("power-on"))
        kind_of(printer.address).open_device(printer.address, stall=5.0).close()
        printer.settle()
        assert not any(sheet.whole for sheet in printer.sheets())


def test_at_the_end_of_a_terminal_line_it_says_when_it_can_take_no_more() -> None:
    line = Line()
    line.over.set()
    line._thread.join(5)
    try:
        with Practice(mechanism(memory=128), line=line.far, speed=4_000) as printer:
            way = kind_of(line.address).open_device(line.address, stall=5.0)
            for number in range(501, 509):
                way.send(form(number))
            way.finish()
            printer.settle(20)
            way.close()
            assert [says(s) for s in printer.sheets() if s.whole] == [str(n) for n in range(501, 509)]
    finally:
        line.end()


@pytest.mark.parametrize("text", ["jam now", "tear", "tear x", "load ²", "explode", "load 1 2"])
def test_an_order_that_is_none_says_what_there_is(text: str) -> None:
    with pytest.raises(ValueError, match=r"takes|there is no order"):
        read(text)


def test_orders_may_be_short_and_a_line_may_say_nothing() -> None:
    assert read("t 502") == Order("tear", 502)
    assert read(" Power-Off ") == Order("power-off")
    assert read("# later") is None
    with practice() as printer:
        for order in ("jam", "clear", "skip", "garble", "paper-out"):
            printer.order(Order(order))
        soon(lambda: printer.mechanism.paper.here is not None)
