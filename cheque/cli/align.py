"""`cheque align`: print lined up with the form, first on plain paper, then on stock."""

import click

from cheque import alignment, device, duties, library, run
from cheque.book import shifts, stock
from cheque.book.book import Book
from cheque.cli.desk import answer, answer_json, ask, interactive, json_option, opened, say
from cheque.cli.paper import number_at_head, paper_is_loaded
from cheque.errors import BookRefused, InputRefused, RunStopped, UsageRefused
from cheque.layout import alignment_page, void_page
from cheque.page import Page, Shift
from cheque.run import Setting
from cheque.station import open_printer, the_account, the_printer
from cheque.tongue import tr
from cheque.units import write_length


@click.command("align")
@click.argument("form")
@click.option("--printer", help="The printer; needed when the settings have several.")
@click.option("--on", type=click.Choice(["plain", "stock"]), help="Strike it: on plain paper, or VOID on stock.")
@click.option("--account", help="Whose stock, with --on stock.")
@click.option("--first-number", metavar="NUMBER", help="The number on the form at the head, with --on stock.")
@click.option("--paper-loaded", is_flag=True, help="A person has loaded paper.")
@click.option("--reading", metavar="TEXT", help="How the print stands: '2 dots right, 1 dot low', or correct.")
@click.option("--reset", is_flag=True, help="Keep no shift for this printer and form.")
@json_option
def align_command(
    form: str,
    printer: str | None,
    on: str | None,
    account: str | None,
    first_number: str | None,
    paper_loaded: bool,
    reading: str | None,
    reset: bool,
    as_json: bool,
) -> None:
    """Line up FORM on a printer: strike a pattern, read how it stands, and keep the shift that puts it right.

    Plain paper first: its frames and rulers are held against a form. Then, if need be, stock: VOID is struck
    through the cheque and its number entered as spoiled. The shift is kept for this printer and this form.
    """
    with opened() as (found, book):
        definition = library.load(form, found.forms)
        chosen = the_printer(found, printer)
        owner = the_account(found, account)
        kept = Shift() if reset else shifts.shift_of(book, chosen.name, definition.name)
        setting = run.setting(definition, owner, chosen, kept)
        why = run.unable(setting, chosen.parts)
        if why:
            raise InputRefused(
                tr("{name} cannot print {name2}: {why}.", name=chosen.name, name2=definition.name, why="; ".join(why))
            )
        dot = alignment.dots(setting.language, setting.look, setting.printer, definition.grid.pitch)
        if on:
            duties.allowed(book, "shift.set", tr("line up a form"))
            paper_is_loaded(paper_loaded)
            with run.holding(book.place, chosen.name):
                way = open_printer(chosen)
                try:
                    number = _spoiled(book, owner.name, definition.name, first_number) if on == "stock" else ""
                    _strike(way, setting, void_page(definition) if number else alignment_page(definition), number)
                finally:
                    way.close()
        if on and reading is None and not reset:
            say(
                tr(
                    "A dot is {write_length} across, {write_length2} down.",
                    write_length=write_length(dot.across),
                    write_length2=write_length(dot.down),
                )
            )
            if interactive():
                reading = ask("--reading", tr("How does it stand ('2 dots right, 1 dot low'; or correct)?"), str)
            else:
                say(
                    tr(
                        "Look how it stands, then: cheque align {name} --reading '2 dots right, 1 dot low'",
                        name=definition.name,
                    )
                )
        if reading is not None and reading.strip().lower() not in ("correct", "right"):
            kept = _mended(setting, kept, reading, dot)
        if reset or reading is not None:
            shifts.keep(book, chosen.name, definition.name, kept)
    if as_json:
        answer_json({"printer": chosen.name, "form": definition.name, "right": kept.right, "down": kept.down})
        return
    answer(
        tr("{name} on {name2}: {written}.", name=definition.name, name2=chosen.name, written=alignment.written(kept))
    )
    if not on and reading is None and not reset:
        say(tr("To line it up: cheque align {name} --on plain, then --on stock.", name=definition.name))


def _mended(setting: Setting, kept: Shift, reading: str, dot: alignment.Dots) -> Shift:
    """The shift kept, moved by what the reading says."""
    grid = setting.form.grid
    try:
        by = alignment.read(reading, dot, grid.pitch, grid.spacing)
    except ValueError as error:
        raise UsageRefused(tr("found --reading {reading!r}: {error}.", reading=reading, error=error)) from None
    shift = Shift(kept.right + by.right, kept.down + by.down)
    why = alignment.judge(setting.form, shift, dot)
    if why:
        raise InputRefused(tr("that shift is refused: {why}.", why="; ".join(why)))
    return shift


def _spoiled(book: Book, account: str, form: str, first_number: str | None) -> str:
    """Enter the form at the head as spoiled before it is struck, so that no number is lost; gives it in text."""
    first = number_at_head(first_number)
    box = stock.range_of(book, account, int(first))
    if box.form != form:
        raise BookRefused(
            tr(
                "number {first} of {account} is on {form} stock, not {form2}. Load that form.",
                first=first,
                account=account,
                form=box.form,
                form2=form,
            )
        )
    if first != box.text(int(first)):
        raise UsageRefused(
            tr("found number {first}; wanted it as preprinted, {int}.", first=first, int=box.text(int(first)))
        )
    stock.spoil(
        book, account=account, first=int(first), last=int(first), reason=tr("struck VOID to line up the printer")
    )
    say(tr("Number {first} is entered as spoiled. Keep the form for the count.", first=first))
    return first


def _on_paper(page: Page, setting: Setting) -> Page:
    """The page without what the shift would move off the paper: corners and rulers stand at its very edge."""
    right, down = setting.shift
    length = setting.form.paper.length
    kept = (m for m in page.marks if m.x + right >= 0 and 0 <= m.y + down < length)
    return page._replace(marks=tuple(kept))


def _strike(way: device.Device, setting: Setting, page: Page, number: str) -> None:
    """Send one form that carries no payment."""
    try:
        way.send(run.encoded(setting, _on_paper(page, setting), number, 0))
        way.finish()
    except device.DeviceError as error:
        raise RunStopped(tr("the pattern did not get through: {error}", error=error)) from None
