"""Orders to the practice printer, one a line, as typed at its terminal or written into its control file.

    jam              the paper no longer moves, and what comes is struck in one place
    clear            the jam is cleared: the crumpled form is taken out, the next one is at the head
    tear NUMBER      a form is torn
    paper-out        the form at the head is the last one
    load NUMBER      paper is loaded, the form of that number at the head
    skip             the next form that is not begun goes through blank
    power-off        what its memory holds is lost, and the connection breaks
    power-on         it listens again; load paper anew
    garble           a byte soon to come arrives as another one
    paper            show the forms, and what became of each
    quit             end the practice

Each goes by its first letter too (`t 100503`), except paper-out (o), power-off (f), power-on (n) and paper (p).
"""

from typing import NamedTuple

from cheque.tongue import tr

SHORT = {
    "j": "jam", "c": "clear", "t": "tear", "o": "paper-out", "l": "load", "s": "skip",
    "f": "power-off", "n": "power-on", "g": "garble", "p": "paper", "q": "quit",
}  # fmt: skip
WITH_NUMBER = ("tear", "load")


class Order(NamedTuple):
    """One order; `number` is 0 where it takes none."""

    what: str
    number: int = 0


def read(line: str) -> Order | None:
    """An order from a line; None for a blank line or a comment. ValueError with what is wrong."""
    words = line.partition("#")[0].lower().split()
    if not words:
        return None
    what = SHORT.get(words[0], words[0])
    if what not in SHORT.values():
        raise ValueError(
            tr("there is no order {words!r}; there are {list}", words=words[0], list=", ".join(SHORT.values()))
        )
    if what not in WITH_NUMBER:
        if len(words) > 1:
            raise ValueError(tr("{what} takes nothing after it", what=what))
        return Order(what)
    if len(words) != 2 or not (words[1].isascii() and words[1].isdigit() and len(words[1]) <= 18 and int(words[1])):
        raise ValueError(tr("{what} takes the number of a form after it, such as {what} 100503", what=what))
    return Order(what, int(words[1]))
