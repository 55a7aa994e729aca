"""The approved correction: it is found that the paper was a form or more off, and good cheques stand on other numbers.

A form was skipped or torn off and nobody noticed: the book has payment after payment one number too low. The cheques
themselves are good, so they are not voided: their numbers are moved, as one event that keeps both, the one preprinted
on the form and the one struck on it. The form that was skipped bears no payment, and is entered as spoiled or missing.
"""

from cheque.book import cleared, stock
from cheque.book.book import Book, Reader
from cheque.book.event import Event
from cheque.book.state import State
from cheque.errors import BookRefused, UsageRefused
from cheque.tongue import tr

#: more forms off than this are no skipped forms but another box
MOST = 50
LEFT = (State.SPOILED, State.MISSING)


def move(book: Book, *, account: str, first: int, last: int, by: int, left: State, reason: str, approved: str) -> Event:
    """Move the numbers first to last by so many: a payment that the book has on n is on n + by.

    `left`: what became of the forms that thereby carry nothing (spoiled, missing). `approved`: a second person.
    BookRefused, naming the number, unless every one is a good cheque of a run, or was spoiled in one, and the
    numbers they come to are on hand or among them.
    """
    reason = stock.said(reason, tr("how was it found? Give the reason with --reason."))
    approved = stock.said(
        approved, tr("a second person looks at the paper and approves: give the name with --approved-by.")
    )
    if approved.casefold() == book.who.casefold():
        raise UsageRefused(
            tr(
                "{approved} enters this, so somebody else approves it: give that name with --approved-by.",
                approved=approved,
            )
        )
    if not by or abs(by) > MOST:
        raise UsageRefused(
            tr(
                "found --by {by}; wanted how many forms it is off, 1 to {most}, or less than 0 for back.",
                by=by,
                most=MOST,
            )
        )
    if left not in LEFT:
        raise UsageRefused(tr("found {left}; wanted spoiled or missing.", left=left))
    with book.change() as change:
        _fit(book, stock.range_of(book, account, first), first, last, by)
        return change.append(
            "numbers.moved",
            {
                "account": account,
                "first": first,
                "last": last,
                "by": by,
                "left": left.value,
                "reason": reason,
                "approved": approved,
            },
        )


def _fit(reader: Reader, box: stock.Range, first: int, last: int, by: int) -> None:
    if last < first:
        raise UsageRefused(tr("found {first}-{last}; wanted the lower number first.", first=first, last=last))
    if last > box.last or first + by < box.first or last + by > box.last:
        raise BookRefused(
            tr(
                "these numbers, or those they come to, are not all of one box, {first} to {last}.",
                first=box.first,
                last=box.last,
            )
        )
    lowest, highest = min(first, first + by), max(last, last + by)
    cleared.bar(reader, box.account, lowest, highest, box.digits, tr("these numbers are not moved"))
    rows = {
        number: (State(state), run, stop)
        for number, state, run, stop in reader.rows(
            "SELECT number, state, run, stop FROM number WHERE account = ? AND number BETWEEN ? AND ?",
            box.account,
            lowest,
            highest,
        )
    }
    for number in range(first, last + 1):
        state, run, stop = rows.get(number, (State.ON_HAND, 0, ""))
        if state not in (State.PRINTED, State.SPOILED) or not run:
            raise BookRefused(
                tr(
                    "number {number} is {state}, so it is not moved: only a stretch of good cheques, with what was "
                    "spoiled in their run, is. {advice}",
                    number=box.text(number),
                    state=tr(state),
                    advice=tr(stock.ADVICE[state]),
                )
            )
        if stop:
            raise BookRefused(
                tr(
                    "the bank was told of number {number} (stop {stop}): clear that up with the bank first.",
                    number=box.text(number),
                    stop=stop,
                )
            )
    for number in (first, last):
        if rows[number][0] is not State.PRINTED:
            raise BookRefused(
                tr("number {number} is no good cheque: a stretch begins and ends with one.", number=box.text(number))
            )
    beyond = sorted(set(range(first + by, last + by + 1)) - set(range(first, last + 1)))
    for number in beyond:
        if number in rows:
            raise BookRefused(
                tr(
                    "number {number}, which one of them comes to, is {rows}. Move the whole stretch, up to where the "
                    "two numbers agree again; or look at the paper again.",
                    number=box.text(number),
                    rows=rows[number][0],
                )
            )
