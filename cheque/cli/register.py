"""`cheque register check`: read and judge a register, changing nothing."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, BinaryIO

import click

from cheque import accept, library
from cheque.book import batches
from cheque.checking import Checking, Judged
from cheque.cli.desk import answer, answer_json, json_option, opened, say
from cheque.cli.sides import Sides
from cheque.errors import InputRefused, UsageRefused
from cheque.money import plain
from cheque.register import KINDS, STANDARD_INPUT, Reading, encodings, maps
from cheque.register.checks import is_date
from cheque.register.judge import Verdict
from cheque.station import the_account
from cheque.tongue import counted, tr


@contextmanager
def register_stream(path: str) -> Iterator[tuple[BinaryIO, str]]:
    """A register's bytes and its name for messages; - is standard input."""
    if path == "-":
        if sys.stdin is None:
            raise InputRefused(tr("standard input is closed, so no register can be read from it."))
        yield sys.stdin.buffer, STANDARD_INPUT  # kept in the book: the same in every language
        return
    try:
        with Path(path).open("rb") as stream:
            name = Path(path).name
            yield stream, name if name.isprintable() else ascii(name)[1:-1]
    except OSError as error:
        raise InputRefused(
            tr(
                "{path} cannot be read: {strerror}. Name the register that payroll gave.",
                path=path,
                strerror=error.strerror,
            )
        ) from None


_OPTIONS = (
    click.option("--hash-column", default="employee", show_default=True, help="The column summed for the hash total."),
    click.option("--ignore", multiple=True, metavar="COLUMN", help="A column that is not wanted; may be given again."),
    click.option("--date", metavar="DATE", default="", help="The date of every payment that carries none, YYYY-MM-DD."),
    click.option("--kind", type=click.Choice(list(KINDS)), help="The kind of register, if its name does not tell."),
    click.option("--map", "map_file", metavar="FILE", help="A map (TOML) that says how somebody else's file is read."),
    click.option("--sheet", metavar="NAME", default="", help="The sheet of a spreadsheet, if not the first."),
    click.option("--encoding", metavar="NAME", default="", help="The encoding of a file of text, if not UTF-8."),
)
Command = Callable[..., Any]
#: characters of a map; one with every column there can be is a tenth of it
LONGEST_MAP = 1 << 20


def reading_options(command: Command) -> Command:
    """The options that say how a register is read; `reading_of` takes them."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


def reading_of(source: str, currency: str, how: dict[str, Any], stated: list[str]) -> Reading:
    """What the reader is told. What it states is said at once, and added to `stated` for the answer."""

    def state(sentence: str) -> None:
        say(tr("  note: {sentence}", sentence=sentence))
        stated.append(sentence)

    date, encoding = how["date"], how["encoding"]
    if date and not is_date(date):
        raise UsageRefused(tr("found --date {date}; wanted a real date as YYYY-MM-DD.", date=date))
    try:
        encoding = encodings.named(encoding) if encoding else ""
    except ValueError as error:
        raise UsageRefused(
            tr("found --encoding {error}. Name one such as cp1252, cp037 or utf-16.", error=error)
        ) from None
    return Reading(
        source,
        currency,
        how["hash_column"],
        date,
        how["ignore"],
        state,
        how["kind"] or "",
        _map(how["map_file"]) if how["map_file"] else None,
        how["sheet"],
        encoding,
    )


def _map(path: str) -> maps.Map:
    try:
        with Path(path).open(encoding="utf-8-sig") as file:
            text = file.read(LONGEST_MAP + 1)
    except OSError as error:
        raise UsageRefused(
            tr("the map {path} cannot be read: {strerror}.", path=path, strerror=error.strerror)
        ) from None
    except UnicodeDecodeError:
        raise InputRefused(tr("{path} is no map that can be used: it is not UTF-8.", path=path)) from None
    if len(text) > LONGEST_MAP:
        raise InputRefused(
            tr(
                "{path} is no map that can be used: it is longer than {longest_map} characters.",
                path=path,
                longest_map=LONGEST_MAP,
            )
        )
    return maps.load(text, Path(path).name)


def say_verdict(verdict: Verdict) -> None:
    """Warnings and notes, in words."""
    for fault in verdict.warnings:
        say(tr("  warning: {fault}", fault=fault))
    if verdict.warning_count > len(verdict.warnings):
        say(tr("  … and {warning_count} more warnings.", warning_count=verdict.warning_count - len(verdict.warnings)))
    for question in verdict.questions:
        say(tr("  paid twice? {question}", question=question))
    if verdict.question_count > len(verdict.questions):
        say(
            tr(
                "  … and {question_count} more that may be paid twice.",
                question_count=verdict.question_count - len(verdict.questions),
            )
        )
    for note in verdict.notes:
        say(tr("  note: {note}", note=note))


@click.group("register")
def register_command() -> None:
    """Read and judge a register, changing nothing."""


@register_command.command("check")
@click.argument("register")
@click.option("--account", help="The account it will be paid from.")
@click.option("--form", help="The form it will be printed on: then what does not fit is told as well.")
@reading_options
@json_option
def check(register: str, account: str | None, form: str | None, as_json: bool, **how: Any) -> None:
    """Read and judge REGISTER (- for standard input): totals, and payee and amount side by side."""
    stated: list[str] = []
    with opened() as (found, book), register_stream(register) as (stream, source):
        owner = the_account(found, account)
        definition = library.load(form, found.forms) if form else None
        reading = reading_of(source, owner.currency, how, stated)
        printers = list(found.printers.values())
        if definition:
            printers, _ = accept.able(definition, owner, printers)
        sides = Sides(owner.currency)
        pays = definition is None or definition.payable
        checking = Checking(book, Judged(reading, owner, printers), definition)
        for payment, _, _ in checking.passed(stream):
            sides.add(payment, not batches.known_payee(book, owner.name, payment.payee), advices=pays)
        verdict, told = checking.judge.verdict(), list(checking.notes())
    verdict.refuse(source)
    totals = verdict.totals
    notes = [*stated, *verdict.notes, *told]
    if as_json:
        answer_json(
            {
                "source": source,
                "item_count": totals.item_count,
                "control_total": plain(totals.control_total, owner.currency),
                "hash_total": "" if totals.hash_total is None else str(totals.hash_total),
                "pairs_digest": totals.pairs_digest,
                "advices": totals.advices if pays else 0,
                "currency": owner.currency,
                "warnings": [str(w) for w in verdict.warnings],
                "questions": list(verdict.questions),
                "notes": notes,
                "new_payees": sides.listed(True),
                "known_payees": sides.listed(False),
            }
        )
        return
    say_verdict(verdict)
    for note in told:
        say(tr("  note: {note}", note=note))
    sides.show()
    answer()
    advices = f"  ({counted(totals.advices, 'advice')})" if totals.advices and pays else ""
    answer(tr("item count     {item_count}{advices}", item_count=totals.item_count, advices=advices))
    answer(
        tr(
            "control total  {amount} {currency}",
            amount=plain(totals.control_total, owner.currency),
            currency=owner.currency,
        )
    )
    if totals.hash_total is not None:
        answer(
            tr(
                "hash total     {hash_total}  (of {hash_column})",
                hash_total=totals.hash_total,
                hash_column=how["hash_column"],
            )
        )
    answer(tr("pairs digest   {pairs_digest}", pairs_digest=totals.pairs_digest))
    say(
        tr(
            "\n{source} can be read, and nothing changed. Compare the totals with payroll's slip, not with these.",
            source=source,
        )
    )
