"""`cheque setup`: a commented cheque.toml and an empty book."""

from pathlib import Path

import click

from cheque import settings as settings_file
from cheque.cli.desk import private_write, say
from cheque.errors import InputRefused, UsageRefused
from cheque.tongue import tr


@click.command("setup")
@click.option("--drawer", default="", help="The drawer's legal name, as on the preprinted form.")
@click.option("--address", multiple=True, help="A line of the drawer's address; may be given again.")
@click.option("--bank", default="", help="The bank's name.")
@click.option("--routing", default="", help="The bank's routing number.")
@click.option("--account-number", default="", help="The account's number; shown masked everywhere.")
@click.option("--currency", default="USD", show_default=True, help="A code of ISO 4217.")
@click.option("--locale", default="en_US", show_default=True, help="How the legal amount is written.")
@click.option("--book", default="book", show_default=True, help="Where the book is: a folder, or postgresql://….")
@click.pass_context
def setup_command(
    ctx: click.Context,
    drawer: str,
    address: tuple[str, ...],
    bank: str,
    routing: str,
    account_number: str,
    currency: str,
    locale: str,
    book: str,
) -> None:
    """Write a commented cheque.toml and an empty book here.

    Where the book is on a server already, this station joins it.

    What is not given stays blank in cheque.toml, to be filled in by hand. Where cheque.toml is there already, and the
    book that it names is not, only the book is begun.
    """
    from cheque.book.book import create, is_there

    path = Path(ctx.find_root().obj["settings"] or settings_file.FILE)
    if path.exists():
        return _only_the_book(path)
    _plain(
        drawer=(drawer,),
        address=address,
        bank=(bank,),
        routing=(routing,),
        account_number=(account_number,),
        currency=(currency,),
        locale=(locale,),
        book=(book,),
    )
    text = settings_file.template(
        drawer=drawer,
        address=address,
        bank=bank,
        routing=routing,
        number=account_number,
        currency=currency,
        locale=locale,
        book=book,
    )
    filled = text.replace('drawer = ""', 'drawer = "-"').replace('bank = ""', 'bank = "-"')
    found = settings_file.parse(filled, path)  # what was given is judged before anything is written
    if not is_there(found.book, found.server):
        create(found.book, server=found.server).close()
        say(
            tr("An empty book is at {server}", server=found.server or found.book)
            + ("." if found.server else tr("; only you can open it."))
        )
    elif found.server:
        say(tr("The book at {server} is there already: this station joins it.", server=found.server))
    private_write(path, text.encode())
    say(tr("Settings are at {path}.", path=path))
    blank = [key for key, value in (("drawer", drawer), ("bank", bank)) if not value]
    if blank:
        say(tr("Fill in {blank} under [accounts.main] before anything else.", blank=tr(" and ").join(blank)))
    say(tr("Next: cheque stock receive payroll-us --account main --first NUMBER --last NUMBER"))
    return None


def _only_the_book(path: Path) -> None:
    """Begin the empty book that settings name. InputRefused when it is there: settings are never rewritten."""
    from cheque.book.book import create, is_there

    found = settings_file.load(path)
    if is_there(found.book, found.server):
        raise InputRefused(tr("{path} is there already and is never rewritten: edit it, or move it away.", path=path))
    create(found.book, server=found.server).close()
    say(
        tr(
            "{path} is there already and stays as it is. The book that it names is new and empty: {server}.",
            path=path,
            server=found.server or found.book,
        )
    )
    say(
        tr(
            "Was a book in use before? Then do not use this one, which knows none of its numbers: move it "
            "aside, and put the old one back, or its latest backup (cheque book restore)."
        )
    )


def _plain(**given: tuple[str, ...]) -> None:
    """Refuse what cannot stand between quotes in a file of text."""
    for name, texts in given.items():
        for text in texts:
            if not text.isprintable():
                option = "--" + name.replace("_", "-")
                raise UsageRefused(
                    tr(
                        "found {option} {text!a}, with a character that is not printed; wanted plain text.",
                        option=option,
                        text=text,
                    )
                )
