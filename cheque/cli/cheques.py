"""`cheque void`, `reprint`, `manual`, `custody`: what is done to good cheques after a run."""

from collections.abc import Callable
from typing import Any, TypeAlias

import click

from cheque import duties
from cheque.book import cheques, notices, owed
from cheque.book import duties as seconds
from cheque.book.book import Book
from cheque.cli.desk import (
    answer_bare,
    answer_json,
    batch_number,
    json_option,
    number_range,
    one_number,
    opened,
    say,
    whole,
)
from cheque.errors import UsageRefused
from cheque.money import plain
from cheque.tongue import counted, tr

Command: TypeAlias = Callable[..., Any]
_PAPER = {"in-hand": "in hand", "returned": "returned", "not-in-hand": "not in hand"}
_DISPOSITIONS = {one.replace(" ", "-"): one for one in owed.DISPOSITIONS}


def both(*options: Callable[[Command], Command]) -> Callable[[Command], Command]:
    """Several options as one."""

    def put(command: Command) -> Command:
        for option in reversed(options):
            command = option(command)
        return command

    return put


second_options = both(
    click.option("--second", is_flag=True, help="Do what another person asked for."),
    click.option("--drop", "dropped", is_flag=True, help="What was asked for is not wanted any more."),
)
_PLACES = {place.replace(" ", "-"): place for place in cheques.PLACES}


@click.command("void")
@click.argument("number")
@click.option("--reason", help="Why, for the record.")
@click.option("--paper", type=click.Choice(list(_PAPER)), help="Where the paper is.")
@click.option("--disposition", type=click.Choice(list(_DISPOSITIONS)), help="What becomes of the debt; else undecided.")
@second_options
def void_command(
    number: str, reason: str | None, paper: str | None, disposition: str | None, second: bool, dropped: bool
) -> None:
    """Cancel a good cheque, NUMBER, before it is paid.

    The payee is owed it all the same, until it is printed again or `cheque disposition` says otherwise.

    Where the settings ask for a second person, one asks for it, with the reason, and another does it with --second.
    """
    _one_of(second, dropped, {"--reason": reason, "--paper": paper})
    with opened() as (settings, book):
        account, which = one_number(book, number)
        if dropped:
            return _dropped(book, account, which)
        hands = duties.alone_or_ask(settings, book)
        if hands == seconds.ASK and disposition and not second:
            raise UsageRefused(tr("found --disposition; wanted it from the second person, with --second."))
        if second:
            asked = seconds.asked_for(book, "cheque.voided", account, which)
            hands, reason, where = asked.seq, asked.body["reason"], asked.body["paper"]
        else:
            where = _PAPER[paper or ""]
        debt = _DISPOSITIONS[disposition] if disposition else ""
        what = {"reason": reason or "", "paper": where, "disposition": debt}
        found = cheques.void(book, account=account, number=which, **what, hands=hands)
        notice = notices.told(book, account, which)
    if hands == seconds.ASK:
        return _asked(tr("void {account}:{which}", account=account, which=which))
    say(tr("{account}:{which} is void.", account=account, which=which))
    if notice:
        say(
            tr(
                "The bank was told in notice {notice} that {which} is good: tell it that it is not.",
                notice=notice,
                which=which,
            )
        )
        if where in cheques.IN_HAND:
            say(
                tr(
                    "`cheque notice issued {batch}` does, if its layout has a mark for void; else ask for a stop.",
                    batch=found.batch,
                )
            )
    if where in cheques.IN_HAND:
        say(tr("Write VOID across every part, cut off the signature, and keep it for the auditor."))
    else:
        say(
            tr(
                "Voiding it here does not stop it: only the bank can, and a stop lapses. Ask the bank now "
                "(cheque notice stopped {account}:{which} --reason lost makes the request); then: cheque notice "
                "stopped {account}:{which} --confirmed-by NAME --on DATE",
                account=account,
                which=which,
            )
        )
    if found.role == "cheque" and debt not in owed.SETTLED:
        say(tr("The payee is still owed what is owed: voiding a wage cheque does not cancel the wage."))
        say(
            tr(
                "To print the payment again: cheque reprint {account}:{which}. Until then `cheque report owed` "
                "lists it.",
                account=account,
                which=which,
            )
        )
    elif found.role == "cheque":
        say(tr("Entered: {debt}. `cheque report owed` keeps it, with the reason.", debt=debt))
    return None


@click.command("disposition")
@click.argument("number")
@click.argument("disposition", type=click.Choice(list(_DISPOSITIONS)))
@click.option("--reason", required=True, help="Why, for the record; of a payment made otherwise, how and when.")
def disposition_command(number: str, disposition: str, reason: str) -> None:
    """Say what becomes of the debt behind voided cheque NUMBER.

    reissue: to be paid by another cheque. still-owed: it stays a debt. not-owed: it was never due, or twice.
    paid-otherwise: by transfer, in cash. It may be said anew, and every word on it stays in the record.
    """
    with opened() as (settings, book):
        account, which = one_number(book, number)
        debt = _DISPOSITIONS[disposition]
        duties.disposing(settings, book, account, which, debt, book.who)
        found = owed.dispose(book, account=account, number=which, disposition=debt, reason=reason)
    say(f"{account}:{which}, {found.payee}, {plain(found.amount, found.currency)} {found.currency}: {debt}.")
    if debt == "not owed":
        say(tr("A wage that was earned is owed: whether one is not is a matter of local law, and not of this tool."))
    elif debt == "reissue":
        say(tr("Next: cheque reprint {account}:{which}", account=account, which=which))


def _one_of(second: bool, dropped: bool, given: dict[str, str | None]) -> None:
    """The first person gives everything, the second nothing but that she is the second."""
    if second and dropped:
        raise UsageRefused(tr("found --second and --drop; wanted one of them."))
    told = [name for name, value in given.items() if value is not None]
    if (second or dropped) and told:
        raise UsageRefused(
            tr(
                "found {told} with {more}; what was asked for stands.",
                told=told[0],
                more="--second" if second else "--drop",
            )
        )
    lacking = [name for name, value in given.items() if value is None]
    if not (second or dropped) and lacking:
        raise UsageRefused(tr("an answer is missing: give {lacking}.", lacking=tr(" and ").join(lacking)))


def _asked(command: str) -> None:
    say(
        tr("Asked for. It is done when a second person says so: cheque {command} --second (or --drop)", command=command)
    )


def _dropped(book: Book, account: str, number: int) -> None:
    seconds.drop(book, account, number)
    say(tr("What was asked for {account}:{number} is dropped.", account=account, number=number))


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
    say(
        tr(
            "Batch {batch}: {payee}, {amount} {currency}, instead of {account}:{which}.",
            batch=batch,
            payee=source.payment.payee,
            amount=amount,
            currency=source.batch.currency,
            account=account,
            which=which,
        )
    )
    say(
        tr("Next: cheque proof {batch}, then cheque print {batch} --proof-code CODE --first-number NUMBER", batch=batch)
    )
    answer_bare(str(batch))


@click.command("manual")
@click.argument("number")
@click.option("--payment", metavar="BATCH:ITEM", help="The payment that was written by hand.")
@click.option("--reason", help="Why by hand.")
@second_options
def manual_command(number: str, payment: str | None, reason: str | None, second: bool, dropped: bool) -> None:
    """Record a cheque written by hand on form NUMBER from the box, for a payment that lacks a form.

    Where the settings ask for a second person, one asks for it, and another does it with --second.
    """
    _one_of(second, dropped, {"--payment": payment, "--reason": reason})
    with opened() as (settings, book):
        account, which = one_number(book, number)
        if dropped:
            return _dropped(book, account, which)
        hands = duties.alone_or_ask(settings, book)
        if second:
            asked = seconds.asked_for(book, "cheque.manual", account, which)
            hands, reason = asked.seq, asked.body["reason"]
            batch, item = asked.body["batch"], asked.body["item"]
        else:
            batch, item = _payment(payment or "")
        cheques.by_hand(book, account=account, number=which, batch=batch, item=item, reason=reason or "", hands=hands)
    if hands == seconds.ASK:
        return _asked(tr("manual {account}:{which}", account=account, which=which))
    say(
        tr(
            "{account}:{which} is entered as written by hand. Tell the bank of it with the others of the batch.",
            account=account,
            which=which,
        )
    )
    return None


def _payment(payment: str) -> tuple[int, int]:
    """A batch and the place of a payment in it, from BATCH:ITEM."""
    batch, colon, item = payment.partition(":")
    try:
        place = whole(item) if colon else 0
    except ValueError:
        place = 0
    if not place:
        raise UsageRefused(
            tr("found --payment {payment!r}; wanted BATCH:ITEM, as `cheque batch show` lists them.", payment=payment)
        )
    return batch_number(batch), place


@click.command("custody")
@click.argument("numbers")
@click.option("--place", type=click.Choice(list(_PLACES)), required=True, help="Where the paper is now.")
@click.option("--to", default="", help="Who has it, or took it.")
def custody_command(numbers: str, place: str, to: str) -> None:
    """Say where the paper of good cheques NUMBERS is: to be signed, held, handed over, mailed, returned."""
    with opened() as (_, book):
        account, first, last = number_range(book, numbers)
        count = cheques.move(book, account=account, first=first, last=last, place=_PLACES[place], to=to)
    say(
        tr(
            "{cheques} of {account}: {place}{to}.",
            cheques=counted(count, "cheque"),
            account=account,
            place=tr(_PLACES[place]),
            to=" (" + to + ")" if to else "",
        )
    )
