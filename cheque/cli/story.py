"""`cheque show` and `cheque find`: a form's whole story; a search."""

from collections.abc import Callable
from contextlib import suppress
from datetime import datetime
from typing import Any

import click

from cheque.book import batches, cheques, cleared, stock, stops, story
from cheque.book.event import Event
from cheque.book.state import State
from cheque.cli.desk import answer, answer_json, columns, json_option, one_number, opened, say
from cheque.money import plain
from cheque.payment import Role
from cheque.tongue import heading, mark, tr


@click.command("show")
@click.argument("number")
@json_option
def show_command(number: str, as_json: bool) -> None:
    """Everything about form NUMBER: what it is, what it carries, and what happened to it."""
    with opened() as (_, book):
        account, which = one_number(book, number)
        box = stock.range_of(book, account, which)
        found = cheques.get(book, account, which)
        links = story.links(book, account, which)
        paid = cleared.get(book, account, which)
        struck = story.struck_number(book, account, which)
        events = story.history(book, account, which)
        lapsed = found is not None and stops.lapsed(book, account, which, stops.today(book))
        payment = batches.payment(book, found.batch, found.item) if found and found.batch else None
        pays = cheques.first_of(book, found) if found and found.role == Role.CONTINUATION else which
        currency = batches.get(book, found.batch).currency if found and found.batch else ""
    state = found.state if found else State.ON_HAND
    told: dict[str, str] = {
        mark("number"): f"{account}:{box.text(which)}",
        mark("is"): state.value,
        mark("form"): box.form,
    }
    if payment and found:
        told |= {
            mark("payee"): payment.payee,
            mark("amount"): f"{plain(payment.amount, currency)} {currency}",
            mark("date"): payment.date,
            mark("reference"): payment.reference,
            mark("payment"): tr("{item} of batch {batch}", item=found.item, batch=found.batch),
            mark("role"): found.role,
            mark("stub of"): box.text(pays) if pays != which else "",
            mark("expected"): payment.expected,
        }
    if found:
        told |= {
            mark("reason"): found.reason,
            mark("paper"): found.custody,
            mark("bank's stop"): "LAPSED" if lapsed else found.stop,
        }
    if paid:
        amount = plain(paid.amount, currency) if currency else tr("{amount} minor units", amount=paid.amount)
        times = "" if paid.payments == 1 else tr(", {payments} times", payments=paid.payments)
        told[mark("paid by the bank")] = tr(
            "{amount} on {booked}{times}", amount=amount, booked=paid.booked, times=times
        )
    if struck is not None:
        told[mark("number struck on it")] = box.text(struck)
    told |= {
        mark("replaces"): box.text(links.replaces) if links.replaces else "",
        mark("replaced by"): box.text(links.replaced_by) if links.replaced_by else "",
    }
    told = {key: value for key, value in told.items() if value}
    if as_json:
        answer_json({**told, "events": [{**event._asdict(), "body": event.data} for event in events]})
        return
    answer(columns([[tr(key), _word(key, value)] for key, value in told.items()]))
    answer()
    answer(columns([[_when(event), event.who, event.kind, _what(event, which)] for event in events]))


#: what is said of a form in words of the book's own
_OURS = {"is", "role", "paper", "bank's stop"}


def _word(key: str, value: str) -> str:
    return tr(value) if key in _OURS else value


def _when(event: Event) -> str:
    """The time of an event where it is read."""
    at = datetime.fromisoformat(event.at.replace("Z", "+00:00"))
    with suppress(OverflowError, ValueError):  # a zone or a year that this machine cannot reckon: UTC, as in the book
        at = at.astimezone()
    return at.strftime("%Y-%m-%d %H:%M:%S")


def _ranges(pairs: list[list[Any]], number: int) -> str | None:
    """The reason of the range that holds a number, "" when it has none, None when no range holds it."""
    for first, last, *reason in pairs:
        if first <= number <= last:
            return str(reason[0]) if reason else ""
    return None


def _seen(body: dict[str, Any], number: int) -> str:
    for name in ("good", "spoiled", "missing", "blank"):
        reason = _ranges(body[name], number)
        if reason is not None:
            if reason:
                return tr("a person looked: {state}: {reason}", state=tr(name), reason=reason)
            return tr("a person looked: {state}", state=tr(name))
    return tr("a person looked")


def _until(body: dict[str, Any]) -> str:
    """Until when a stop holds, where that was told."""
    spoken = tr(", only spoken") if body.get("spoken") else ""
    return tr(", until {lapses}{spoken}", lapses=body["lapses"], spoken=spoken) if body.get("lapses") else spoken


def _more(body: dict[str, Any], key: str) -> str:
    return f": {body[key]}" if body.get(key) else ""


_WORDS: dict[str, Callable[[dict[str, Any]], str]] = {
    "stock.received": lambda b: tr(
        "received with {first} to {last}, {form}", first=b["first"], last=b["last"], form=b["form"]
    ),
    "stock.counted": lambda b: tr(
        "{counted} counted where {expected} were expected", counted=b["counted"], expected=b["expected"]
    ),
    "stock.destroyed": lambda b: tr("destroyed before {witness}: {reason}", witness=b["witness"], reason=b["reason"]),
    "batch.accepted": lambda b: tr("batch {batch} accepted from {source}", batch=b["batch"], source=b["source"]),
    "proof.made": lambda b: tr("proof of batch {batch}", batch=b["batch"]),
    "payment.pulled": lambda b: tr("payment {item} pulled: {reason}", item=b["item"], reason=b["reason"]),
    "run.begun": lambda b: tr(
        "reserved for run {run} of batch {batch} on {printer}", run=b["run"], batch=b["batch"], printer=b["printer"]
    ),
    "run.sent": lambda b: tr(
        "sent in run {run}, {length} bytes {digest}…", run=b["run"], length=b["length"], digest=b["digest"][:16]
    ),
    "run.stopped": lambda b: tr("run {run} stopped: {cause}", run=b["run"], cause=b["cause"]),
    "run.finished": lambda b: tr("run {run} sent all its forms", run=b["run"]),
    "form.spoiled": lambda b: tr("spoiled: {reason}", reason=b["reason"]),
    "form.missing": lambda b: tr("missing: {reason}", reason=b["reason"]),
    "form.found": lambda b: tr("found, {as_}: {reason}", as_=b["as"], reason=b["reason"]),
    "cheque.voided": lambda b: tr("voided, paper {paper}: {reason}", paper=tr(b["paper"]), reason=b["reason"]),
    "cheque.disposed": lambda b: f"{tr(b['disposition'])}: {b['reason']}",
    "cheque.manual": lambda b: tr(
        "written by hand for payment {item} of batch {batch}: {reason}",
        item=b["item"],
        batch=b["batch"],
        reason=b["reason"],
    ),
    "stop.requested": lambda b: tr(
        "the bank was asked to stop it on {on}, {reason}{more}", on=b["on"], reason=b["reason"], more=_more(b, "told")
    ),
    "stop.confirmed": lambda b: tr("stop confirmed by {by} on {on}{until}", by=b["by"], on=b["on"], until=_until(b)),
    "stop.renewed": lambda b: tr("stop renewed by {by} on {on}{until}", by=b["by"], on=b["on"], until=_until(b)),
    "stop.refused": lambda b: tr("stop refused by {by} on {on}{more}", by=b["by"], on=b["on"], more=_more(b, "told")),
    "notice.made": lambda b: tr("told to the bank in notice {notice}, {file}", notice=b["notice"], file=b["file"]),
    "stop.overridden": lambda b: tr("reprinted without a stop: {reason}", reason=b["reason"]),
    "statement.read": lambda b: tr(
        "on the bank's statement {statement}, to {last}", statement=b["statement"] or b["source"], last=b["last"]
    ),
    "opening.entered": lambda b: tr("out when the book was begun"),
    "numbers.moved": lambda b: tr(
        "{first} to {last} found to be on numbers {by:+d}, approved by {approved}: {reason}",
        first=b["first"],
        last=b["last"],
        by=b["by"],
        approved=b["approved"],
        reason=b["reason"],
    ),
    "custody.changed": lambda b: f"{b['place']}{' (' + b['to'] + ')' if b['to'] else ''}",
}


def _what(event: Event, number: int) -> str:
    """An event in words, as it touches one number."""
    if event.kind == "paper.seen":
        return _seen(event.data, number)
    words = _WORDS.get(event.kind)
    return words(event.data) if words else ""


@click.command("find")
@click.argument("text")
@json_option
@click.pass_context
def find_command(ctx: click.Context, text: str, as_json: bool) -> None:
    """Search the book for TEXT: a payee (any part of the name), an amount, a reference or a number."""
    with opened() as (_, book):
        found = story.search(book, text)
        texts = {one: stock.range_of(book, one.account, one.number).text(one.number) for one in found if one.number}
    if as_json:
        answer_json(
            [{**one._asdict(), "amount": plain(one.amount, one.currency) if one.currency else ""} for one in found]
        )
        ctx.exit(0 if found else 1)
    if not found:
        say(tr("Nothing in the book has {text!r}.", text=text))
        ctx.exit(1)
    rows = [heading("number", "is", "payee", "amount", "date", "reference", "batch:payment")]
    rows += [
        [
            f"{one.account}:{texts[one]}" if one.number else "-",
            tr(one.state),
            one.payee,
            _amount(one),
            one.date,
            one.reference,
            f"{one.batch}:{one.item}" if one.batch else "",
        ]
        for one in found
    ]
    answer(columns(rows, right=frozenset({3})))


def _amount(one: story.Found) -> str:
    return plain(one.amount, one.currency) if one.currency else ""
