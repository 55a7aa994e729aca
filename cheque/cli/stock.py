"""`cheque stock`: numbered forms received, on hand, counted, destroyed."""

import click

from cheque.book import stock
from cheque.cli.desk import (
    answer,
    answer_json,
    ask,
    columns,
    json_option,
    number_range,
    opened,
    say,
    whole,
)
from cheque.errors import UsageRefused
from cheque.station import the_account
from cheque.tongue import counted, heading, tr


@click.group("stock")
def stock_command() -> None:
    """Numbered stock: receive, list, count, destroy."""


@stock_command.command("receive")
@click.argument("form")
@click.option("--account", help="The account the cheques are drawn on.")
@click.option("--first", required=True, help="The first number in the box, as preprinted.")
@click.option("--last", required=True, help="The last number in the box, as preprinted.")
def receive(form: str, account: str | None, first: str, last: str) -> None:
    """Enter a box of numbered FORMs. Compare both numbers with the forms themselves, not with the label."""
    from cheque import library

    with opened() as (found, book):
        definition = library.load(form, found.forms)
        room = definition.number_width
        if room and len(last) > room:
            raise UsageRefused(
                tr(
                    "found {last}, of {count} digits; {name} has room for {room} where its number is struck. Look at "
                    "the numbers on the forms again, or widen that field.",
                    last=last,
                    count=len(last),
                    name=definition.name,
                    room=room,
                )
            )
        owner = the_account(found, account).name
        box = stock.receive(book, account=owner, form=definition.name, first=first, last=last)
    say(
        tr(
            "Received {forms} of {form}, {account}:{first} to {last}. Lock them up; the keys to the stock "
            "and to this tool belong in different hands.",
            forms=counted(box.last - box.first + 1, "form"),
            form=box.form,
            account=box.account,
            first=box.text(box.first),
            last=box.text(box.last),
        )
    )


@stock_command.command("list")
@json_option
def list_stock(as_json: bool) -> None:
    """What is on hand, box by box."""
    with opened() as (_, book):
        boxes: list[tuple[stock.Range, dict[str, int]]] = [
            (box, dict(book.rows("SELECT state, forms FROM tally WHERE stock = ?", box.id)))
            for box in stock.ranges(book)
        ]
        free = {box.id: stock.on_hand(book, box, box.first, box.last) for box, _ in boxes}
    if as_json:
        answer_json(
            [
                {**box._asdict(), "states": {s: n for s, n in counts.items() if n}, "on_hand": free[box.id]}
                for box, counts in boxes
            ]
        )
        return
    if not boxes:
        say(tr("No stock yet: `cheque stock receive` enters a box."))
        return
    rows = [heading("account", "form", "first", "last", "received", "on hand", "next on hand")]
    for box, counts in boxes:
        first = box.text(free[box.id][0][0]) if free[box.id] else "-"
        rows.append(
            [
                box.account,
                box.form,
                box.text(box.first),
                box.text(box.last),
                str(counts["received"]),
                str(counts.get("on hand", 0)),
                first,
            ]
        )
    answer(columns(rows, right=frozenset({2, 3, 4, 5, 6})))


@stock_command.command("count")
@click.argument("numbers")
@click.option("--forms", type=int, help="How many forms were counted.")
@click.pass_context
def count(ctx: click.Context, numbers: str, forms: int | None) -> None:
    """A physical count of the forms on hand in NUMBERS (100501-101000), against the book."""
    with opened() as (_, book):
        account, first, last = number_range(book, numbers)
        counted = (
            ask("--forms", tr("How many forms of {numbers} did you count?", numbers=numbers), whole)
            if forms is None
            else forms
        )
        if counted < 0:
            raise UsageRefused(tr("found {counted} forms; wanted 0 or more.", counted=counted))
        difference = stock.count(book, account=account, first=first, last=last, counted=counted)
    if difference == 0:
        say(tr("Counted {counted}, as the book has it.", counted=counted))
        return
    if difference > 0:
        say(
            tr(
                "Counted {counted}: {difference} more than the book has. Count again; then look which of them "
                "the book has as missing (`cheque found` enters them), spoiled or printed (`cheque show NUMBER`).",
                counted=counted,
                difference=difference,
            )
        )
    else:
        say(
            tr(
                "Counted {counted}: {it} fewer than the book has. Count again; what is not there is entered with "
                "`cheque missing`, number by number.",
                counted=counted,
                it=-difference,
            )
        )
    ctx.exit(1)


@stock_command.command("destroy")
@click.argument("numbers")
@click.option("--witness", required=True, help="Who saw it done.")
@click.option("--reason", required=True, help="Why, for the record.")
def destroy(numbers: str, witness: str, reason: str) -> None:
    """Enter old stock as destroyed before a witness."""
    with opened() as (_, book):
        account, first, last = number_range(book, numbers)
        stock.destroy(book, account=account, first=first, last=last, witness=witness, reason=reason)
    say(
        tr(
            "{forms} of {account} entered as destroyed, witnessed by {witness}.",
            forms=counted(last - first + 1, "form"),
            account=account,
            witness=witness,
        )
    )
