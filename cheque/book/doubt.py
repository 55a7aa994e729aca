"""Forms in doubt after a stop: what a person sees on the paper, held against what the book knows, and entered.

A person can see three things: the last good form, the lowest number not yet printed (which is at the head now),
and what became of the forms between. From these every form of the run is accounted for. An answer that
contradicts the book is refused with what the book knows; nothing is guessed.
"""

from typing import NamedTuple

from cheque import tongue
from cheque.book import runs, stock
from cheque.book.book import Book, Reader
from cheque.book.runs import Form, Run, Seen
from cheque.book.state import State
from cheque.errors import BookRefused, UsageRefused
from cheque.tongue import mark, tr


class InDoubt(NamedTuple):
    """A run that nobody answered for: the forms it still holds, and the box they come from."""

    run: Run
    held: list[Form]
    box: stock.Range

    @property
    def sent(self) -> list[int]:
        """Numbers that may have been printed."""
        return [form.number for form in self.held if form.state is State.SENT]

    def in_words(self) -> str:
        """What the book knows of it."""
        text = self.box.text
        if not self.held:
            return tr("it holds no form")
        if not self.sent:
            return tr(
                "nothing of {number} to {number2} was sent",
                number=text(self.held[0].number),
                number2=text(self.held[-1].number),
            )
        upto = (
            tr("{sent} to {sent2} were sent", sent=text(self.sent[0]), sent2=text(self.sent[-1]))
            if len(self.sent) > 1
            else (tr("{sent} was sent", sent=text(self.sent[0])))
        )
        return tr("{upto}, and nothing after", upto=upto)


class Told(NamedTuple):
    """What a person saw. `good_to`: the last good number, or the one before the run's first when none is."""

    good_to: int
    head: int
    between: str
    spoiled: dict[int, str]
    missing: dict[int, str]


#: what to do when the number keyed in at the start was not the one at the head
_BEGAN_ELSEWHERE = mark(
    "If a wrong number was keyed in at the start, the run's own forms are all still blank: say none, and the run's "
    "first number as the one at the head; stop at the next question with Ctrl-C; then enter the forms that were truly "
    "struck with `cheque spoil`, deface them, and print from the number at the head."
)


def in_doubt(reader: Reader, run: Run) -> InDoubt:
    """What a run still holds."""
    return InDoubt(run, runs.forms(reader, run.id), stock.range_of(reader, run.account, run.first))


def last_good(doubt: InDoubt, text: str) -> int:
    """The last good number as told ("none", or as preprinted). BookRefused when the book knows better."""
    none = doubt.held[0].number - 1
    if text.strip().lower() == "none":
        return none
    number = _number(text, tr("the number preprinted on the last good form, or none"))
    if not doubt.sent or number > doubt.sent[-1]:
        raise BookRefused(
            tr(
                "number {text} cannot be good: {in_words}. Look at it again; if it truly bears a cheque, a form "
                "was skipped and the numbers are off: find the first form whose two numbers differ.",
                text=text,
                in_words=doubt.in_words(),
            )
        )
    if number <= none:
        raise BookRefused(
            tr(
                "this run began at {number}, so {text} is not of it: say none if no form of it is good. "
                "{began_elsewhere}",
                number=doubt.box.text(doubt.held[0].number),
                text=text,
                began_elsewhere=tr(_BEGAN_ELSEWHERE),
            )
        )
    return number


def head(reader: Reader, doubt: InDoubt, good_to: int, text: str) -> int:
    """The number now at the head as told, not yet printed. BookRefused when the book knows better."""
    box, number = doubt.box, _number(text, tr("the number preprinted on the form now at the head"))
    first = doubt.held[0].number
    if number < first:
        raise BookRefused(
            tr(
                "this run began at {first}, and {text} comes before it. {began_elsewhere}",
                first=box.text(first),
                text=text,
                began_elsewhere=tr(_BEGAN_ELSEWHERE),
            )
        )
    if number <= good_to:
        raise BookRefused(
            tr(
                "{good_to} is good, so the form at the head comes after it: {text} does not.",
                good_to=box.text(good_to),
                text=text,
            )
        )
    if number > box.last + 1:
        raise BookRefused(
            tr(
                "the box ends at {last}: {text} is not of it. If another box is loaded, say first with `cheque "
                "confirm {batch}` what became of this run's forms, then resume there.",
                last=box.text(box.last),
                text=text,
                batch=doubt.run.batch,
            )
        )
    end = doubt.held[-1].number
    if number > end + 1:
        free = stock.on_hand(reader, box, end + 1, number - 1)
        if free != [[end + 1, number - 1]]:
            raise BookRefused(
                tr(
                    "between {end}, the last of the run, and {text} are numbers that the book has accounted for "
                    "already: look at the number at the head again.",
                    end=box.text(end),
                    text=text,
                )
            )
    return number


#: what is done with a good cheque whose stub goes on on a form that is not good
KEEP, AGAIN = "keep", "again"


class Incomplete(UsageRefused):
    """A good cheque whose stub goes on on a form that is not good, and nobody has said what is done with it."""

    def __init__(self, pays: str, lacking: str) -> None:
        self.question = tr(
            "{pays} is good, but {lacking}, where its stub goes on, is not. Hand it out, with its detail on "
            "plain paper (keep), or spoil it and print the payment again with all its forms (again)",
            pays=pays,
            lacking=lacking,
        )
        super().__init__(
            tr(
                "{question}? Say with --incomplete {keep} or --incomplete {again}. It is still here, so nobody "
                "has been paid by it.",
                question=self.question,
                keep=KEEP,
                again=AGAIN,
            )
        )


def whole(doubt: InDoubt, seen: Seen, incomplete: str = "") -> Seen:
    """What was seen, with no payment torn apart: a stub that goes on is worth nothing without its cheque.

    Where the cheque is not good, the forms on which its stub goes on are spoiled with it. Where one of these is not
    good and the cheque is, `incomplete` says whether the cheque is kept all the same or everything is printed again;
    Incomplete when it is "".
    """
    if incomplete not in ("", KEEP, AGAIN):
        raise UsageRefused(
            tr(
                "found --incomplete {incomplete!r}; wanted {keep} or {again}.",
                incomplete=incomplete,
                keep=KEEP,
                again=AGAIN,
            )
        )
    text, good, spoiled = doubt.box.text, set(seen.good), dict(seen.spoiled)
    pays = {form.item: form.number for form in doubt.held if not form.goes_on}
    further: dict[int, list[int]] = {}
    for form in doubt.held:
        if form.goes_on:
            further.setdefault(form.item, []).append(form.number)
    for item, numbers in further.items():
        first = pays.get(item, 0)
        lacking = [number for number in numbers if number not in good]
        if first in good and not lacking:
            continue
        why = tr("the stub of {first}, which is not good", first=text(first))
        if first in good:
            if not incomplete:
                raise Incomplete(text(first), tr(" and ").join(map(text, lacking)))
            if incomplete == KEEP:
                continue
            why = tr("not good without {list}, so printed again", list=tr(" and ").join(map(text, lacking)))
        for number in {first, *numbers} & good:
            good.remove(number)
            spoiled[number] = why
    return Seen(tuple(sorted(good)), spoiled, seen.missing, seen.blank)


def settle(book: Book, doubt: InDoubt, told: Told, incomplete: str = "") -> Seen:
    """Account for every form of a run from what was seen, and close it. Gives what was entered.

    `incomplete` as for `whole`.

    Up to the last good form all are good but those told otherwise; between it and the head all are spoiled with
    the reason told, or missing; from the head on all are blank, and on hand again.
    """
    good: list[int] = []
    spoiled, missing = dict(told.spoiled), dict(told.missing)
    blank: list[int] = []
    for form in doubt.held:
        if form.number in spoiled or form.number in missing:
            if form.number >= told.head:
                raise BookRefused(
                    tr(
                        "number {number} is blank, being at the head or after: it cannot be spoiled.",
                        number=doubt.box.text(form.number),
                    )
                )
        elif form.number <= told.good_to:
            good.append(form.number)
        elif form.number < told.head:
            spoiled[form.number] = _between(told, doubt)
        else:
            blank.append(form.number)
    held = {form.number for form in doubt.held}
    beyond = [number for number in range(doubt.held[-1].number + 1, told.head) if number not in held]
    strays = [number for number in (*spoiled, *missing) if number not in held and number not in beyond]
    if strays:
        raise BookRefused(
            tr(
                "number {strays} is not in doubt in this run, so nothing can be said of it here.",
                strays=doubt.box.text(strays[0]),
            )
        )
    extra = {number: spoiled.pop(number, "") or missing.get(number, "") or told.between for number in beyond}
    lost = [number for number in beyond if missing.pop(number, None)]
    seen = whole(doubt, Seen(tuple(good), spoiled, missing, tuple(blank)), incomplete)
    if extra and not all(extra.values()):
        _between(told, doubt)
    with book.change():  # all of what was told, or nothing
        runs.seen(book, doubt.run.id, seen, how="resume")
        for number, reason in extra.items():
            mark = stock.missing if number in lost else stock.spoil
            mark(book, account=doubt.run.account, first=number, last=number, reason=reason)
    return seen


def counted(
    doubt: InDoubt,
    count: int,
    spoiled: dict[int, str],
    missing: dict[int, str],
    blank: set[int],
    incomplete: str = "",
) -> Seen:
    """What a count of the good forms says, with the bad ones told of by number; the rest of the sent ones are good.

    `incomplete` as for `whole`: where a stub goes on, more forms than those told of may turn out not to be good.
    UsageRefused unless the count is how many that leaves: a form that nobody told of is counted or is bad.
    """
    sent = set(doubt.sent)
    good = sent - set(spoiled) - set(missing) - blank
    if count != len(good):
        told = len(sent) - len(good)
        raise UsageRefused(
            tr(
                "{forms} went to the printer and {told} of them are told to be bad, so {good} ought "
                "to be good; found a count of {found}. Count again, and name every form that is not good with "
                "--spoiled, --missing or --blank.",
                forms=tongue.counted(len(sent), "form"),
                told=told,
                good=len(good),
                found=count,
            )
        )
    never_sent = {form.number for form in doubt.held if form.state is not State.SENT} - set(spoiled) - set(missing)
    return whole(doubt, Seen(tuple(sorted(good)), spoiled, missing, tuple(sorted(blank | never_sent))), incomplete)


def _between(told: Told, doubt: InDoubt) -> str:
    if not told.between.strip():
        first, last = doubt.box.text(told.good_to + 1), doubt.box.text(told.head - 1)
        raise UsageRefused(
            tr(
                "what became of the forms between, {first} to {last}? Give it with --between (torn, fed by hand).",
                first=first,
                last=last,
            )
        )
    return told.between.strip()


def _number(text: str, wanted: str) -> int:
    text = text.strip()
    if not (text.isascii() and text.isdigit() and len(text) <= 18):
        raise UsageRefused(tr("found {text!r}; wanted {wanted}.", text=text, wanted=wanted))
    return int(text)
