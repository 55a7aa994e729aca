"""Onto paper: which printer, which stock, how long; paper loaded, the number at the head, and the run watched."""

from collections.abc import Callable
from pathlib import Path

from cheque import device, estimate, run
from cheque.alignment import written
from cheque.attendant import CAUTION, Attendant
from cheque.book import batches, runs, stock
from cheque.book.batches import Batch
from cheque.book.stock import Range
from cheque.errors import InputRefused, Refusal, RunStopped
from cheque.guide.approve import approval
from cheque.guide.payday import Payday
from cheque.guide.talk import Left, Talk, digits, words
from cheque.run import NO_SHIFT, Setting
from cheque.sending import Begun, Leg, at_head, send_leg, skipped
from cheque.settings import PrinterSettings
from cheque.station import account_of, form_of, setting_of
from cheque.tongue import counted, tr


def printing(payday: Payday) -> None:
    """Print what waits of the batch, as far as one box goes."""
    approval(payday)
    batch = payday.get()
    printer = _printer(payday, batch)
    setting = setting_of(payday.settings, payday.book, batch, printer.name)
    if not _stock_and_time(payday, batch, printer, setting):
        return
    payday.talk.say(tr(CAUTION))
    if not payday.talk.yes(
        tr("Is the paper loaded, its first form at the head?"),
        tr(
            "Load the numbered forms, the first one lined up at the head as always. If you do not know how "
            "this form lies on this printer, leave with q and line it up first: `cheque align`."
        ),
    ):
        payday.talk.say(tr("Load it, then answer yes; q leaves."))
        return
    leg = _from(payday, batch)
    if leg is None:
        return
    payday.first_seen = ""
    person = Witness(payday.talk)
    attendant = Attendant(person, "ask")
    try:
        with run.holding(payday.book.place, printer.name):
            sent = send_leg(
                payday.book, batch, printer, setting, leg, beside=(), begun=lambda begun: _begun(payday, begun),
                watching=attendant.watching,
            )  # fmt: skip
    except RunStopped as stopped:
        payday.talk.fresh()
        payday.first_seen = person.seen
        if person.left is not None:
            raise person.left from None
        if not runs.unfinished(payday.book, batch=batch.id):
            raise
        payday.talk.say(str(stopped).partition(". Look at")[0] + ".")
        return
    payday.talk.fresh()
    for remark in sent.remarks:
        payday.talk.say(tr("  note: {remark}", remark=remark))
    payday.talk.say(
        tr(
            "{forms} sent in {in_words}. None counts as printed until somebody has looked.",
            forms=counted(len(sent.planned), "form"),
            in_words=estimate.in_words(int(attendant.seconds * 1000)),
        )
    )


def _printer(payday: Payday, batch: Batch) -> PrinterSettings:
    """The printer: asked for only when several can print the form."""
    form, account = form_of(payday.book, batch), account_of(payday.settings, batch)
    good, reasons = [], []
    for printer in payday.settings.printers.values():
        why = run.unable(run.setting(form, account, printer), printer.parts)
        reasons += [f"{printer.name}: {'; '.join(why)}"] if why else []
        good += [] if why else [printer]
    if not good:
        told = " | ".join(reasons) or tr("there is none in the settings")
        raise InputRefused(tr("no printer can print {name}: {told}.", name=form.name, told=told))
    if len(good) == 1:
        return good[0]
    names = [printer.name for printer in good]
    return payday.settings.printer(
        payday.talk.one_of(
            tr("On which printer: {names}?", names=", ".join(names)),
            names,
            tr("These printers of cheque.toml can print this form."),
        )
    )


def _stock_and_time(payday: Payday, batch: Batch, printer: PrinterSettings, setting: Setting) -> bool:
    """Say which printer, which stock and how long it takes. False when there is no stock."""
    left = batches.waiting(payday.book, batch.id)
    talk = payday.talk
    talk.say(tr("Printer: {name}, at {near}.", name=printer.name, near=_near(printer.address)))
    talk.say(
        tr("The print of {form} is {written} on it.", form=batch.form, written=written(setting.shift))
        + (tr(" If it was never lined up there, do that first: cheque align.") if setting.shift == NO_SHIFT else "")
    )
    boxes = []
    for box in stock.ranges(payday.book, batch.account):
        free = stock.on_hand(payday.book, box, box.first, box.last) if box.form == batch.form else []
        if free:
            boxes.append((box, free))
    if not boxes:
        talk.say(
            tr(
                "There is no {form} form on hand for account {account}. Enter the new box, from another "
                "terminal: cheque stock receive {form} --account {account} --first NUMBER --last NUMBER",
                form=batch.form,
                account=batch.account,
            )
        )
        talk.ask(
            tr("Press Enter when that is done, or type q to leave."),
            lambda text: None,
            tr("The numbers are those on the box. Until it is entered, nothing can be printed on its forms."),
        )
        return False
    for box, free in boxes:
        talk.say(
            tr(
                "Stock: {form}, a box of {first} to {last}, {forms} on hand.",
                form=batch.form,
                first=box.text(box.first),
                last=box.text(box.last),
                forms=counted(sum((last - first + 1 for first, last in free)), "form"),
            )
        )
    first = boxes[0][1][0][0]
    planned = runs.to_print(payday.book, batch.id, first)  # a stub that goes on takes further forms
    expected = run.look_ahead(payday.book, batch.id, planned, setting, printer.speed)
    payments = "" if len(planned) == len(left) else tr(" for {payments}", payments=counted(len(left), "payment"))
    talk.say(
        tr(
            "To print: {forms}{payments}, about {in_words} on paper. Somebody stays with it.",
            forms=counted(len(planned), "form"),
            payments=payments,
            in_words=estimate.in_words(expected),
        )
    )
    return True


def _near(address: str) -> str:
    """An address, a file's within this folder by its short path."""
    kind, _, path = address.partition(":")
    return (
        f"{kind}:{Path(path).relative_to(Path.cwd())}"
        if kind == "file" and Path.cwd() in Path(path).parents
        else address
    )


def _from(payday: Payday, batch: Batch) -> Leg | None:
    """Where the printing begins, as the paper has it; None when the person thinks better of it."""
    talk, book = payday.talk, payday.book

    def convert(text: str) -> Range:
        try:
            return at_head(book, batch.account, digits(text))._replace(first=int(text))
        except Refusal as refusal:
            raise ValueError(refusal.message) from None

    box = talk.ask(
        tr("Which number is preprinted on the form at the head?"),
        convert,
        tr(
            "Read it off the paper: the number that the form came with, leading zeros and all. Do not take "
            "it from the book or from the last form."
        ),
    )
    first = box.first
    whole = stock.range_of(book, batch.account, first)
    left = len(runs.to_print(book, batch.id, first))
    room = whole.last - first + 1
    count = 0
    if left > room:
        talk.say(
            tr(
                "The box ends at {last}: {forms}, and {left} are needed. The rest follows from the next box.",
                last=whole.text(whole.last),
                forms=counted(room, "form"),
                left=left,
            )
        )
        if not talk.yes(
            tr("Print {forms} now?", forms=counted(room, "form")),
            tr("Every one of these is looked at; then the next box is loaded, and the rest is printed on it."),
        ):
            return None
        count = room
    runs.plan(book, batch.id, first, count)
    if skipped(book, whole, first) and not _gap(payday, whole, first):
        return None
    return Leg(first, count)


def _gap(payday: Payday, box: Range, first: int) -> bool:
    """The form before the one at the head is in the box, as far as the book knows: what is true? False: look again."""
    talk, book = payday.talk, payday.book
    low = next(free for free in stock.on_hand(book, box, box.first, first - 1) if free[1] == first - 1)[0]
    gap = box.text(low) if low == first - 1 else tr("{low} to {first}", low=box.text(low), first=box.text(first - 1))
    what = talk.one_of(
        tr(
            "As far as the book knows, {gap} is still in the box, unused. What is true: kept (still there), "
            "spoiled, missing, or wrong (the number at the head was read wrongly)?",
            gap=gap,
        ),
        ("kept", "spoiled", "missing", "wrong"),
        tr(
            "Every number is accounted for. kept: the forms lie in the box and will be used later. spoiled: "
            "torn, used to line up, led in. missing: nobody knows where they are. wrong: read the number "
            "again."
        ),
    )
    if what in ("spoiled", "missing"):
        reason = talk.ask(
            tr("How did that come about?"), words, tr("In a few words, for the record: led in, torn off.")
        )
        mark = stock.spoil if what == "spoiled" else stock.missing
        which = _which_of_gap(talk, box, low, first - 1) if low != first - 1 else low
        mark(book, account=box.account, first=which, last=first - 1, reason=reason)
        talk.say(tr("Entered as {what}.", what=what))
        if what == "missing":
            talk.say(tr("Tell the bank: a blank cheque can be filled in by anyone."))
    return what != "wrong"


def _which_of_gap(talk: Talk, box: Range, low: int, last: int) -> int:
    """From which form on the gap is gone: those before it stay in the box."""

    def convert(text: str) -> int:
        number = int(digits(text))
        if not low <= number <= last:
            raise ValueError(tr("Type a number from {low} to {last}.", low=box.text(low), last=box.text(last)))
        return number

    return talk.ask(
        tr("From which number on, up to {last}?", last=box.text(last)),
        convert,
        tr("The lowest number of those that are gone; the ones before it stay in the box."),
    )


def _begun(payday: Payday, begun: Begun) -> None:
    talk, printer = payday.talk, begun.printer
    alone = tr(" The first form is printed alone.") if len(begun.planned) > 1 else ""
    talk.say(
        tr(
            "Run {run}: {forms}, {numbers}, about {in_words}.{alone} Ctrl-C stops.",
            run=begun.run,
            forms=counted(len(begun.planned), "form"),
            numbers=begun.numbers,
            in_words=estimate.in_words(begun.expected),
            alone=alone,
        )
    )
    talk.say(device.kind_of(printer.address).tells())
    if printer.address.startswith("file:"):
        talk.say(tr("Whoever has the file can print it again: keep it private, and delete it when it is done with."))
        for note in begun.warnings[:1]:
            talk.say(tr("  warning: {note}", note=note))


class Witness:
    """The person beside a run of the guided payday. `seen`: the number they read off the first form."""

    leaving: type[BaseException] = Left

    def __init__(self, talk: Talk) -> None:
        self._talk = talk
        self.seen = ""
        self.left: Left | None = None

    def tell(self, text: str) -> None:
        """Say it, on a line of its own."""
        self._talk.fresh()
        self._talk.say(text.lstrip("\n"))

    def far(self, text: str, *, ended: bool, first: bool) -> None:
        """Say how far it is."""
        self._talk.far(text, ended=ended, first=first)

    def good(self, number: str) -> bool:
        """Have the first form looked at: its own number keyed in, then the rest."""
        return self._noting(lambda: self._good(number))

    def _noting(self, answer: Callable[[], bool]) -> bool:
        """Note it when they leave at a question: the run stops first, and then the payday is left."""
        self._talk.fresh()
        try:
            return answer()
        except Left as left:
            self.left = left
            raise

    def _good(self, number: str) -> bool:
        self.seen = self._talk.ask(
            tr("Wait for the first form. Which number is preprinted on the form that was just printed?"),
            digits,
            tr(
                "The number it came with, beside which {number} was just printed. If the two differ, a wrong "
                "number was keyed in, and the run stops here.",
                number=number,
            ),
        )
        if self.seen != number:
            self._talk.say(
                tr(
                    "The run printed {number} on form {seen}: it stops here, and that is put right.",
                    number=number,
                    seen=self.seen,
                )
            )
            return False
        return self._talk.yes(
            tr("Is it right: everything in its place, payee and amount as on the proof, the last part readable?"),
            tr(
                "Look at every part, the last one too. If the print stands beside its fields, answer no: the "
                "form is entered as spoiled, and `cheque align` moves the print."
            ),
        )

    def put_right(self, what: str) -> bool:
        """A printer that takes nothing: wait for somebody to put it right."""
        return self._noting(lambda: self._put_right(what))

    def _put_right(self, what: str) -> bool:
        self._talk.say(f"{what}.")
        return (
            self._talk.one_of(
                tr("The printer takes nothing (paper out, cover open, off line?). Put it right and type go, or stop."),
                ("go", "stop"),
                tr("go waits for the printer again; nothing is printed twice by it. stop ends the run here."),
            )
            == "go"
        )
