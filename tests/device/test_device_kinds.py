"""Every kind of address answers the same few questions, and none of them says that anything was printed."""

import pytest

from cheque.device import KINDS, DeviceError, kind_of

GOOD = {
    "file": "file:payday.prn",
    "socket": "socket://127.0.0.1:9100",
    "queue": "queue:payroom",
    "serial": "serial:/dev/ttyS0?baud=9600&flow=xonxoff",
    "port": "port:/dev/usb/lp0",
}


@pytest.mark.parametrize("scheme", sorted(KINDS))
def test_every_kind_listed_opens_and_tells_what_it_can_and_cannot(scheme: str) -> None:
    kind = kind_of(GOOD[scheme])
    assert kind.check(GOOD[scheme]) is None
    assert "cannot" in kind.tells()
    assert "printed" not in kind.tells()


@pytest.mark.parametrize("scheme", sorted(KINDS))
@pytest.mark.parametrize("rest", ["", ":", "://", ":\0", ":a\nb", "://a:b"])
def test_an_address_badly_written_is_refused_in_one_line_and_never_opened(scheme: str, rest: str) -> None:
    kind = kind_of(f"{scheme}{rest}")
    wrong = kind.check(f"{scheme}{rest}")
    assert wrong is not None
    assert scheme in wrong
    assert "\n" not in wrong
    with pytest.raises(DeviceError) as fault:
        kind.open_device(f"{scheme}{rest}", stall=1)
    assert wrong in str(fault.value)


def test_an_unknown_kind_of_address_is_named() -> None:
    with pytest.raises(KeyError, match="telegraph"):
        kind_of("telegraph:office")
