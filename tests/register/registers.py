"""Registers in memory for the tests: short ways to read, judge and write them."""

import io
from collections.abc import Iterable

from cheque.errors import Fault
from cheque.payment import Payment
from cheque.register import Reading, read_register
from cheque.register.judge import Judge, Verdict

HEADER = "payee,amount,date,reference\n"
LINE = "Niamh O'Dunmarrow,812.40,2026-11-27,W48-2101\n"


def reading(**known: object) -> Reading:
    """What the reader is told, for a file called payday.csv in US dollars."""
    return Reading("payday.csv", "USD")._replace(**known)


def items(text: str | bytes, **known: object) -> list[Payment | Fault]:
    """Everything that the reader yields."""
    data = text.encode() if isinstance(text, str) else text
    return list(read_register(io.BytesIO(data), reading(**known), "csv"))


def payments(text: str | bytes, **known: object) -> list[Payment]:
    """The payments of a register in which the reader finds nothing wrong."""
    found = items(text, **known)
    assert not [str(item) for item in found if isinstance(item, Fault)]
    return [item for item in found if isinstance(item, Payment)]


def faults(text: str | bytes, **known: object) -> list[str]:
    """The messages of the reader's faults."""
    return [str(item) for item in items(text, **known) if isinstance(item, Fault)]


def judged(these: Iterable[Payment | Fault] | str | bytes, **options: object) -> Verdict:
    """The verdict on a register given as text or as what a reader yields."""
    judge = Judge(reading(), **options)  # type: ignore[arg-type]
    list(judge.payments(items(these) if isinstance(these, (str, bytes)) else these))
    return judge.verdict()


def messages(these: Iterable[Payment | Fault] | str | bytes, **options: object) -> list[str]:
    """The messages of all the faults of a register."""
    return [str(fault) for fault in judged(these, **options).faults]
