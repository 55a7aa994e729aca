"""One line of a register: what every reader yields, whatever kind of file it read.

Amounts are minor units of the batch's currency; dates are ISO 8601 text; hours and rates are exact decimals
kept as text. Immutable, and with one canonical text, so that the same payments from another kind of
register are the same batch with the same proof code.
"""

import json
from enum import StrEnum
from json.encoder import encode_basestring as _quoted
from operator import itemgetter
from typing import Any, NamedTuple

from cheque.tongue import tr


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
    """One payment. `item` counts from 1 in the order of printing; `line` is where it stood, for messages only.

    `place` is where it stood in the register, counted from 1, when the batch is in another order; else 0.
    `by_transfer` is what of net pay goes by transfer besides `amount`.
    """

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
    place: int = 0
    by_transfer: int = 0


_KINDS = {str(kind): kind for kind in Kind}
_ROLES = {str(role): role for role in Role}
_read = json.JSONDecoder().decode


def _keys(shape: type[Payment] | type[StubLine], *never: str) -> tuple[tuple[int, str, Any], ...]:
    """For each field in the order of its name: its place, its key as JSON begins it, and what is left out."""
    fields = shape._fields
    return tuple(
        (fields.index(name), f"{_quoted(name)}:", shape._field_defaults.get(name, _ALWAYS))
        for name in sorted(fields)
        if name not in never
    )


_ALWAYS: Any = object()  # no field's value
_PAYMENT_KEYS, _LINE_KEYS = _keys(Payment, "line"), _keys(StubLine)


def to_text(payment: Payment) -> str:
    """The payment's canonical JSON: sorted keys, no defaults, no `line`; strings and integers only.

    Put together key by key: the general encoder, given a table sorted and cleared of defaults, took twice as long.
    """
    return _body(payment, _PAYMENT_KEYS)


def _body(values: tuple[Any, ...], keys: tuple[tuple[int, str, Any], ...]) -> str:
    found = []
    for place, key, default in keys:
        value = values[place]
        if value is default or value == default:
            continue
        shape = type(value)
        if shape is int:
            found.append(f"{key}{value}")
        elif shape is tuple:
            found.append(f"{key}[{','.join(map(_part, value))}]")
        else:
            found.append(key + _quoted(value))
    return "{" + ",".join(found) + "}"


def _part(one: str | StubLine) -> str:
    return _quoted(one) if isinstance(one, str) else _body(one, _LINE_KEYS)


def from_text(text: str) -> Payment:
    """The payment that `to_text` wrote."""
    body = _read(text)
    if "role" in body:
        body["role"] = _ROLES[body["role"]]
    if "address" in body:
        body["address"] = tuple(body["address"])
    if "stub" in body:
        lines = body["stub"]
        for line in lines:
            line["kind"] = _KINDS[line["kind"]]
        body["stub"] = tuple([StubLine(**line) for line in lines])
    return Payment(**body)


# -- as a book keeps it ------------------------------------------------------------------------------------------------

#: the fields in the order in which a book keeps their values, `item` beside them; new ones go to the end, for good
_KEPT = (
    *("payee", "amount", "date", "reference", "stub", "address", "employee", "identity", "department"),
    *("period_from", "period_to", "expected", "hash_value", "role", "memo", "place", "by_transfer"),
)
#: stub lines by their kind: a number each, for good
_CODES = (Kind.EARNING, Kind.DEDUCTION, Kind.EMPLOYER, Kind.INVOICE, Kind.GOODS, Kind.NOTE)
#: how the kept form of a payment with an invoice looks somewhere; it may look so without one
MAYBE_INVOICE = f"[{_CODES.index(Kind.INVOICE)},"
_CODE_OF = {kind: code for code, kind in enumerate(_CODES)}
_LINE_FILL = [StubLine._field_defaults.get(name) for name in StubLine._fields]
_LEAST = len(_KEPT) - sum(name in Payment._field_defaults for name in _KEPT)
_KEPT_FILL: list[Any] = [Payment._field_defaults.get(name) for name in _KEPT]
_in_kept_order = itemgetter(*map(Payment._fields.index, _KEPT))
_write = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), check_circular=False).encode
_STUB, _ADDRESS, _ROLE, _EXPECTED = map(_KEPT.index, ("stub", "address", "role", "expected"))
#: out of item, line and a kept row, the values of a Payment
_in_own_order = itemgetter(*map(("item", "line", *_KEPT).index, Payment._fields))


def to_kept(payment: Payment) -> str:
    """The payment as a book keeps it, short: its values without their names, a row of JSON; not `item`, not `line`.

    Nothing is lost: `from_kept` gives the payment, and `to_text` of that the text that the book's digests are of.
    """
    values: list[Any] = [*_in_kept_order(payment)]
    values[_STUB] = [_trimmed([_CODE_OF[line[0]], *line[1:]], _LINE_FILL) for line in payment.stub]
    return _write(_trimmed(values, _KEPT_FILL))


def _trimmed(values: list[Any], fill: list[Any]) -> list[Any]:
    """Without the defaults at the end."""
    end = len(values)
    while end and values[end - 1] in (fill[end - 1], []):
        end -= 1
    return values[:end]


def from_kept(item: int, text: str) -> Payment:
    """The payment that `to_kept` wrote. ValueError, TypeError, KeyError or IndexError when the text is no such thing.

    A book of an earlier program kept the text of `to_text`, which is read too.
    """
    row = _read(text)
    if isinstance(row, dict):
        return from_text(text)
    if len(row) < _LEAST:
        raise ValueError(tr("a payment is kept as {count} values", count=len(row)))
    row += _KEPT_FILL[len(row) :]
    if len(row) != len(_KEPT):
        raise ValueError(tr("a payment is kept as {count} values", count=len(row)))
    row[_STUB] = tuple([StubLine(_CODES[line[0]], *line[1:]) for line in row[_STUB]])
    row[_ADDRESS] = tuple(row[_ADDRESS])
    row[_ROLE] = _ROLES[row[_ROLE]]
    return tuple.__new__(Payment, _in_own_order([item, 0, *row]))


def _whole(row: list[Any]) -> None:
    """Put what is left out at the end of a kept row back."""
    if len(row) < _LEAST:
        raise ValueError(f"a payment is kept as {len(row)} values")
    row += _KEPT_FILL[len(row) :]
    if len(row) != len(_KEPT):
        raise ValueError(f"a payment is kept as {len(row)} values")


def head_of_kept(item: int, text: str) -> tuple[str, int, str, str, str, str]:
    """Payee, amount, date, reference, role and expected number of the payment that `to_kept` wrote; as `from_kept`.

    (A third of the time, as the stub is not made; accepting a batch asks it of every payment.)
    """
    row = _read(text)
    if isinstance(row, dict):
        one = from_text(text)
        return one.payee, one.amount, one.date, one.reference, one.role.value, one.expected
    _whole(row)
    return *row[:4], _ROLES[row[_ROLE]].value, row[_EXPECTED]


def text_of_kept(item: int, text: str) -> str:
    """The text that the book's digests are of. ValueError when what is kept is not as a book writes it."""
    payment = from_kept(item, text)
    whole = to_text(payment)
    if text not in (to_kept(payment), whole):
        raise ValueError(tr("a payment is not kept as it was written"))
    return whole
