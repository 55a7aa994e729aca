"""`cheque batch`: a register accepted with its control totals; listed, shown, pulled from, withdrawn."""

from typing import Any

import click

from cheque import accept, library, money, ordering
from cheque import duties as hands
from cheque.book import batches, cheques, duties, runs
from cheque.book.book import Book, Reader
from cheque.checking import Judged, NearlyTheSame
from cheque.cli.desk import (
    answer,
    answer_bare,
    answer_json,
    ask,
    ask_yes,
    batch_number,
    columns,
    interactive,
    json_option,
    opened,
    say,
    some_words,
    whole,
)
from cheque.cli.register import reading_of, reading_options, register_stream, say_verdict
from cheque.control import Slip
from cheque.errors import InputRefused, UsageRefused
from cheque.form.model import Form
from cheque.money import plain
from cheque.ordering import Order
from cheque.payment import Role
from cheque.sending import same_code
from cheque.settings import Account, PrinterSettings, Settings
from cheque.station import account_of, the_account
from cheque.tongue import counted, heading, tr


@click.group("batch")
def batch_command() -> None:
    """Accept a register with its control totals; list, show, approve, pull, withdraw."""


@batch_command.command("accept")
@click.argument("register")
@click.option("--form", required=True, help="The form it will be printed on: `cheque form list`.")
@click.option("--account", help="The account it is paid from.")
@click.option("--control-total", help="The sum of the amounts, from payroll's slip.")
@click.option("--item-count", type=int, help="The number of payments, from payroll's slip.")
@click.option("--hash-total", type=int, help="The sum of the hash column, from payroll's slip.")
@click.option("--pairs-digest", help="The digest of payee-and-amount pairs, if payroll gives one.")
@reading_options
@click.option(
    "--allow-duplicate",
    multiple=True,
    metavar="REFERENCE",
    help="A payment, or an invoice, that is paid again.",
)
@click.option("--not-a-duplicate", metavar="REASON", help="Why payments nearly the same as others are none of them.")
@click.option(
    "--order", type=click.Choice(ordering.ORDERS), default=ordering.REGISTER, show_default=True, help="Print them so."
)
@click.option("--group", type=click.Choice(ordering.GROUPS), help="Keep each department's together, in that order.")
@click.option("--printer", help="The printer it is meant for; else every printer in the settings that can.")
@json_option
def accept_batch(
    register: str,
    form: str,
    account: str | None,
    control_total: str | None,
    item_count: int | None,
    hash_total: int | None,
    pairs_digest: str | None,
    allow_duplicate: tuple[str, ...],
    not_a_duplicate: str | None,
    order: str,
    group: str | None,
    printer: str | None,
    as_json: bool,
    **how: Any,
) -> None:
    """Accept REGISTER (- for standard input) as a batch, held against the totals keyed in from payroll's slip."""
    stated: list[str] = []
    with opened() as (found, book):
        owner = the_account(found, account)
        definition = library.load(form, found.forms)
        printers = _printers(found, owner, definition, printer)
        slip = _slip(owner, control_total, item_count, hash_total, pairs_digest)
        with register_stream(register) as (stream, source):
            kept = accept.keep(book.place, stream, source)
        reading = reading_of(source, owner.currency, how, stated)
        wanted = accept.Wanted(
            Judged(reading, owner, printers, allow_duplicate),
            definition,
            slip,
            Order(order, group or "", owner.locale),
            _reason(not_a_duplicate),
        )
        done = _accepted(book, kept, wanted)
    totals = done.totals
    if as_json:
        answer_json(
            {
                "batch": done.batch,
                "item_count": totals.item_count,
                "control_total": plain(totals.control_total, owner.currency),
                "hash_total": "" if totals.hash_total is None else str(totals.hash_total),
                "pairs_digest": totals.pairs_digest,
                "notes": [*stated, *map(str, done.verdict.warnings), *done.verdict.notes, *done.notes],
            }
        )
        return
    say_verdict(done.verdict)
    for note in done.notes:
        say(tr("  note: {note}", note=note))
    say(
        tr(
            "Batch {batch} accepted: {payments}, {amount} {currency}, as the slip says.",
            batch=done.batch,
            payments=counted(totals.item_count, "payment"),
            amount=plain(totals.control_total, owner.currency),
            currency=owner.currency,
        )
    )
    say(tr("Next: cheque proof {batch} -o proof.pdf", batch=done.batch))
    answer_bare(str(done.batch))


def _reason(text: str | None) -> str:
    """Why payments are not paid twice, as given; "" when it was not."""
    if text is not None and not text.strip():
        raise UsageRefused(tr("found nothing after --not-a-duplicate; wanted a reason, for the record."))
    return (text or "").strip()


def _accepted(book: Book, kept: accept.Kept, wanted: accept.Wanted) -> accept.Accepted:
    """The register accepted. Whether payments that are nearly others are paid twice is asked at a terminal."""
    try:
        return accept.accept(book, kept, wanted)
    except NearlyTheSame as nearly:
        if not interactive():
            raise
        for line in nearly.message.split("\n")[:-1]:
            say(line)
    if ask_yes("--not-a-duplicate", tr("Is any of them paid twice?")):
        raise InputRefused(
            tr("{source} pays twice, so it is not accepted. Take the payment out of the register.", source=kept.source)
        )
    why = ask("--not-a-duplicate", tr("Why are they none of those? (for the record)"), some_words)
    silent = wanted.how.reading._replace(state=lambda sentence: None)  # it has been said
    return accept.accept(book, kept, wanted._replace(how=wanted.how._replace(reading=silent), not_a_duplicate=why))


def _printers(found: Settings, owner: Account, form: Form, printer: str | None) -> list[PrinterSettings]:
    """The printers a batch is checked for: the one named, or all that can print the form."""
    chosen = [found.printer(printer)] if printer else list(found.printers.values())
    good, reasons = accept.able(form, owner, chosen)
    if not good:
        raise InputRefused(
            tr("no printer can print {name}", name=form.name)
            + (": " + " | ".join(reasons) if reasons else tr(": {source} has no printer", source=found.source))
            + tr(". `cheque form check {name}` says in which languages it can be fed.", name=form.name)
        )
    for reason in reasons:
        say(tr("  note: not on {reason}", reason=reason))
    return good


def _slip(
    owner: Account, control_total: str | None, item_count: int | None, hash_total: int | None, pairs: str | None
) -> Slip:
    """The totals keyed in; the control total and the item count are asked for when they are not given."""

    def amount(text: str) -> int:
        return money.parse(text, owner.currency, group="," if "," in text else "")

    try:
        total = (
            ask("--control-total", tr("Control total on payroll's slip?"), amount)
            if control_total is None
            else amount(control_total)
        )
    except money.AmountError as error:
        raise UsageRefused(f"--control-total: {error}.") from None
    if item_count is None:
        item_count = ask("--item-count", tr("Item count on payroll's slip?"), whole)
    return Slip(item_count, total, hash_total, pairs)


@batch_command.command("list")
@click.option("--all", "everything", is_flag=True, help="The older ones too of which nothing is left to do.")
@json_option
def list_batches(everything: bool, as_json: bool) -> None:
    """The batches with something left to do and the newest 20, and how far each is. With --json the same ones."""
    with opened() as (_, book):
        listed, older = (batches.every(book), 0) if everything else batches.current(book)
        found = [(batch, state_of(book, batch)) for batch in listed]
    _list(found, as_json)
    if older:
        said = (
            tr("1 older batch is done or withdrawn, and not listed: `cheque batch list --all` lists every batch.")
            if older == 1
            else tr(
                "{older} older batches are done or withdrawn, and not listed: `cheque batch list --all` lists every "
                "batch.",
                older=older,
            )
        )
        say(said)


def _list(found: list[tuple[batches.Batch, str]], as_json: bool) -> None:
    if as_json:
        answer_json([{**_facts(batch), "is": state} for batch, state in found])
        return
    if not found:
        say(tr("No batch yet: `cheque batch accept` makes one of a register."))
        return
    rows = [heading("batch", "account", "form", "payments", "total", "from", "is")]
    for batch, state in found:
        total = f"{plain(batch.total, batch.currency)} {batch.currency}"
        rows.append([str(batch.id), batch.account, batch.form, str(batch.items), total, batch.source, state])
    answer(columns(rows, right=frozenset({0, 3, 4})))


def _facts(batch: batches.Batch) -> dict[str, str | int]:
    return {
        "batch": batch.id,
        "account": batch.account,
        "form": batch.form,
        "item_count": batch.items,
        "control_total": plain(batch.total, batch.currency),
        "currency": batch.currency,
        "source": batch.source,
        "accepted": batch.at,
    }


def state_of(reader: Reader, batch: batches.Batch) -> str:
    """How far a batch is, in a few words."""
    if batch.state != "accepted":
        return tr(batch.state)
    open_runs = runs.unfinished(reader, batch=batch.id)
    if open_runs:
        return tr("to be confirmed") if open_runs[-1].state == "finished" else tr("stopped: resume it")
    left = batch.waits
    held = len(batches.held(reader, batch.id))
    if not left:
        return tr("{held} held back: form missing", held=held) if held else tr("done")
    used = reader.row("SELECT 1 FROM number WHERE batch = ? LIMIT 1", batch.id)
    if used:
        return tr("{left} still to print", left=left)
    return tr("proofed") if batch.proof else tr("accepted")


@batch_command.command("show")
@click.argument("batch")
@json_option
def show(batch: str, as_json: bool) -> None:
    """The payments of BATCH, and the number each is on."""
    with opened() as (_, book):
        found = batches.get(book, batch_number(batch))
        state, order = state_of(book, found), batches.order_of(book, found)
        pulled: dict[int, str] = dict(
            book.rows("SELECT item, pulled FROM claim WHERE batch = ? AND pulled <> ''", found.id)
        )
        forms = cheques.of_batch(book, found.id)
        on = {n.item: n for n in forms if n.role != Role.CONTINUATION}
        further = [n for n in forms if n.role == Role.CONTINUATION and n.item in on and n.run == on[n.item].run]
        payments = list(batches.payments(book, found.id, pulled=True))
    if as_json:
        rows_json = [
            {
                "payment": p.item,
                "payee": p.payee,
                "amount": plain(p.amount, found.currency),
                "date": p.date,
                "reference": p.reference,
                "role": p.role.value,
                "expected": p.expected,
                "number": on[p.item].number if p.item in on else 0,
                **({"goes_on_on": here} if (here := [n.number for n in further if n.item == p.item]) else {}),
                "is": tr("pulled: {pulled}", pulled=pulled[p.item])
                if p.item in pulled
                else on[p.item].state
                if p.item in on
                else "waiting",
            }
            for p in payments
        ]
        answer_json({**_facts(found), "is": state, "order": ordering.said(*order), "payments": rows_json})
        return
    answer(
        tr(
            "batch {id} ({state}): {items} payments, {amount} {currency}",
            id=found.id,
            state=state,
            items=found.items,
            amount=plain(found.total, found.currency),
            currency=found.currency,
        )
    )
    answer(
        tr("from {source}, account {account}, form {form}", source=found.source, account=found.account, form=found.form)
    )
    if order[0]:
        answer(tr("printed {said}", said=ordering.said(*order)))
    answer()
    rows = [heading("payment", "payee", "amount", "date", "reference", "number", "is")]
    for p in payments:
        number = on.get(p.item)
        what = (
            tr("pulled: {pulled}", pulled=pulled[p.item])
            if p.item in pulled
            else tr(number.state.value)
            if number
            else tr("waiting")
        )
        if p.role is Role.ADVICE:
            what += tr(", advice")
        if goes_on := [str(n.number) for n in further if n.item == p.item]:
            what += tr(", goes on on {goes_on}", goes_on=", ".join(goes_on))
        rows.append(
            [
                str(p.item),
                p.payee,
                plain(p.amount, found.currency),
                p.date,
                p.reference,
                str(number.number) if number else "-",
                what,
            ]
        )
    answer(columns(rows, right=frozenset({0, 2, 5})))


@batch_command.command("pull")
@click.argument("batch")
@click.argument("payment", type=int)
@click.option("--reason", required=True, help="Why, for the record.")
def pull(batch: str, payment: int, reason: str) -> None:
    """Take PAYMENT, by its place in the batch, out of BATCH. The proof is to be made anew."""
    with opened() as (_, book):
        batches.pull(book, batch_number(batch), payment, reason)
    say(
        tr(
            "Payment {payment} of batch {batch} is pulled: it will not be printed. Make a new proof.",
            payment=payment,
            batch=batch,
        )
    )


@batch_command.command("advices")
@click.argument("batch")
@click.option("--form", required=True, metavar="FORM", help="The form of their own.")
@click.option("--printer", help="The printer it is meant for; else every printer in the settings that can.")
@json_option
def advices(batch: str, form: str, printer: str | None, as_json: bool) -> None:
    """Set the advices of BATCH apart: onto a FORM of their own, as a batch with a proof and a run of its own.

    The batch they come from still adds up to its slip, and prints its cheques. Withdraw the new batch, and they wait
    in the old one again.
    """
    with opened() as (found, book):
        from cheque.apart import set_apart

        which = batches.get(book, batch_number(batch))
        owner = account_of(found, which)
        definition = library.load(form, found.forms)
        printers = _printers(found, owner, definition, printer)
        apart, count = set_apart(book, which.id, definition, owner, printers)
    if as_json:
        answer_json({"batch": apart, "advices": count, "of": which.id, "form": definition.name})
        return
    what = tr(
        "{advices} of batch {id} {more}",
        advices=counted(count, "advice"),
        id=which.id,
        more=tr("is") if count == 1 else tr("are"),
    )
    say(tr("{what} batch {apart} now, for {name}. No money goes out.", what=what, apart=apart, name=definition.name))
    say(tr("Next: cheque proof {apart} -o advices.pdf", apart=apart))
    answer_bare(str(apart))


@batch_command.command("approve")
@click.argument("batch")
@click.option("--proof-code", required=True, help="The code of the proof that was looked at.")
def approve(batch: str, proof_code: str) -> None:
    """Approve the proof of BATCH: somebody other than who accepted it has looked at it, payee by payee."""
    with opened() as (settings, book):
        found = batches.get(book, batch_number(batch))
        same_code(found, proof_code)
        duties.approve(book, found.id)
        lacking = hands.missing(settings, book, batches.get(book, found.id))
    say(tr("The proof of batch {id} is approved by {who}.", id=found.id, who=book.who))
    if lacking:
        say(tr("It is not enough yet: {lacking}.", lacking=lacking))


@batch_command.command("withdraw")
@click.argument("batch")
@click.option("--reason", required=True, help="Why, for the record.")
def withdraw(batch: str, reason: str) -> None:
    """Take out a BATCH of which nothing was printed, so that a corrected register can be accepted."""
    with opened() as (_, book):
        batches.withdraw(book, batch_number(batch), reason)
    say(tr("Batch {batch} is withdrawn.", batch=batch))
