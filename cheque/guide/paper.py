"""What is on the paper: after a run that stopped, and after one that came to its end."""

from collections.abc import Callable

from cheque import run as runner
from cheque.book import doubt, offset, runs
from cheque.book.doubt import InDoubt, Told
from cheque.book.runs import Run, Seen
from cheque.book.state import State
from cheque.errors import Refusal
from cheque.guide.payday import Payday
from cheque.guide.talk import digits, whole, words
from cheque.tongue import counted, mark, tr

WRONG_NUMBER = "struck with another number: a wrong one was keyed in"
_NEVER = {
    "blank": mark("a form among printed ones that is unprinted was skipped, or say that it is spoiled."),
    "missing": mark("where forms are off, look for it first; if you have it, say what is wrong with it."),
}


def doubt_step(payday: Payday) -> None:
    """A run stopped: what is on the paper is asked, and every form accounted for."""
    talk = payday.talk
    one = next(run for run in runs.unfinished(payday.book, batch=payday.batch) if run.state != "finished")
    with runner.holding(payday.book.place, one.printer):  # a run that is still at work holds it
        found = doubt.in_doubt(payday.book, one)
        talk.say(tr("Run {id} on {printer}: {in_words}.", id=one.id, printer=one.printer, in_words=found.in_words()))
        if one.cause:
            talk.say(tr("Why it stopped: {cause}.", cause=one.cause))
        if not found.sent:
            _nothing_sent(payday, found)
            return
        if len(found.sent) == 1:
            _one(payday, found)
        else:
            _left_behind(payday, one)
            _several(payday, found)


def _nothing_sent(payday: Payday, found: InDoubt) -> None:
    """A run that stopped before anything went: nothing is in doubt, if the paper is as it was."""
    held = tuple(form.number for form in found.held)
    runs.seen(payday.book, found.run.id, Seen((), {}, {}, held), how="resume")
    payday.talk.say(tr("Nothing was sent, so all its forms are still blank."))


def _left_behind(payday: Payday, one: Run) -> None:
    """Bytes left in a printer, a bridge or a spooler are how people get paid twice."""
    payday.talk.say(
        tr(
            "Switch {printer} (and a bridge, if it has one) off and on, and cancel what a spooler still "
            "holds for it: bytes left in somebody's buffer print a cheque again.",
            printer=one.printer,
        )
    )
    while not payday.talk.yes(
        tr("Is that done?"), tr("Only when nothing is left in its memory can the rest be printed.")
    ):
        payday.talk.say(tr("Do it first; q leaves, and the payday waits."))


def _one(payday: Payday, found: InDoubt) -> None:
    """One form was sent: which form it is on, and whether it is good."""
    talk, text, number = payday.talk, found.box.text, found.sent[0]
    printed, payday.first_seen = payday.first_seen or _printed(payday, found), ""
    if printed and int(printed) != number:
        if talk.yes(
            tr(
                "Form {printed} bears the number {number} in print. Is form {printed} to be entered as spoiled, "
                "and {number} as still blank?",
                printed=printed,
                number=text(number),
            ),
            tr(
                "A wrong number was keyed in at the start. The form that was struck cannot be used. If the two "
                "numbers are the same after all, answer no."
            ),
        ):
            _left_behind(payday, found.run)
            offset.began_elsewhere(payday.book, found, int(printed), WRONG_NUMBER)
            talk.say(tr("Entered: {printed} spoiled. Write VOID across it and keep it for the count.", printed=printed))
        return
    _left_behind(payday, found.run)
    good = printed and talk.yes(
        tr("Is form {number} a good cheque?", number=text(number)),
        tr(
            "Everything in its place, payee and amount as on the proof, every part readable. If not, its "
            "payment is printed again on another form."
        ),
    )
    _enter(payday, found, number if good else number - 1, {})


def _printed(payday: Payday, found: InDoubt) -> str:
    """The number of the one form that may have been struck; "" when none was."""

    def convert(text: str) -> str:
        return "" if text.lower() == "none" else digits(text)

    return payday.talk.ask(
        tr("Which number is preprinted on the form that was printed? Type none if no form has any print on it."),
        convert,
        tr("One form was sent, for number {sent}. Look which form it came out on.", sent=found.box.text(found.sent[0])),
    )


def _several(payday: Payday, found: InDoubt) -> None:
    """Several forms were sent: the last good one by both its numbers, then the rest."""
    talk = payday.talk
    printed = talk.ask(
        tr("Which number is preprinted on the last good form? Type none if no form is good."),
        lambda answer: "" if answer.lower() == "none" else digits(answer),
        tr(
            "Go through the forms from the first on. The last good one is the last that is whole, in its "
            "place and readable on every part."
        ),
    )
    if not printed:
        _enter(payday, found, found.held[0].number - 1, {})
        return

    def struck(answer: str) -> int:
        try:
            return doubt.last_good(found, answer)
        except Refusal as refusal:
            raise ValueError(refusal.message) from None

    number = talk.ask(
        tr("And which number did the run print on form {printed}, beside the preprinted one?", printed=printed),
        struck,
        tr("The two should be the same. If they differ, a form was skipped, and the book is put right."),
    )
    if int(printed) == number:
        _enter(payday, found, number, _bad_before(payday, found, number))
    else:
        _off(payday, found, int(printed) - number, number)


def _bad_before(payday: Payday, found: InDoubt, last: int) -> dict[int, str]:
    """Bad forms before the last good one, with what is wrong."""
    before = [number for number in found.sent if number < last]
    if not before or payday.talk.yes(
        tr("Are all forms from {before} up to it good?", before=found.box.text(before[0])),
        tr("No: one in between is torn, smudged or missing. Each is asked for."),
    ):
        return {}
    return bad_ones(payday, found, before, never=("blank",))


def bad_ones(
    payday: Payday, found: InDoubt, among: list[int], count: int = 0, *, never: tuple[str, ...] = ()
) -> dict[int, str]:
    """Forms that are not good, one at a time, with what is wrong; `count` of them, or as many as are told of.

    `never`: what they cannot be here (missing, blank).
    """
    talk, text = payday.talk, found.box.text
    bad: dict[int, str] = {}

    def number(answer: str) -> int:
        if not answer and not count and bad:
            return 0
        which = int(digits(answer))
        if which not in among:
            raise ValueError(tr("It is none of {among} to {among2}.", among=text(among[0]), among2=text(among[-1])))
        if which in bad:
            raise ValueError(tr("That one was told of already."))
        return which

    def reason(answer: str) -> str:
        if answer.lower() in never:
            raise ValueError(
                tr(
                    "{capitalize} cannot be told of here: {never}",
                    capitalize=answer.capitalize(),
                    never=tr(_NEVER[answer.lower()]),
                )
            )
        return words(answer)

    while not count or len(bad) < count:
        of = tr("{count} of {count2}", count=len(bad) + 1, count2=count) if count else f"{len(bad) + 1}"
        end = tr(" Press Enter if there is no other.") if bad and not count else ""
        which = talk.ask(
            tr("Bad form {of}: which number did the run print on it?{end}", of=of, end=end),
            number,
            tr("One form at a time. If it is not there at all, the number that is lacking."),
        )
        if not which:
            break
        bad[which] = talk.ask(
            tr("What is wrong with {which}: missing, blank, or a reason such as torn?", which=text(which)),
            reason,
            tr(
                "missing: it is not there at all. blank: it came out unprinted. Anything else: it is entered as "
                "spoiled, and its payment is printed again."
            ),
        )
    return bad


def _split(bad: dict[int, str]) -> tuple[dict[int, str], dict[int, str], set[int]]:
    """Bad forms as spoiled, missing and blank ones."""
    blank = {number for number, why in bad.items() if why.lower() == "blank"}
    lost = {number: tr("missing after the run") for number, why in bad.items() if why.lower() == "missing"}
    return {number: why for number, why in bad.items() if number not in blank | lost.keys()}, lost, blank


def _enter(payday: Payday, found: InDoubt, good_to: int, bad: dict[int, str]) -> None:
    """Ask for the number at the head and what became of the forms between, and enter it all."""
    spoiled, missing, _ = _split(bad)
    head, between = _head(payday, found, good_to)
    told = Told(good_to, head, between, spoiled, missing)
    _tell(payday, _whole(payday, lambda incomplete: doubt.settle(payday.book, found, told, incomplete)))


def _whole(payday: Payday, enter: Callable[[str], Seen]) -> Seen:
    """What is entered; what is done with a good cheque whose stub goes on on a form that is not good is asked."""
    try:
        return enter("")
    except doubt.Incomplete as torn:
        what = payday.talk.one_of(
            f"{torn.question}?",
            (doubt.KEEP, doubt.AGAIN),
            tr(
                "keep: the cheque is good and goes out with a listing of all it is for (`cheque report "
                "listing`). again: it is entered as spoiled, you write VOID across it, and its payment is "
                "printed anew with all its forms."
            ),
        )
        return enter(what)


def _head(payday: Payday, found: InDoubt, good_to: int, by: int = 0) -> tuple[int, str]:
    """The number at the head, as the book has it (`by` less than preprinted), and what became of those between."""
    talk, text = payday.talk, found.box.text

    def head(answer: str) -> int:
        try:
            at = str(int(digits(answer)) - by)
            return doubt.head(payday.book, found, good_to, at)
        except Refusal as refusal:
            raise ValueError(refusal.message) from None

    at = talk.ask(
        tr("Load paper again. Which number is preprinted on the form now at the head, not yet printed?"),
        head,
        tr(
            "The lowest number that has no print on it. Forms between the last good one and this are "
            "spoiled, and you are asked why."
        ),
    )
    between = ""
    if at > good_to + 1:
        first, last = text(good_to + 1 + by), text(at - 1 + by)
        which = first if first == last else tr("{first} to {last}", first=first, last=last)
        between = talk.ask(
            tr("What became of {which} (torn, jammed, fed by hand)?", which=which),
            words,
            tr("They are entered as spoiled, for this reason. Write VOID across them and keep them for the count."),
        )
    return at, between


def _tell(payday: Payday, seen: Seen) -> None:
    parts = [tr("{count} good", count=len(seen.good))]
    parts += [tr("{count} spoiled", count=len(seen.spoiled))] if seen.spoiled else []
    parts += [tr("{count} missing", count=len(seen.missing))] if seen.missing else []
    parts += [tr("{count} still blank", count=len(seen.blank))] if seen.blank else []
    payday.talk.say(tr("Entered: {parts}.", parts=", ".join(parts)))
    if seen.spoiled:
        payday.talk.say(tr("Write VOID across the spoiled ones and keep them for the count."))
    if seen.missing:
        payday.talk.say(tr("A missing form may bear a good cheque: its payment is held back."))


def _off(payday: Payday, found: InDoubt, by: int, last_good: int) -> None:
    """Forms were skipped: good cheques stand `by` further than the book has them."""
    off = _how_off(payday, found, by, last_good)
    among = [number for number in found.sent if number < last_good]
    spoiled = {}
    if among and not payday.talk.yes(
        tr("Are all forms from {among} up to it good cheques?", among=found.box.text(among[0])),
        tr("No: one in between is torn or smudged. Each is asked for."),
    ):
        spoiled = bad_ones(payday, found, among, never=("blank", "missing"))
    at, between = _head(payday, found, last_good, by)
    after = dict.fromkeys(range(last_good + 1 + by, at + by), between)
    seen = offset.settle(payday.book, found, off, last_good=last_good, spoiled=spoiled, after=after, how="resume")
    _moved(payday, found, off, seen, after)


def _how_off(payday: Payday, found: InDoubt, by: int, last_good: int) -> offset.Off:
    """From which form on, what became of the skipped one, how it was found, and who else looked."""
    talk, text = payday.talk, found.box.text
    talk.say(
        tr(
            "The two numbers differ by {abs}: the cheques are good, but they stand on other numbers than the "
            "book has. The book is put right, and both numbers are kept.",
            abs=abs(by),
        )
    )

    def first(answer: str) -> int:
        number = int(digits(answer))
        if number not in found.sent or number > last_good:
            raise ValueError(
                tr(
                    "It is none of {sent} to {last_good}, the numbers the run printed.",
                    sent=text(found.sent[0]),
                    last_good=text(last_good),
                )
            )
        return number

    begins = talk.ask(
        tr("Find the first form whose two numbers differ. Which number did the run print on it?"),
        first,
        tr("Not the preprinted number but the one beside it. Up to the form before, both numbers are the same."),
    )
    what = talk.one_of(
        tr("What became of the form that was skipped: spoiled or missing?"),
        ("spoiled", "missing"),
        tr("spoiled: you have it, unprinted or not, and it is not used again. missing: it is not there."),
    )
    name = talk.ask(
        tr("Who else has looked at the paper and approves the correction? Type the name."),
        lambda answer: _another(words(answer), payday),
        tr("A second person compares the numbers and approves: nobody moves numbers alone."),
    )
    return offset.Off(begins, by, State(what), tr("the two numbers on the forms differ"), name)


def _another(name: str, payday: Payday) -> str:
    if name.casefold() == payday.book.who.casefold():
        raise ValueError(tr("You enter this, so somebody else approves it: type that name."))
    return name


def _moved(payday: Payday, found: InDoubt, off: offset.Off, seen: Seen, after: dict[int, str]) -> None:
    text = found.box.text
    payday.talk.say(
        tr(
            "Entered: {good_cheques}; those with {first} to {good} in print are on {first2} to {good2}.",
            good_cheques=counted(len(seen.good), "good cheque"),
            first=text(off.first),
            good=text(seen.good[-1]),
            first2=text(off.first + off.by),
            good2=text(seen.good[-1] + off.by),
        )
    )
    if after or seen.spoiled:
        payday.talk.say(tr("Write VOID across the spoiled forms and keep them for the count."))


def look(payday: Payday) -> None:
    """A run came to its end: somebody looks at every form, counts the good ones, and tells of the others."""
    talk = payday.talk
    one = next(run for run in runs.unfinished(payday.book, batch=payday.batch) if run.state == "finished")
    with runner.holding(payday.book.place, one.printer):
        found = doubt.in_doubt(payday.book, one)
        talk.say(tr("Run {id} on {printer}: {in_words}.", id=one.id, printer=one.printer, in_words=found.in_words()))
        talk.say(tr("Go through the paper: every number, payee and amount, and the last part of every form."))
        text, last = found.box.text, found.sent[-1]

        def printed(answer: str) -> int:
            number = int(digits(answer))
            if abs(number - last) > 50:
                raise ValueError(
                    tr("That is far from {last}, the last number sent. Read it off the form again.", last=text(last))
                )
            return number

        number = talk.ask(
            tr("Which number is preprinted on the last form that was printed?"),
            printed,
            tr(
                "If it is not the number that the run printed beside it, a form was skipped on the way, and the "
                "book is put right."
            ),
        )
        by = number - last
        if by and not talk.yes(
            tr("Does the last form, {number}, bear {last} in print?", number=text(number), last=text(last)),
            tr("yes: the two numbers on it differ. no: it was another form, or the last forms came out unprinted."),
        ):
            by = 0
        _counted(payday, found, by)


def _counted(payday: Payday, found: InDoubt, by: int) -> None:
    """The good forms counted, the bad ones told of, all of it read back, and entered."""
    talk, text = payday.talk, found.box.text
    sent, never = found.sent, ("blank", "missing") if by else ()

    def number(answer: str) -> int:
        count = whole(answer)
        if count > len(sent):
            raise ValueError(
                tr("{forms} went to the printer: there cannot be more. Count again.", forms=counted(len(sent), "form"))
            )
        return count

    count = talk.ask(
        tr("How many good forms do you count?"),
        number,
        tr(
            "Count those that are whole, in their place and readable on every part. The count is keyed in, "
            "not agreed to."
        ),
    )
    bad = bad_ones(payday, found, sent, len(sent) - count, never=never) if count < len(sent) else {}
    told = [f"{text(number)} {why}" for number, why in sorted(bad.items())]
    talk.say(
        "; ".join([tr("To be entered, for good: {good_forms}", good_forms=counted(count, "good form")), *told]) + "."
    )
    if not talk.yes(tr("Is that right?"), tr("Nothing of it can be taken back once it is entered.")):
        talk.say(tr("Nothing was entered. Begin again."))
        return
    spoiled, missing, blank = _split(bad)
    if not by or not count:
        seen = _whole(payday, lambda incomplete: doubt.counted(found, count, spoiled, missing, blank, incomplete))
        runs.seen(payday.book, found.run.id, seen, how="confirm")
        _tell(payday, seen)
        return
    last_good = max(set(sent) - set(spoiled))
    off = _how_off(payday, found, by, last_good)
    after = {number + by: why for number, why in spoiled.items() if number > last_good}
    seen = offset.settle(payday.book, found, off, last_good=last_good, spoiled=spoiled, after=after, how="confirm")
    _moved(payday, found, off, seen, after)
