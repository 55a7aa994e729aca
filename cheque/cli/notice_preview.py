"""What a notice would look like: its records under a ruler; the account number hidden, because screens are seen."""

from collections.abc import Iterator
from datetime import datetime

from cheque.bank.layoutmodel import Layout
from cheque.bank.notice import MARKS, Account, Line, Notice
from cheque.bank.textlayout import ruler
from cheque.cli.desk import answer, say
from cheque.notify import Ready, Way, judged
from cheque.tongue import counted, tr

MOST = 200  # records that are shown


def show_preview(way: Way, notice: Notice) -> None:
    """Show what would be written, and change nothing."""
    ready = judged(way, notice)
    _show(way, ready)
    for cut in ready.cuts[:20]:
        say(f"  {cut}.")
    say(
        tr(
            "{cheques}. Nothing was written; account numbers are hidden here, not in the file.",
            cheques=counted(ready.items, "cheque"),
        )
    )


def _show(way: Way, ready: Ready) -> None:
    layout = way.layout
    encoding = layout.encoding if layout else "utf-8"
    for place, text in enumerate(_records(layout, ready, encoding)):
        if place == 0 and layout and layout.kind == "fixed":
            for line in ruler(len(text)):
                answer(line)
        if place == MOST:
            say(tr("… only the first {most} records are shown.", most=MOST))
            return
        answer(text)


def _records(layout: Layout | None, ready: Ready, encoding: str) -> Iterator[str]:
    for data in ready.data():
        text = data.decode(encoding)
        if layout:
            yield text.removesuffix(layout.line_end)
        else:
            yield from text.splitlines()


def show_sample(layout: Layout) -> None:
    """What a layout makes of invented cheques, one for each mark that it knows; and what it cannot tell."""
    marks = [mark for mark in MARKS if layout.tells(mark)]
    lines = [
        Line(mark, "main", f"{100501 + k}", "2026-11-27", 81240 + 100 * k, "USD", tr("Bryn Marlow"), f"PR-{k + 1:04}",
             next(iter(layout.reasons), "") if mark == "stop" else "", "")
        for k, mark in enumerate(marks)
    ]  # fmt: skip
    whose = Account(
        "main", "00417293", "123456780", tr("Tidewrack Savings Bank"), tr("Quillmere Boatyard Company"), "US"
    )
    notice = Notice("SAMPLE-000001", datetime(2026, 11, 27, 9, 30), {"main": whose}, lambda: lines)
    way = Way("text", layout)
    say(tr("{source}: no fault found. {told}", source=layout.source, told=layout.told).rstrip())
    say(
        tr(
            "{kind}, {encoding}; three invented cheques at most, as it writes them:",
            kind=layout.kind,
            encoding=layout.encoding,
        )
    )
    _show(way, judged(way, notice))
    for mark in MARKS:
        if mark not in marks:
            say(
                tr(
                    "It has no way to tell the bank of a cheque to be marked {mark}: such a notice is refused.",
                    mark=mark,
                )
            )
    if not layout.names_account:
        say(tr("Nothing in it says which account the cheques are of: is the bank told in another way?"))
    elif not layout.several_accounts:
        say(tr("A file by it is of one account: make a notice for each."))
