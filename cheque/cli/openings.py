"""`cheque book opening`: the cheques that were out before the book was begun."""

from pathlib import Path

import click

from cheque.bank.openinglist import LONGEST, MOST, Listed, read
from cheque.cli.desk import opened, say
from cheque.errors import Fault, InputRefused, UsageRefused
from cheque.settings import Settings
from cheque.tongue import counted, tr


def listed(path: str, currency: str) -> tuple[str, list[Listed]]:
    """The name of a list for messages, and its lines. InputRefused with every fault."""
    name = Path(path).name
    name = name if name.isprintable() else ascii(name)[1:-1]
    try:
        with Path(path).open("rb") as file:
            data = file.read(LONGEST * MOST + 1)
        if len(data) > LONGEST * MOST:
            raise InputRefused(
                tr(
                    "{name} is refused: it is longer than {longest} bytes. Is it another file?",
                    name=name,
                    longest=LONGEST * MOST,
                )
            )
        text = data.decode("utf-8-sig")
    except OSError as error:
        raise InputRefused(
            tr(
                "{path} cannot be read: {strerror}. Name the list of cheques that are out.",
                path=path,
                strerror=error.strerror,
            )
        ) from None
    except UnicodeDecodeError:
        raise InputRefused(tr("{name} is refused: it is not UTF-8. Save it so.", name=name)) from None
    found = list(read(text.splitlines(), name, currency))
    faults = [one for one in found if isinstance(one, Fault)]
    if faults:
        raise InputRefused(
            tr(
                "{source} is refused: {faults}.",
                source=name,
                faults=counted(len(faults), "fault"),
            ),
            faults,
        )
    return name, [one for one in found if isinstance(one, Listed)]


def definition_of(settings: Settings, form: str) -> tuple[str, str]:
    """A form's name and the text of its definition, as a batch keeps it."""
    from cheque.form import to_text
    from cheque.library import load

    found = load(form, settings.forms)
    return found.name, to_text(found)


@click.command("opening")
@click.argument("file", type=click.Path(dir_okay=False))
@click.option("--account", metavar="NAME", help="The account; may be left out when the settings have one.")
@click.option("--form", metavar="FORM", help="The form for printing one again; the account's own if it has one only.")
def opening_command(file: str, account: str | None, form: str | None) -> None:
    """Enter the cheques that were already out when this book was begun: FILE has number, date, payee, amount.

    They are good cheques of the book from then on: outstanding, and can be cleared, stopped, voided and paid again on
    another form. Their numbers are on no box: receive only the forms that were still in the box.
    """
    from cheque.book.opening import FORM, Out, enter
    from cheque.money import plain
    from cheque.station import the_account

    with opened() as (settings, book):
        found = the_account(settings, account)
        name, out = listed(file, found.currency)
        forms = {row[0] for row in book.rows("SELECT DISTINCT form FROM stock WHERE account = ?", found.name)} - {FORM}
        if form is None and len(forms) != 1:
            known = (
                tr("one of {list}", list=", ".join(sorted(forms)))
                if forms
                else tr("one of those that `cheque form list` shows")
            )
            raise UsageRefused(
                tr("on which form would one be printed again? Give it with --form: {known}.", known=known)
            )
        form, definition = definition_of(settings, form or forms.pop())
        batch = enter(
            book,
            [Out(one.number, one.date, one.payee, one.amount, one.where, one.reference) for one in out],
            account=found.name,
            form=form,
            definition=definition,
            currency=found.currency,
            source=name,
        )
    total = plain(sum(one.amount for one in out), found.currency)
    say(
        tr(
            "{cheques}, {total} {currency} in all, entered as out, as batch {batch}. Compare the total with "
            "the ledger's list of cheques outstanding.",
            cheques=counted(len(out), "cheque"),
            total=total,
            currency=found.currency,
            batch=batch,
        )
    )
