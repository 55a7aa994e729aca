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
from cheque.guide.talk import Left, Talk, counted, digits, words
from cheque.run import NO_SHIFT, Setting
from cheque.sending import Begun, Leg, at_head, send_leg, skipped
from cheque.settings import PrinterSettings
from cheque.station import account_of, form_of, setting_of


def printing(payday: Payday) -> None:
    """Print what waits of the batch, as far as one box goes."""
    approval(payday)
    batch = payday.get()
    printer = _printer(payday, batch)
    setting = setting_of(payday.settings, payday.book, batch, printer.name)
    if not _stock_and_time(payday, batch, printer, setting):
        return
    payday.talk.say(CAUTION)
    if not payday.talk.yes(
        "Is the paper loaded, its first form at the head?",
        "Load the numbered forms, the first one lined up at the head as always. If you do not know how this form "
        "lies on this printer, leave with q and line it up first: `cheque align`.",
    ):
        payday.talk.say("Load it, then answer yes; q leaves.")
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
        payday.talk.say(f"  note: {remark}")
    payday.talk.say(
        f"{counted(len(sent.planned), 'form')} sent in {estimate.in_words(int(attendant.seconds * 1000))}. None "
        "counts as printed until somebody has looked."
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
        told = " | ".join(reasons) or "there is none in the settings"
        raise InputRefused(f"no printer can print {form.name}: {told}.")
    if len(good) == 1:
        return good[0]
    names = [printer.name for printer in good]
    return payday.settings.printer(
        payday.talk.one_of(
            f"On which printer: {', '.join(names)}?", names, "These printers of cheque.toml can print this form."
        )
    )


def _stock_and_time(payday: Payday, batch: Batch, printer: PrinterSettings, setting: Setting) -> bool:
    """Say which printer, which stock and how long it takes. False when there is no stock."""
    left = batches.waiting(payday.book, batch.id)
    talk = payday.talk
    talk.say(f"Printer: {printer.name}, at {_near(printer.address)}.")
    talk.say(
        f"The print of {batch.form} is {written(setting.shift)} on it."
        + (" If it was never lined up there, do that first: cheque align." if setting.shift == NO_SHIFT else "")
    )
    boxes = []
    for box in stock.ranges(payday.book, batch.account):
        free = stock.on_hand(payday.book, box, box.first, box.last) if box.form == batch.form else []
        if free:
            boxes.append((box, free))
    if not boxes:
        talk.say(
            f"There is no {batch.form} form on hand for account {batch.account}. Enter the new box, from another "
            f"terminal: cheque stock receive {batch.form} --account {batch.account} --first NUMBER --last NUMBER"
        )
        talk.ask(
            "Press Enter when that is done, or type q to leave.",
            lambda text: None,
            "The numbers are those on the box. Until it is entered, nothing can be printed on its forms.",
        )
        return False
    for box, free in boxes:
        talk.say(
            f"Stock: {batch.form}, a box of {box.text(box.first)} to {box.text(box.last)}, "
            f"{counted(sum(last - first + 1 for first, last in free), 'form')} on hand."
        )
    first = boxes[0][1][0][0]
    planned = runs.to_print(payday.book, batch.id, first)  # a stub that goes on takes further forms
    expected = run.look_ahead(payday.book, batch.id, planned, setting, printer.speed)
    payments = "" if len(planned) == len(left) else f" for {counted(len(left), 'payment')}"
    talk.say(
        f"To print: {counted(len(planned), 'form')}{payments}, about {estimate.in_words(expected)} on paper. Somebody "
        "stays with it."
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
        "Which number is preprinted on the form at the head?",
        convert,
        "Read it off the paper: the number that the form came with, leading zeros and all. Do not take it from the "
        "book or from the last form.",
    )
    first = box.first
    whole = stock.range_of(book, batch.account, first)
    left = len(runs.to_print(book, batch.id, first))
    room = whole.last - first + 1
    count = 0
    if left > room:
        talk.say(
            f"The box ends at {whole.text(whole.last)}: {counted(room, 'form')}, and {left} are needed. "
            "The rest follows from the next box."
        )
        if not talk.yes(
            f"Print {counted(room, 'form')} now?",
            "Every one of these is looked at; then the next box is loaded, and the rest is printed on it.",
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
    gap = box.text(low) if low == first - 1 else f"{box.text(low)} to {box.text(first - 1)}"
    what = talk.one_of(
        f"As far as the book knows, {gap} is still in the box, unused. What is true: kept (still there), spoiled, "
        "missing, or wrong (the number at the head was read wrongly)?",
        ("kept", "spoiled", "missing", "wrong"),
        "Every number is accounted for. kept: the forms lie in the box and will be used later. spoiled: torn, used to "
        "line up, led in. missing: nobody knows where they are. wrong: read the number again.",
    )
    if what in ("spoiled", "missing"):
        reason = talk.ask("How did that come about?", words, "In a few words, for the record: led in, torn off.")
        mark = stock.spoil if what == "spoiled" else stock.missing
        which = _which_of_gap(talk, box, low, first - 1) if low != first - 1 else low
        mark(book, account=box.account, first=which, last=first - 1, reason=reason)
        talk.say(f"Entered as {what}.")
        if what == "missing":
            talk.say("Tell the bank: a blank cheque can be filled in by anyone.")
    return what != "wrong"


def _which_of_gap(talk: Talk, box: Range, low: int, last: int) -> int:
    """From which form on the gap is gone: those before it stay in the box."""

    def convert(text: str) -> int:
        number = int(digits(text))
        if not low <= number <= last:
            raise ValueError(f"Type a number from {box.text(low)} to {box.text(last)}.")
        return number

    return talk.ask(
        f"From which number on, up to {box.text(last)}?",
        convert,
        "The lowest number of those that are gone; the ones before it stay in the box.",
    )


def _begun(payday: Payday, begun: Begun) -> None:
    talk, printer = payday.talk, begun.printer
    alone = " The first form is printed alone." if len(begun.planned) > 1 else ""
    talk.say(
        f"Run {begun.run}: {counted(len(begun.planned), 'form')}, {begun.numbers}, about "
        f"{estimate.in_words(begun.expected)}.{alone} Ctrl-C stops."
    )
    talk.say(device.kind_of(printer.address).tells())
    if printer.address.startswith("file:"):
        talk.say("Whoever has the file can print it again: keep it private, and delete it when it is done with.")
        for note in begun.warnings[:1]:
            talk.say(f"  warning: {note}")


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
            "Wait for the first form. Which number is preprinted on the form that was just printed?",
            digits,
            f"The number it came with, beside which {number} was just printed. If the two differ, a wrong number was "
            "keyed in, and the run stops here.",
        )
        if self.seen != number:
            self._talk.say(f"The run printed {number} on form {self.seen}: it stops here, and that is put right.")
            return False
        return self._talk.yes(
            "Is it right: everything in its place, payee and amount as on the proof, the last part readable?",
            "Look at every part, the last one too. If the print stands beside its fields, answer no: the form is "
            "entered as spoiled, and `cheque align` moves the print.",
        )

    def put_right(self, what: str) -> bool:
        """A printer that takes nothing: wait for somebody to put it right."""
        return self._noting(lambda: self._put_right(what))

    def _put_right(self, what: str) -> bool:
        self._talk.say(f"{what}.")
        return (
            self._talk.one_of(
                "The printer takes nothing (paper out, cover open, off line?). Put it right and type go, or stop.",
                ("go", "stop"),
                "go waits for the printer again; nothing is printed twice by it. stop ends the run here.",
            )
            == "go"
        )
