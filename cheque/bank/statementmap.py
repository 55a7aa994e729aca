"""The map of a statement in CSV: a short TOML that says what the bank's columns are, and how it writes.

    separator = ";"                      # unless it is a comma
    date = "DD.MM.YYYY"                  # unless it is YYYY-MM-DD
    decimal_mark = ","
    thousands_mark = "."

    [columns]                            # ours = the file's title (or its place from 1, with header = false)
    booked = "Booking date"
    amount = "Amount"                    # or paid_out and paid_in, or amount and direction
    cheque = "Cheque no."

Everything wrong with a map is reported together, with its lines. `docs/bank-statements.md` shows every key.
"""

from collections.abc import Mapping
from typing import NamedTuple

from cheque.errors import Fault, InputRefused
from cheque.register.dates import ISO, DatePattern, date_pattern
from cheque.register.encodings import family, named
from cheque.register.marks import NEGATIVES, Marks
from cheque.tomlfile import Checker, Document
from cheque.tongue import tr

#: our names of the columns of a statement
COLUMNS = (
    *("booked", "valued", "amount", "paid_out", "paid_in", "direction", "cheque", "payee", "reference", "about"),
    *("status", "reversal", "balance", "account", "currency"),
)
MOST_SKIPPED = 1000


class StatementMap(NamedTuple):
    """How a statement is to be read. `columns`: our name -> the file's title, or its place from 1."""

    source: str
    columns: Mapping[str, str | int]
    separator: str = ","
    quote: str = '"'
    encoding: str = ""
    skip_lines: int = 0
    header: bool = True
    date: DatePattern = date_pattern(ISO)
    marks: Marks = Marks()
    #: what an amount of money paid out is: "negative" or "positive", where there is one column and no direction
    paid_out_is: str = "negative"
    debit: tuple[str, ...] = ()
    credit: tuple[str, ...] = ()
    #: what stands in the status of an entry that is not booked yet, and in `reversal` of one that takes another back
    pending: tuple[str, ...] = ()
    reversed: tuple[str, ...] = ()
    newest_first: bool = False


def load(text: str, source: str) -> StatementMap:
    """A map from its TOML. InputRefused with everything that is wrong with it."""
    faults: list[Fault] = []
    document = Document(text, source)
    checker = Checker(document, document.data, "", faults)
    header = checker.take("header", bool, True)
    first_year = checker.take("first_year", int, 0, wanted=tr("a year such as 1970"))
    point = checker.take("decimal_mark", str, ".", choices=(".", ","))
    group = checker.take("thousands_mark", str, "", choices=("", ",", ".", "'", "’", " "))
    negative = checker.take("negative", str, "leading", choices=NEGATIVES)
    sign = checker.take("currency_sign", str, "")
    if group == point:
        checker.fault("thousands_mark", repr(group), tr("another mark than before the decimals"))
    found = StatementMap(
        source,
        _columns(checker.table_at("columns"), header=header),
        checker.take("separator", str, ",", convert=_mark, wanted=tr("one character")),
        checker.take("quote", str, '"', convert=_mark, wanted=tr("one character")),
        checker.take("encoding", str, "", convert=_encoding, wanted=tr("the name of an encoding")),
        checker.take("skip_lines", int, 0, convert=_skipped, wanted=tr("0 to {most} lines", most=MOST_SKIPPED)),
        header,
        checker.take(
            "date",
            str,
            date_pattern(ISO),
            convert=lambda t: date_pattern(t, first_year),
            wanted=tr("a pattern such as DD.MM.YYYY"),
        ),
        Marks(point, group, negative, sign.strip(), checker.take("short_decimals", bool, False)),
        checker.take("paid_out_is", str, "negative", choices=("negative", "positive")),
        _words(checker, "debit"),
        _words(checker, "credit"),
        _words(checker, "pending"),
        _words(checker, "reversed"),
        checker.take("newest_first", bool, False),
    )
    _whole(checker, found)
    checker.finish()
    if faults:
        raise InputRefused(tr("{source} is no map that can be used.", source=source), faults)
    return found


def _columns(checker: Checker, *, header: bool) -> dict[str, str | int]:
    kind = str if header else int
    wanted = tr("the file's title of the column") if header else tr("its place, from 1, as there is no header")
    found = {name: checker.take(name, kind, None, wanted=wanted) for name in COLUMNS}
    checker.finish()
    return {name: value for name, value in found.items() if value}


def _whole(checker: Checker, found: StatementMap) -> None:
    """What a map has to have, and what goes together."""
    have = set(found.columns)
    if "booked" not in have:
        checker.fault("columns", tr("no booked"), tr("the column of the day on which an entry was booked"))
    if ("amount" in have) == bool({"paid_out", "paid_in"} & have):
        checker.fault("columns", tr("neither amount nor paid_out, or both"), tr("amount, or paid_out and paid_in"))
    if "direction" in have and not ("amount" in have and found.debit and found.credit):
        checker.fault(
            "columns", tr("a direction"), tr("an amount, and debit = […] and credit = […] for what stands there")
        )
    for column, key in (("status", "pending"), ("reversal", "reversed")):
        if (column in have) != bool(getattr(found, key)):
            checker.fault(
                key,
                tr("{key} without {column}, or {column} without {key}", key=key, column=column),
                tr("both, or neither"),
            )


def _words(checker: Checker, key: str) -> tuple[str, ...]:
    words = checker.take(key, list, [], wanted=tr("a list of what stands in the column"))
    if any(not isinstance(word, str) or not word.strip() for word in words):
        checker.fault(key, tr("something else than text"), tr("a list of what stands in the column"))
        return ()
    return tuple(word.strip().casefold() for word in words)


def _mark(text: str) -> str:
    text = {"tab": "\t"}.get(text, text)
    if len(text) != 1 or text.isalnum() or not text.isascii() or text in " \r\n\0":
        raise ValueError(repr(text))
    return text


def _encoding(text: str) -> str:
    found = named(text)
    if family(found) == "wide" and not found.startswith("utf-16"):
        raise ValueError(tr("{text!r}, which is not taken here", text=text))
    return found


def _skipped(count: int) -> int:
    if not 0 <= count <= MOST_SKIPPED:
        raise ValueError(str(count))
    return count
