"""One line of a register: what every reader yields, whatever kind of file it read.

Amounts are minor units of the batch's currency; dates are ISO 8601 text; hours and rates are exact decimals
kept as text. Immutable, and with one canonical text, so that the same payments from another kind of
register are the same batch with the same proof code.
"""

import json
from enum import StrEnum
from typing import Any, NamedTuple


class Role(StrEnum):
    """What a form is used for. An advice shows a payment but cannot be paid; only a cheque is money out."""

    CHEQUE = "cheque"
    ADVICE = "advice"
    CONTINUATION = "continuation"


class Kind(StrEnum):
    """What a stub line is. Net = earnings - deductions; a supplier's net = sum of its invoices.

    Goods are the lines of a delivery note, a voucher or another numbered paper: what, how many, at what price.
    """

    EARNING = "earning"
    DEDUCTION = "deduction"
    EMPLOYER = "employer"
    INVOICE = "invoice"
    GOODS = "goods"
    NOTE = "note"


class StubLine(NamedTuple):
    """One line of the stub. `amount` is this period's (an invoice's net), `to_date` the year's.

    Of goods, `hours` is the quantity and `rate` the price of one.
    """

    kind: Kind
    text: str
    amount: int | None = None
    to_date: int | None = None
    hours: str = ""
    rate: str = ""
    date: str = ""
    gross: int | None = None
    discount: int | None = None


class Payment(NamedTuple):
    """One payment. `item` counts from 1 in register order; `line` is where it stood, for messages only."""

    item: int
    payee: str
    amount: int
    date: str
    reference: str
    role: Role = Role.CHEQUE
    expected: str = ""
    hash_value: int | None = None
    address: tuple[str, ...] = ()
    employee: str = ""
    identity: str = ""
    department: str = ""
    period_from: str = ""
    period_to: str = ""
    memo: str = ""
    stub: tuple[StubLine, ...] = ()
    line: int = 0


_DEFAULTS = Payment._field_defaults
_STUB_DEFAULTS = StubLine._field_defaults


def to_text(payment: Payment) -> str:
    """The payment's canonical JSON: sorted keys, no defaults, no `line`; strings and integers only."""
    body: dict[str, Any] = {}
    value: Any
    for name, value in zip(Payment._fields, payment, strict=True):
        if name == "line" or (name in _DEFAULTS and value == _DEFAULTS[name]):
            continue
        if name == "stub":
            value = [_stub_body(line) for line in payment.stub]
        body[name] = value
    return json.dumps(body, sort_keys=True, ensure_ascii=False, separators=(",", ":"))


def from_text(text: str) -> Payment:
    """The payment that `to_text` wrote."""
    body = json.loads(text)
    body["role"] = Role(body.get("role", Role.CHEQUE))
    body["address"] = tuple(body.get("address", ()))
    body["stub"] = tuple(StubLine(**{**s, "kind": Kind(s["kind"])}) for s in body.get("stub", ()))
    return Payment(**body)


def _stub_body(line: StubLine) -> dict[str, Any]:
    return {
        name: value
        for name, value in zip(StubLine._fields, line, strict=True)
        if name not in _STUB_DEFAULTS or value != _STUB_DEFAULTS[name]
    }
