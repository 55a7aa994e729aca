"""`cheque void`, `reprint`, `manual`, `custody`: what is done to good cheques after a run."""

import click

from cheque.book import cheques, notices, owed
from cheque.cli.desk import (
    answer_bare,
    answer_json,
    batch_number,
    counted,
    json_option,
    number_range,
    one_number,
    opened,
    say,
    whole,
)
from cheque.errors import UsageRefused
from cheque.money import plain

_PAPER = {"in-hand": "in hand", "returned": "returned", "not-in-hand": "not in hand"}
_DISPOSITIONS = {one.replace(" ", "-"): one for one in owed.DISPOSITIONS}
_PLACES = {place.replace(" ", "-"): place for place in cheques.PLACES}


@click.command("void")
@click.argument("number")
@click.option("--reason", required=True, help="Why, for the record.")
@click.option("--paper", type=click.Choice(list(_PAPER)), required=True, help="Where the paper is.")
@click.option("--disposition", type=click.Choice(list(_DISPOSITIONS)), help="What becomes of the debt; else undecided.")
def void_command(number: str, reason: str, paper: str, disposition: str | None) -> None:
    """Cancel a good cheque, NUMBER, before it is paid.

    The payee is owed it all the same, until it is printed again or `cheque disposition` says otherwise.
    """
    debt = _DISPOSITIONS[disposition] if disposition else ""
    with opened() as (_, book):
        account, which = one_number(book, number)
        found = cheques.void(book, account=account, number=which, reason=reason, paper=_PAPER[paper], disposition=debt)
        notice = notices.told(book, account, which)
    say(f"{account}:{which} is void.")
    if notice:
        say(f"The bank was told in notice {notice} that {which} is good: tell it that it is not.")
        if _PAPER[paper] in cheques.IN_HAND:
            say(f"`cheque notice issued {found.batch}` does, if its layout has a mark for void; else ask for a stop.")
    if _PAPER[paper] in cheques.IN_HAND:
        say("Write VOID across every part, cut off the signature, and keep it for the auditor.")
    else:
        say(
            "Voiding it here does not stop it: only the bank can, and a stop lapses. Ask the bank now "
            f"(cheque notice stopped {account}:{which} --reason lost makes the request); then: "
            f"cheque notice stopped {account}:{which} --confirmed-by NAME --on DATE"
        )
    if found.role == "cheque" and debt not in owed.SETTLED:
        say("The payee is still owed what is owed: voiding a wage cheque does not cancel the wage.")
        say(f"To print the payment again: cheque reprint {account}:{which}. Until then `cheque report owed` lists it.")
    elif found.role == "cheque":
        say(f"Entered: {debt}. `cheque report owed` keeps it, with the reason.")


@click.command("disposition")
@click.argument("number")
@click.argument("disposition", type=click.Choice(list(_DISPOSITIONS)))
@click.option("--reason", required=True, help="Why, for the record; of a payment made otherwise, how and when.")
def disposition_command(number: str, disposition: str, reason: str) -> None:
    """Say what becomes of the debt behind voided cheque NUMBER.

    reissue: to be paid by another cheque. still-owed: it stays a debt. not-owed: it was never due, or twice.
    paid-otherwise: by transfer, in cash. It may be said anew, and every word on it stays in the record.
    """
    with opened() as (_, book):
        account, which = one_number(book, number)
        debt = _DISPOSITIONS[disposition]
        found = owed.dispose(book, account=account, number=which, disposition=debt, reason=reason)
    say(f"{account}:{which}, {found.payee}, {plain(found.amount, found.currency)} {found.currency}: {debt}.")
    if debt == "not owed":
        say("A wage that was earned is owed: whether one is not is a matter of local law, and not of this tool.")
    elif debt == "reissue":
        say(f"Next: cheque reprint {account}:{which}")


@click.command("reprint")
@click.argument("number")
@click.option("--without-stop", default="", metavar="REASON", help="Go on although the bank confirmed no stop.")
@json_option
def reprint_command(number: str, without_stop: str, as_json: bool) -> None:
    """Make a batch of one from the payment of a voided or spoiled cheque, NUMBER.

    It is proofed and printed like any batch, on another form; the two are linked both ways.
    """
    with opened() as (_, book):
        account, which = one_number(book, number)
        source = cheques.reprint_source(book, account, which)
        batch = cheques.accept_reprint(book, source, stop_override=without_stop)
    if as_json:
        answer_json({"batch": batch, "replaces": f"{account}:{which}", "payee": source.payment.payee})
        return
    amount = plain(source.payment.amount, source.batch.currency)
    say(f"Batch {batch}: {source.payment.payee}, {amount} {source.batch.currency}, instead of {account}:{which}.")
    say(f"Next: cheque proof {batch}, then cheque print {batch} --proof-code CODE --first-number NUMBER")
    answer_bare(str(batch))


@click.command("manual")
@click.argument("number")
@click.option("--payment", metavar="BATCH:ITEM", required=True, help="The payment that was written by hand.")
@click.option("--reason", required=True, help="Why by hand.")
def manual_command(number: str, payment: str, reason: str) -> None:
    """Record a cheque written by hand on form NUMBER from the box, for a payment that lacks a form."""
    batch, colon, item = payment.partition(":")
    try:
        place = whole(item) if colon else 0
    except ValueError:
        place = 0
    if not place:
        raise UsageRefused(f"found --payment {payment!r}; wanted BATCH:ITEM, as `cheque batch show` lists them.")
    with opened() as (_, book):
        account, which = one_number(book, number)
        cheques.by_hand(book, account=account, number=which, batch=batch_number(batch), item=place, reason=reason)
    say(f"{account}:{which} is entered as written by hand. Tell the bank of it with the others of the batch.")


@click.command("custody")
@click.argument("numbers")
@click.option("--place", type=click.Choice(list(_PLACES)), required=True, help="Where the paper is now.")
@click.option("--to", default="", help="Who has it, or took it.")
def custody_command(numbers: str, place: str, to: str) -> None:
    """Say where the paper of good cheques NUMBERS is: to be signed, held, handed over, mailed, returned."""
    with opened() as (_, book):
        account, first, last = number_range(book, numbers)
        count = cheques.move(book, account=account, first=first, last=last, place=_PLACES[place], to=to)
    say(f"{counted(count, 'cheque')} of {account}: {_PLACES[place]}{' (' + to + ')' if to else ''}.")
