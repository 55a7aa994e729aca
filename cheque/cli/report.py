"""`cheque report`: what people read on paper and on screen. Answers go to standard output, or to a new file."""

import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from importlib import import_module
from pathlib import Path
from typing import Any, TypeVar

import click

from cheque import system
from cheque.book import batches
from cheque.book.book import Book, Reader
from cheque.cli.desk import batch_number, no_such_file, number_range, opened, say
from cheque.errors import BookRefused, InputRefused, UsageRefused
from cheque.register import KINDS
from cheque.report.page import Report
from cheque.report.render import FORMATS, render
from cheque.report.render.text import FOOT, PAGE_LINES
from cheque.report.when import When, a_day, the_end_of
from cheque.settings import Settings
from cheque.tongue import tr

C = TypeVar("C", bound=Callable[..., Any])
_SHORTEST_PAGE = FOOT + 12


@click.group("report")
def report_command() -> None:
    """What people read: issued, control, numbers, outstanding, cleared, owed, letters, voids, handover, payroll, ….

    As text for an 80-column printer, as CSV, JSON or HTML; --as-of gives the book as it stood at a day's end.
    """


def how_options(command: C) -> C:
    """The options on how a report is written, and where to."""
    for option in (
        click.option(
            "-o",
            "--output",
            metavar="FILE",
            help="Write it to FILE, which must not be there yet; - is standard output.",
        ),
        click.option("--form-feed", is_flag=True, help="Text: end each page with a form feed."),
        click.option(
            "--page-lines", type=int, help=f"Text: lines on a page, {PAGE_LINES} unless told; 0 for no pages."
        ),
        click.option("--json", "as_json", is_flag=True, help="The same as --format json."),
        click.option("--format", "form", type=click.Choice(list(FORMATS)), help="How it is written; text unless told."),
    ):
        command = option(command)
    return command


as_of_option = click.option("--as-of", "day", metavar="DATE", help="The book as it stood at the end of that local day.")
merge_option = click.option("--merge", is_flag=True, help="As CSV for letters: one record for each payee.")


def _what_options(command: C) -> C:
    """The options on what a report is about."""
    for option in (
        as_of_option,
        click.option("--account", help="Only this account."),
        click.option("--batch", help="Only this batch."),
    ):
        command = option(command)
    return command


@report_command.command("issued")
@_what_options
@click.option("--from", "dated_from", metavar="DATE", help="Only cheques dated on this day or later.")
@click.option("--to", "dated_to", metavar="DATE", help="Only cheques dated on this day or earlier.")
@how_options
def issued(
    batch: str | None,
    account: str | None,
    day: str | None,
    dated_from: str | None,
    dated_to: str | None,
    **how: Any,
) -> None:
    """The cheques issued; those voided since apart."""
    first, last = _span(dated_from, dated_to)
    _write("issued", Output(**how), batch, account, day, dated_from=first, dated_to=last)


@report_command.command("control")
@click.option("--batch", help="The batch; may be left out when there is only one.")
@click.option("--as-of", "day", metavar="DATE", help="The book as it stood at the end of that local day.")
@how_options
def control(batch: str | None, day: str | None, **how: Any) -> None:
    """The control report of a batch, for the binder.

    Totals against the slip, payees and amounts side by side, proofs, runs, and the digest of the book.
    """
    output = Output(**how)
    with opened() as (settings, book), standing(book, day) as (reader, when):
        from cheque.report import control as report

        output.write(report.build(reader, settings, when, batch=_the_batch(reader, batch)))


@report_command.command("numbers")
@click.argument("numbers", required=False)
@_what_options
@how_options
def numbers(numbers: str | None, batch: str | None, account: str | None, day: str | None, **how: Any) -> None:
    """Every number, and what became of it.

    Of all boxes, of a batch, or of NUMBERS (100501-100600). Exit 1 when a box does not add up.
    """
    if numbers and (batch or account):
        raise UsageRefused(tr("found NUMBERS with --batch or --account: give one of them."))
    _write("numbers", Output(**how), batch, account, day, span=numbers)


@report_command.command("outstanding")
@_what_options
@how_options
def outstanding(batch: str | None, account: str | None, day: str | None, **how: Any) -> None:
    """Good cheques not yet paid, by age; stale ones apart."""
    _write("outstanding", Output(**how), batch, account, day)


@report_command.command("stops")
@click.option("--account", help="Only this account.")
@click.option("--as-of", "day", metavar="DATE", help="The book as it stood at the end of that local day.")
@click.option("--within", type=click.IntRange(0, 3650), metavar="DAYS", help="How soon a stop lapses to be renewed.")
@how_options
def stops(account: str | None, day: str | None, within: int | None, **how: Any) -> None:
    """Stops at the bank: lapsed, soon to lapse, asked for, refused, in force.

    Renew in time: a lapsed stop stops nothing.
    """
    output = Output(**how)
    with opened() as (settings, book), standing(book, day) as (reader, when):
        from cheque.report import stops as report

        known = _known(settings, reader, account, None)
        output.write(report.build(reader, settings, when, account=known["account"], days=within))


@report_command.command("cleared")
@_what_options
@click.option("--from", "paid_from", metavar="DATE", help="Only what was paid on this day or later.")
@click.option("--to", "paid_to", metavar="DATE", help="Only what was paid on this day or earlier.")
@how_options
def cleared(
    batch: str | None, account: str | None, day: str | None, paid_from: str | None, paid_to: str | None, **how: Any
) -> None:
    """Cheques that the bank has paid, and how long after their date."""
    first, last = _span(paid_from, paid_to)
    _write("cleared", Output(**how), batch, account, day, paid_from=first, paid_to=last)


@report_command.command("owed")
@_what_options
@how_options
def owed(batch: str | None, account: str | None, day: str | None, **how: Any) -> None:
    """What is owed behind voided and missing cheques.

    Listed until it is printed again, the bank has paid it, or `cheque disposition` says otherwise.
    """
    _write("owed", Output(**how), batch, account, day)


@report_command.command("unclaimed")
@_what_options
@how_options
def unclaimed(batch: str | None, account: str | None, day: str | None, **how: Any) -> None:
    """What was never cashed, old enough to ask what the law says of it.

    Outstanding cheques and debts behind voided ones, older than the account's unclaimed_after_years (or _days).
    """
    _write("unclaimed", Output(**how), batch, account, day)


@report_command.command("letters")
@_what_options
@click.option("--over", type=click.IntRange(0, 36_500), metavar="DAYS", help="Older than so many days; else stale.")
@merge_option
@how_options
def letters(batch: str | None, account: str | None, day: str | None, over: int | None, merge: bool, **how: Any) -> None:
    """Whom to write to about cheques not cashed: a line for each payee.

    With address, numbers, dates and amounts. --merge writes nothing but a heading and a record for each payee, as
    programs that write letters read it.
    """
    _write("letters", Output(**how, merge=merge), batch, account, day, over=over)


@report_command.command("voids")
@_what_options
@how_options
def voids(batch: str | None, account: str | None, day: str | None, **how: Any) -> None:
    """Forms voided, spoiled and missing, and why.

    Where the paper is, whether the bank confirmed a stop, and what replaced them.
    """
    _write("voids", Output(**how), batch, account, day)


@report_command.command("listing")
@click.argument("batch", required=False)
@click.option("--payment", "payments", type=click.IntRange(min=1), multiple=True, help="Of this payment; repeatable.")
@as_of_option
@how_options
def listing(batch: str | None, payments: tuple[int, ...], day: str | None, **how: Any) -> None:
    """All stub lines of the payments of BATCH whose form does not hold them, on plain paper.

    Of those with more lines than the form has room for, and of good cheques whose stub goes on on a form that is not
    good. With --payment of any payment, by its place in the batch.
    """
    output = Output(**how)
    with opened() as (settings, book), standing(book, day) as (reader, when):
        from cheque.detail import not_on_forms
        from cheque.report import listing as report

        which = batches.get(reader, _the_batch(reader, batch))
        for item in payments:
            batches.payment(reader, which.id, item)  # refused when there is none
        items = set(payments) or not_on_forms(settings, reader, which)
        output.write(report.build(reader, settings, when, batch=which.id, items=items))


@report_command.command("payroll")
@click.option("--batch", help="The batch; may be left out when there is only one.")
@click.option("--kind", type=click.Choice(list(KINDS)), help="The kind of file, if not the register's own.")
@as_of_option
@click.option("-o", "--output", metavar="FILE", help="Write it to this new FILE; - is standard output.")
def payroll(batch: str | None, kind: str | None, day: str | None, output: str | None) -> None:
    """What became of each payment, for payroll, in the register's own kind of file.

    Reference, number, date, amount, status and a note, one payment a line, in the register's order.
    """
    path = no_such_file(output) if output and output != "-" else None
    with opened() as (settings, book), standing(book, day) as (reader, _):
        from cheque.report import payroll as report
        from cheque.report import payroll_files as files

        found = batches.get(reader, _the_batch(reader, batch))
        data = files.written_as(book, settings, found, report.results(reader, found), kind or "")
    if path is None:
        sys.stdout.flush()
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
        return
    new_private_file(path, data)
    say(tr("Results of batch {id}, for payroll: written to {path}; only you can read it.", id=found.id, path=path))


@report_command.command("handover")
@_what_options
@click.option("--amounts", is_flag=True, help="Show amounts: then the next to sign reads them too.")
@click.option("--by-department", is_flag=True, help="A slip for each department of a batch, on a page of its own.")
@click.option("--all", "every", is_flag=True, help="Those handed over or mailed already as well.")
@how_options
def handover(
    batch: str | None,
    account: str | None,
    day: str | None,
    amounts: bool,
    every: bool,
    by_department: bool,
    **how: Any,
) -> None:
    """The sheet people sign when they take their cheque.

    It shows no amounts unless asked for: whoever signs reads the lines above.
    """
    if by_department and batch is None:
        raise UsageRefused(tr("whose slips? --by-department with --batch BATCH."))
    more = {"amounts": amounts, "every": every, "by_department": by_department}
    _write("handover", Output(**how), batch, account, day, **more)


def _span(first: str | None, last: str | None) -> tuple[str, str]:
    """A first and a last day as asked for, "" for none. UsageRefused when the first is the later."""
    begin, end = (a_day(text).isoformat() if text else "" for text in (first, last))
    if begin and end and end < begin:
        raise UsageRefused(tr("found --from {begin} --to {end}; wanted the earlier day first.", begin=begin, end=end))
    return begin, end


def _write(name: str, output: "Output", batch: str | None, account: str | None, day: str | None, **more: Any) -> None:
    """Build one report and write it; exit 1 when it says that something does not agree."""
    with opened() as (settings, book), standing(book, day) as (reader, when):
        known = _known(settings, reader, account, batch)
        span = more.pop("span", None)
        if span:
            known["account"], more["first"], more["last"] = number_range(reader, span)
        report = import_module(f"cheque.report.{name}").build(reader, settings, when, **known, **more)
        output.write(report)
    if report.agrees is False:
        click.get_current_context().exit(1)


def _the_batch(reader: Reader, batch: str | None) -> int:
    """The batch asked for, or the only one there is."""
    if batch is not None:
        return batches.get(reader, batch_number(batch)).id
    first, last = reader.row("SELECT min(id), max(id) FROM batch") or (None, None)
    if first is None:
        raise BookRefused(tr("there is no batch yet: `cheque batch accept` makes one of a register."))
    if first != last:
        raise UsageRefused(
            tr(
                "which batch? --batch with one of {known} to {known2}; `cheque batch list` has them.",
                known=first,
                known2=last,
            )
        )
    return int(first)


@contextmanager
def standing(book: Book, day: str | None) -> Iterator[tuple[Reader, When]]:
    """The book as it stands, unchanged by what others write meanwhile; or as it stood at the end of a day."""
    from cheque.book.verify import as_of

    now = datetime.now().astimezone()
    if day is None:
        with book.store.reading():
            yield book, When(now)
        return
    when = the_end_of(day, now)
    reader = as_of(book, when.moment)
    try:
        yield reader, when
    finally:
        if reader.store is not book.store:
            reader.store.close()


class Output:
    """How a report is written, and where."""

    def __init__(
        self,
        form: str | None,
        as_json: bool,
        page_lines: int | None,
        form_feed: bool,
        output: str | None,
        merge: bool = False,
    ) -> None:
        if merge and (as_json or form is not None):
            raise UsageRefused(tr("found --merge with --format or --json; wanted one of them."))
        if as_json and form not in (None, "json"):
            raise UsageRefused(tr("found --json and --format {form}; wanted one of them.", form=form))
        self.form = "merge" if merge else "json" if as_json else form or "text"
        if self.form != "text" and (form_feed or page_lines is not None):
            raise UsageRefused(f"--page-lines and --form-feed are for text, not for {self.form}.")
        if page_lines is not None and page_lines and page_lines < _SHORTEST_PAGE:
            raise UsageRefused(
                tr(
                    "found --page-lines {page_lines}; wanted at least {shortest_page}, or 0 for no pages.",
                    page_lines=page_lines,
                    shortest_page=_SHORTEST_PAGE,
                )
            )
        if form_feed and page_lines == 0:
            raise UsageRefused(tr("found --form-feed and --page-lines 0; a form feed ends a page, so wanted pages."))
        lines = PAGE_LINES if page_lines is None else page_lines
        self.options = {"page_lines": lines, "form_feed": form_feed} if self.form == "text" else {}
        self.path = no_such_file(output) if output and output != "-" else None

    def write(self, report: Report) -> None:
        """Write a report to standard output, or to a new file that only its owner can read."""
        text = render(report, self.form, **self.options)
        if self.path is None:
            click.echo(text, nl=False)
            return
        new_private_file(self.path, text.encode())
        say(tr("{title}: written to {path}; only you can read it.", title=report.title, path=self.path))


def new_private_file(path: Path, data: bytes) -> None:
    """Write a file that was not there, readable by its owner only; never over another, nor through a link."""
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | system.NO_LINK, 0o600)
    except FileExistsError:
        raise InputRefused(
            tr("{path} is there already: nothing is written over. Name another file.", path=path)
        ) from None
    with os.fdopen(handle, "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _known(settings: Settings, book: Reader, account: str | None, batch: str | None) -> dict[str, Any]:
    """The account and the batch asked for, as reports take them; refused when there is none such."""
    wanted: dict[str, Any] = {"batch": 0, "account": ""}
    if batch is not None:
        wanted["batch"] = batches.get(book, batch_number(batch)).id
    if account is not None:
        known = {row[0] for row in book.rows("SELECT DISTINCT account FROM stock")} | set(settings.accounts)
        if account not in known:
            raise InputRefused(
                tr(
                    "there is no account {account!r}; there is {list}.",
                    account=account,
                    list=", ".join(sorted(known)) or tr("none"),
                )
            )
        wanted["account"] = account
        if batch is not None and batches.get(book, wanted["batch"]).account != account:
            raise UsageRefused(
                tr("batch {batch} is not of account {account}: leave one of the two out.", batch=batch, account=account)
            )
    return wanted
