"""What a layout of notices has in it: its records, their fields, and the values that a field may hold."""

from typing import NamedTuple

from cheque.bank.notice import MARKS
from cheque.register.dates import DatePattern

KINDS = ("delimited", "fixed")
LINE_ENDS = {"crlf": "\r\n", "lf": "\n", "cr": "\r", "none": ""}
#: records that there are, in the order in which they stand in a file
RECORDS = ("file header", "account header", "cheque", "account trailer", "file trailer")
WIDEST = 10_000
_SUMS = tuple(f"{prefix}{what}" for prefix in ("", "issue_", "void_", "stop_") for what in ("item_count", "total"))
#: value -> what it is: text, date, time, money, count
_NOTICE = {"notice": "text", "made_on": "date", "made_at": "time"}
_ACCOUNT = {"account_number": "text", "routing": "text", "bank": "text", "drawer": "text", "account": "text"}
_CHEQUE = {"mark": "text", "number": "text", "date": "date", "amount": "money", "currency": "text", "payee": "text"}
_CHEQUE |= {"reference": "text", "reason": "text", "told": "text"}
_COUNTS = {name: "money" if name.endswith("total") else "count" for name in _SUMS}
_COUNTS |= {"hash_total": "count", "record_count": "count"}
_PLACE = {"record_number": "count"}
#: values that a record may hold
VALUES: dict[str, dict[str, str]] = {
    "file header": {**_NOTICE, **_ACCOUNT, "currency": "text", **_COUNTS, "account_count": "count", **_PLACE},
    "account header": {**_NOTICE, **_ACCOUNT, "currency": "text", **_COUNTS, **_PLACE},
    "cheque": {**_NOTICE, **_ACCOUNT, **_CHEQUE, **_PLACE},
    "account trailer": {**_NOTICE, **_ACCOUNT, "currency": "text", **_COUNTS, **_PLACE},
    "file trailer": {**_NOTICE, **_ACCOUNT, "currency": "text", **_COUNTS, "account_count": "count", **_PLACE},
}
#: what a file of several accounts may not have in its header or trailer, because it is of one account
OF_ONE_ACCOUNT = frozenset(_ACCOUNT) | {"currency"}
ALIGN = {"text": "left", "date": "left", "time": "left", "money": "right", "count": "right"}


class Field(NamedTuple):
    """One field. `value`: what it holds, or "" for a constant `text`; `sort`: what kind of value that is.

    `at` from 0 and `width` are of fixed-width records; in delimited ones `width` is the most that the bank takes, or
    0. `places`: decimals of an amount, None for as many as the currency has; `point` is "" for implied decimals.
    """

    where: str
    value: str
    text: str
    sort: str
    at: int
    width: int
    align: str
    pad: str
    cut: bool
    date: DatePattern
    point: str
    places: int | None
    zeros: bool
    letters: str
    plain: bool
    quoted: bool

    @property
    def called(self) -> str:
        """The field as a message names it."""
        return self.value or f"text {self.text!r}"


class Record(NamedTuple):
    """One kind of record, its fields in order. `marks`: for which marks a cheque record is."""

    what: str
    where: str
    fields: tuple[Field, ...]
    marks: tuple[str, ...] = MARKS


class Layout(NamedTuple):
    """A whole layout. `marks` and `reasons`: our words -> the bank's; `replace`: characters the bank does not take ->
    what stands for them; `accents`: whether letters keep theirs; `length`: of every fixed-width record, or 0 for as
    long as its fields."""

    source: str
    told: str
    kind: str
    encoding: str
    line_end: str
    last_line_end: bool
    delimiter: str
    quote: str
    length: int
    decimal_places: int | None
    marks: dict[str, str]
    reasons: dict[str, str]
    replace: dict[str, str]
    accents: bool
    records: tuple[Record, ...]

    def of(self, what: str, mark: str = "") -> tuple[Record, ...]:
        """The records of a kind, in order; of cheques those for a mark."""
        return tuple(r for r in self.records if r.what == what and (not mark or mark in r.marks))

    def tells(self, mark: str) -> bool:
        """Whether a cheque of a mark can be told, and not be taken for one of another: by its mark, or its record."""
        record = next(iter(self.of("cheque", mark)), None)
        if record is None:
            return False
        if any(field.value == "mark" for field in record.fields):
            return mark in self.marks
        return mark == "issue" or "issue" not in record.marks

    @property
    def several_accounts(self) -> bool:
        """Whether a file can be of several accounts: something in it tells which account a cheque is of."""
        tells = {"account_number", "account", "routing"}
        switching = any(f.value in tells for r in self.records if r.what in RECORDS[1:3] for f in r.fields)
        one = any(
            f.value in OF_ONE_ACCOUNT for r in self.records if r.what in (RECORDS[0], RECORDS[4]) for f in r.fields
        )
        return switching and not one

    @property
    def names_account(self) -> bool:
        """Whether anything in a file tells the account."""
        return any(field.value in ("account_number", "account") for record in self.records for field in record.fields)
