"""How long a run will take on paper: what the head and the tractors do for each form, added up.

Told before a run begins, so that somebody can stay with it; the printer itself decides. What is assumed, all
*common practice* and none of it measured on a printer here:

1. `speed` characters a second is the printer's in draft at 10 to the inch: the head crosses so many tenths of an
   inch a second at any pitch, over blanks as over letters.
2. A line with anything on it takes one pass, from its first character struck to its last; the head begins at the
   end that is nearer (in one direction only: always at the left), and turning round takes 40 ms.
3. A line with a double strike takes two passes; bold too is struck twice; both together are four.
4. Letter quality has a quarter of the speed in draft.
5. Paper moves 4 in a second, and starting and stopping it takes 50 ms each time.
6. The way to the printer is faster than the printer, so that nothing is waited for but the printing.

>>> from cheque.units import INCH
>>> page = (Mark(0, 0, INCH // 10, 0, "Pay to the order of "), Mark(0, INCH, INCH // 10, 0, "Ay Li"))
>>> milliseconds(page, Look(7 * INCH, INCH // 6), speed=200)  # 190 of head, 80 of turns, 1,850 of paper
2120
>>> in_words(2120), in_words(24 * 2120), in_words(100 * 2120), in_words(10_000 * 2120)
('2 seconds', '51 seconds', '4 minutes', '5 hours 53 minutes')
"""

from collections.abc import Iterable, Sequence
from itertools import pairwise

from cheque.language import Look
from cheque.page import Mark, Weight
from cheque.tongue import counted, tr
from cheque.units import INCH

TURN = 40  # ms
START_AND_STOP = 50  # ms
PAPER_SPEED = 4  # inches a second
LETTER_QUALITY = 4  # times as long as draft


def milliseconds(marks: Iterable[Mark], look: Look, speed: int) -> int:
    """How long one form takes, in whole milliseconds; `speed` in characters a second, more than 0."""
    lines: dict[int, tuple[int, int, int]] = {}
    for x, y, pitch, weight, text in marks:
        bare = text.strip(" ")
        if bare:
            left = x + pitch * (len(text) - len(text.lstrip(" ")))
            first, last, heaviest = lines.get(y, (left, left, 0))
            lines[y] = (min(first, left), max(last, left + pitch * len(bare)), heaviest | weight)
    travel = head = turns = 0
    for y in sorted(lines):
        left, right, weight = lines[y]
        for _ in range(passes(weight)):
            rightwards = look.one_direction or abs(head - left) <= abs(head - right)
            start, end = (left, right) if rightwards else (right, left)
            travel += abs(head - start) + right - left
            head = end
            turns += 1
    feeds = len(lines.keys() - {0}) + 1
    slower = LETTER_QUALITY if look.quality == "letter" else 1
    of_head = travel * 10 * 1000 * slower // (INCH * speed)
    of_paper = look.length * 1000 // (INCH * PAPER_SPEED)
    return of_head + turns * TURN + of_paper + feeds * START_AND_STOP


def passes(weight: int) -> int:
    """How often the head goes over a line whose heaviest character has this weight."""
    return (2 if weight & Weight.DOUBLE else 1) * (2 if weight & Weight.BOLD else 1)


def shares(forms: int, speeds: Sequence[int]) -> list[int]:
    """How many of so many forms each printer takes, in order, so that all are done at about the same time.

    Each boundary is the nearest whole form to the printers' share of speed, so nothing is lost in rounding.

    >>> shares(24, [200, 200]), shares(24, [400, 200, 200]), shares(1, [200, 300])
    ([12, 12], [12, 6, 6], [0, 1])
    """
    whole, ends, so_far = sum(speeds), [0], 0
    for speed in speeds:
        so_far += speed
        ends.append((2 * forms * so_far + whole) // (2 * whole))
    return [end - begin for begin, end in pairwise(ends)]


def in_words(milliseconds: int) -> str:
    """A time as people say it: seconds under a minute and a half, then minutes, then hours and minutes."""
    seconds = (milliseconds + 500) // 1000
    if not seconds:
        return tr("less than a second")
    if seconds < 90:
        return counted(seconds, "second")
    minutes = (seconds + 30) // 60
    if minutes < 60:
        return counted(minutes, "minute")
    hours, rest = divmod(minutes, 60)
    return counted(hours, "hour") + (f" {counted(rest, 'minute')}" if rest else "")
