"""After the printing: missing forms, the numbers, the reports, the bank, the signatures."""

from datetime import date, datetime
from pathlib import Path

from cheque import duties, notify
from cheque.book import batches, cheques, notices, stock, stops
from cheque.book import duties as asked
from cheque.book.move import ranges_of
from cheque.book.state import State
from cheque.errors import BookRefused
from cheque.guide.facts import preprinted, to_sign, unsent
from cheque.guide.payday import Payday
from cheque.guide.talk import Left, digits, whole, words
from cheque.money import plain
from cheque.payment import Role
from cheque.reconcile.finding import Finding, Line, Stretch
from cheque.reconcile.numbers import reconcile
from cheque.report.when import When
from cheque.shown import escaped
from cheque.tongue import counted, mark, tr

#: sentences of a reconciliation shown at once
SHOWN = 8


def held(payday: Payday) -> None:
    """Payments whose form is missing and may bear a good cheque: found, stopped at the bank, or left for later."""
    talk, book = payday.talk, payday.book
    account = payday.get().account
    for item, number in batches.held(book, payday.batch):
        one = batches.payment(book, payday.batch, item)
        text = stock.range_of(book, account, number).text(number)
        talk.say(
            tr("Form {text}, for {payee}, is missing and may bear a good cheque.", text=text, payee=escaped(one.payee))
        )
        what = talk.one_of(
            tr("Was it found, has the bank confirmed a stop, or is that for later: found, stop or later?"),
            ("found", "stop", "later"),
            tr(
                "found: you have the form; it is entered as spoiled, and its payment is printed on another. "
                "stop: the bank said that it will not pay it; its payment is printed again. later: it stays held "
                "back."
            ),
        )
        if what == "found":
            stock.found(
                book, account=account, first=number, last=number, spoiled=True, reason=tr("found after the run")
            )
            talk.say(tr("Entered as found, spoiled. Write VOID across it."))
        elif what == "stop":
            _stopped(payday, account, number)
            payday.first(_reprint(payday, account, number))
            return
    if batches.held(book, payday.batch):
        payday.done(held_told=True)


def _stopped(payday: Payday, account: str, number: int) -> None:
    """The bank confirmed a stop: who said so, and when."""
    by = payday.talk.ask(tr("Who at the bank confirmed the stop?"), words, tr("A name, for the record."))

    def day(text: str) -> str:
        try:
            found = date.fromisoformat(text) if text else date.today()
        except ValueError:
            raise ValueError(tr("Type a day such as 2026-11-27, or press Enter for today.")) from None
        if found > date.today():
            raise ValueError(tr("That day is yet to come."))
        return found.isoformat()

    on = payday.talk.ask(tr("On what day? Press Enter for today."), day, tr("As 2026-11-27."))
    cheques.confirm_stop(payday.book, account=account, number=number, by=by, on=on)
    payday.talk.say(tr("The stop is entered. A stop lapses: ask your bank when, and renew it."))


def _reprint(payday: Payday, account: str, number: int) -> int:
    """A batch of one for a payment to be printed again; gives the batch."""
    source = cheques.reprint_source(payday.book, account, number)
    batch = cheques.accept_reprint(payday.book, source)
    money = f"{plain(source.payment.amount, source.batch.currency)} {source.batch.currency}"
    payday.talk.say(
        tr(
            "Batch {batch} prints it again: {payee}, {money}.",
            batch=batch,
            payee=escaped(source.payment.payee),
            money=money,
        )
    )
    return batch


def numbers(payday: Payday) -> None:
    """Account for every number; a good cheque that is found to be wrong is voided here and printed again."""
    talk, batch = payday.talk, payday.get()
    try:
        duties.reconciling_batch(payday.settings, payday.book, batch.id)
    except BookRefused as refusal:
        talk.say(
            tr(
                "{refusal} They run `cheque payday` from a login of their own (where several share one: `cheque "
                "--as NAME payday`), and go on from here with the numbers, the reports and the bank. Hand "
                "nothing over before.",
                refusal=refusal,
            )
        )
        raise Left("quit") from None
    finding = reconcile(payday.book, batch.id, stops.today(payday.book))
    _found(payday, finding)
    passed = [] if finding.agrees else [(one.box, line) for one in finding.stretches for line in _passed_over(one)]
    if passed and _accounted(payday, *passed[0]):
        return
    payday.agreed = payday.agreed and finding.agrees
    good = {one.number: one for one in cheques.of_batch(payday.book, batch.id) if one.state is State.PRINTED}
    if not good:
        payday.done(reconciled=True)
        return

    def number(text: str) -> int:
        if text.lower() in ("", "none"):
            return 0
        which = int(digits(text))
        if which not in good:
            raise ValueError(tr("That is no good cheque of this batch. Type its preprinted number, or press Enter."))
        return which

    wrong = talk.ask(
        tr(
            "Is any good cheque to be cancelled, and printed again on another form (spilt on, torn since)? "
            "Type its number, or press Enter if none is."
        ),
        number,
        tr(
            "A cheque that is in your hands can be voided here. One that has left them must be stopped at "
            "the bank: `cheque void`, then `cheque notice stopped`."
        ),
    )
    if not wrong:
        payday.done(reconciled=True)
        return
    _void(payday, batch.account, wrong)


def _passed_over(stretch: Stretch) -> list[Line]:
    """Numbers of a stretch that are on hand although a higher one was used."""
    used = max((line.last for line in stretch.lines if line.state != State.ON_HAND), default=0)
    return [line for line in stretch.lines if line.state == State.ON_HAND and line.last < used]


def _accounted(payday: Payday, box: stock.Range, line: Line) -> bool:
    """Say what became of numbers that were passed over. False when that is left for later."""
    talk, book = payday.talk, payday.book
    what = talk.one_of(
        tr(
            "What became of {text}, passed over: count (they are in the box), spoiled, missing, or later?",
            text=line.text,
        ),
        ("count", "spoiled", "missing", "later"),
        tr(
            "count: the forms lie in the box, and you count them there. spoiled: torn, led in, used to line "
            "up. missing: nobody knows where they are. later: the numbers do not agree until it is said."
        ),
    )
    if what == "later":
        return False
    if what == "count":
        counted_forms = talk.ask(
            tr("How many forms from {text} do you count in the box?", text=line.text),
            whole,
            tr("Take them in your hands and count."),
        )
        more = stock.count(book, account=box.account, first=line.first, last=line.last, counted=counted_forms)
        talk.say(
            tr("The count is entered, and agrees.") if not more else tr("The count is entered, and does not agree.")
        )
        return not more
    reason = talk.ask(tr("How did that come about?"), words, tr("In a few words, for the record: led in, torn off."))
    mark = stock.spoil if what == "spoiled" else stock.missing
    mark(book, account=box.account, first=line.first, last=line.last, reason=reason)
    talk.say(
        tr("Entered as {what}.", what=what)
        + (tr(" Tell the bank: anyone can fill in a blank cheque.") if what == "missing" else "")
    )
    return True


def _found(payday: Payday, finding: Finding) -> None:
    talk = payday.talk
    for box in finding.identities:
        talk.say(
            tr(
                "Box {first} to {last}: {sentence}.",
                first=box.box.text(box.box.first),
                last=box.box.text(box.box.last),
                sentence=box.sentence,
            )
        )
    last = next((one for one in finding.steps if one.key == "good"), None)
    if last:
        currency = finding.batch.currency
        money = f"{plain(last.amount, currency)} {currency}"
        talk.say(f"{last.label.capitalize()}: {counted(last.items, 'payment')}, {money}.")
    for title, sentences in (
        ("", finding.shifts),
        (tr("To be seen to: "), finding.attention),
        (tr("NOT EXPLAINED: "), finding.unexplained),
    ):
        for sentence in sentences[:SHOWN]:
            talk.say(f"  {title}{sentence}")
        if len(sentences) > SHOWN:
            talk.say(
                tr(
                    "  ... and {count} more: cheque reconcile numbers {id}",
                    count=len(sentences) - SHOWN,
                    id=finding.batch.id,
                )
            )
    if finding.agrees:
        talk.say(tr("Everything agrees: every number is accounted for."))
    else:
        talk.say(tr("Not everything agrees. Hand nothing over before it is explained."))


def _void(payday: Payday, account: str, number: int) -> None:
    talk = payday.talk
    named = preprinted(payday.book, account, number)
    reason = talk.ask(
        tr("Why is it cancelled?"), words, tr("For the record, such as: coffee spilt on it before signing.")
    )
    if not talk.yes(tr("Is the paper of it in your hands, every part?"), tr("If not, only the bank can stop it.")):
        raise BookRefused(
            tr(
                "it is not cancelled here. `cheque void {named} --reason REASON --paper not-in-hand` enters it, "
                "and the bank has to be asked for a stop.",
                named=named,
            )
        )
    hands = duties.alone_or_ask(payday.settings, payday.book)
    found = cheques.void(payday.book, account=account, number=number, reason=reason, paper="in hand", hands=hands)
    if hands == asked.ASK:
        talk.say(
            tr(
                "Asked for: it is void once a second person enters `cheque void {named} --second` from a login "
                "of their own. Keep it apart until then. After that, `cheque reprint {named}` prints its payment "
                "again.",
                named=named,
            )
        )
        return
    talk.say(tr("It is void. Write VOID across every part, cut off the signature, and keep it for the auditor."))
    if found.role == Role.CHEQUE:
        talk.say(tr("The payee is still owed what is owed: voiding a wage cheque does not cancel the wage."))
    if talk.yes(tr("Print its payment again now, on another form?"), tr("It goes through its own proof and code.")):
        payday.first(_reprint(payday, account, number))


#: report -> what it is for
REPORTS = {
    "control": mark("the control report, for the binder"),
    "issued": mark("the cheques issued"),
    "handover": mark("the sheet that people sign when they take their cheque"),
}


def reports(payday: Payday) -> None:
    """Save the reports of the batch, print them on ordinary paper, or leave them for later."""
    talk = payday.talk
    what = talk.one_of(
        tr(
            "The reports: save them as files here, print them on an ordinary printer too, or later? Type "
            "save, print or later."
        ),
        ("save", "print", "later"),
        "; ".join(f"{name}: {tr(why)}" for name, why in REPORTS.items())
        + tr(
            ". `cheque report` writes them at any time. print hands them to the spooler, never to the "
            "printer with cheques in it."
        ),
    )
    queue = ""
    if what == "print":
        queue = talk.ask(
            tr("Which queue of the spooler has ordinary paper? (lpstat -p lists them)"),
            _queue,
            tr("The queue's name. Not the one whose printer has cheques loaded: the report would be struck on them."),
        )
    if what != "later":
        for name in REPORTS:
            _save(payday, name, queue)
    payday.done(reported=True)


def _queue(text: str) -> str:
    if not text or not all(c.isalnum() or c in "-_." for c in text) or text.startswith("-"):
        raise ValueError(tr("Type the queue's name."))
    return text


def _save(payday: Payday, name: str, queue: str) -> None:
    from importlib import import_module

    from cheque.guide.approve import free
    from cheque.report.render import render

    path: Path = free(f"report-{name}-batch-{payday.batch}.txt")
    with payday.book.store.reading():
        build = import_module(f"cheque.report.{name}").build
        report = build(payday.book, payday.settings, When(datetime.now().astimezone()), batch=payday.batch)
        payday.files.save(path, render(report, "text").encode())
    payday.talk.say(f"  {path}: {tr(REPORTS[name])}.")
    if queue and (why := payday.files.print(path, queue)):
        payday.talk.say(tr("  It was not printed: {why}.", why=why))


def bank(payday: Payday) -> None:
    """Tell the bank what was issued, before a cheque is handed over: by its notice, or in whatever way it wants."""
    batch = payday.get()
    if not payday.settings.account(batch.account).notice.wanted:
        _by_hand(payday)
    elif next(notices.to_tell(payday.book, [batch.id]), None) is not None:
        _notice(payday)
    else:
        payday.talk.say(tr("A notice tells of every good cheque of this batch."))
        for notice in unsent(payday.book, batch.account, batch.id):
            _sent(payday, notice)
    payday.done(told=True)


def _by_hand(payday: Payday) -> None:
    payday.talk.say(
        tr(
            "If the bank compares cheques with a list before it pays them, it must have the list before a "
            "cheque is handed over. cheque.toml does not say how this bank wants it: `cheque notice example` "
            "shows the way; then `cheque notice issued {batch}` makes it. `cheque report issued --batch "
            "{batch} --format csv` lists numbers, dates, payees and amounts.",
            batch=payday.batch,
        )
    )
    done = payday.talk.one_of(
        tr("Was the bank told, or is that for later? Type told or later."),
        ("told", "later"),
        tr(
            "In what form the bank takes its list, the bank says. Send it the way you agreed on, and check "
            "that it arrived."
        ),
    )
    if done == "later":
        payday.talk.say(tr("Tell it before a cheque is handed over."))


def _notice(payday: Payday) -> None:
    """Make the bank's notice of the batch, and enter it as sent when it was."""
    talk, batch = payday.talk, payday.get()
    waiting = sum(1 for _ in notices.to_tell(payday.book, [batch.id]))
    what = talk.one_of(
        tr(
            "The bank has not been told of {cheques}. Make its notice now, or later? Type notice or later.",
            cheques=counted(waiting, "cheque"),
        ),
        ("notice", "later"),
        tr(
            "The notice is a file in the form that cheque.toml says this bank takes. A cheque handed over "
            "before the bank has it may be refused, or a false one paid."
        ),
    )
    if what == "later":
        talk.say(tr("Make it before a cheque is handed over: cheque notice issued {id}", id=batch.id))
        return
    way = notify.way_of(payday.settings, [batch.account], "issued")
    made = notify.issued(payday.book, payday.settings, [batch.id], way)
    totals = ", ".join(f"{plain(int(total), str(currency))} {currency}" for currency, total in made.telling.totals)
    talk.say(
        tr(
            "Notice {notice}: {cheques}, {totals}, in {name}.",
            notice=made.notice,
            cheques=counted(made.telling.items, "cheque"),
            totals=totals,
            name=made.path.name,
        )
    )
    for note in made.cuts[:SHOWN]:
        talk.say(f"  {note}.")
    if len(made.cuts) > SHOWN:
        talk.say(tr("  ... and {count} more cut as the layout says.", count=len(made.cuts) - SHOWN))
    if made.otherwise:
        talk.say(
            tr(
                "The bank was told of {otherwise} before with another payment: ask it how it wants that put right.",
                otherwise=", ".join(made.otherwise),
            )
        )
    talk.say(tr("Only you can read it. Send it in the bank's own way, and delete it then."))
    _sent(payday, made.notice)


def _sent(payday: Payday, notice: int) -> None:
    """Enter a notice as sent, when it was."""
    by = payday.talk.ask(
        tr("When notice {notice} is sent, type by whom or how; or press Enter to send it later.", notice=notice),
        lambda text: words(text) if text else "",
        tr(
            "A name, or the way: for the record. It counts as told only when it is sent. `cheque notice "
            "sent` enters it later."
        ),
    )
    if by:
        notices.settle(payday.book, notice, "sent", by=by, on=date.today().isoformat())
        payday.talk.say(tr("Notice {notice} is entered as sent.", notice=notice))
    else:
        payday.talk.say(
            tr("Send it before a cheque is handed over; then: cheque notice sent {notice} --by NAME", notice=notice)
        )


def sign(payday: Payday) -> None:
    """Have the cheques signed, and say who has them."""
    talk, batch = payday.talk, payday.get()
    asked_for = {one.number for one in asked.waiting(payday.book) if one.account == batch.account}
    apart = [number for number in to_sign(payday.book, batch.id) if number in asked_for]
    waiting = [number for number in to_sign(payday.book, batch.id) if number not in asked_for]
    if apart:
        named = [preprinted(payday.book, batch.account, number) for number in apart]
        talk.say(tr("Keep apart, a second person is to void it: {named}.", named=", ".join(named)))
    if not waiting:
        payday.done(signed=True)
        return
    over = payday.settings.account(batch.account).two_signatures_over
    talk.say(
        tr(
            "{cheques} to be signed. Whoever signs them had better not be the one who printed them: one "
            "person doing everything invites fraud. Signed blank forms are never kept.",
            cheques=counted(len(waiting), "cheque"),
        )
    )
    if over is not None:
        twice = _over(payday, over)
        talk.say(
            tr(
                "{cheques} over {amount}: two signatures each.",
                cheques=counted(len(twice), "cheque"),
                amount=plain(over, batch.currency),
            )
        )
    place = talk.one_of(
        tr("Where are they now: held (signed, kept under lock), handed (all handed over), mailed, or later?"),
        ("held", "handed", "mailed", "later"),
        tr(
            "held: signed and locked away until they are fetched. later: they are still to be signed, and "
            "the payday ends here; `cheque custody` enters it."
        ),
    )
    if place != "later":
        to = talk.ask(tr("Who has them, or took them? Type a name."), words, tr("A person's name, for the record."))
        where = "handed over" if place == "handed" else place
        for first, last in ranges_of(waiting):
            cheques.move(payday.book, account=batch.account, first=first, last=last, place=where, to=to)
        talk.say(f"{counted(len(waiting), 'cheque')}: {where} ({to}).")
    payday.done(signed=True)


def _over(payday: Payday, limit: int) -> list[int]:
    """The numbers of the batch's cheques over an amount."""
    return [
        row[0]
        for row in payday.book.rows(
            "SELECT n.number FROM number n JOIN claim c ON c.batch = n.batch AND c.item = n.item WHERE n.batch = ? "
            "AND n.state = 'printed' AND n.custody = 'to be signed' AND c.amount > ? ORDER BY n.number",
            payday.batch,
            limit,
        )
    ]
