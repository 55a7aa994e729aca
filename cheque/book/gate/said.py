"""What the doors of a book under roles say, in the person's language.

A door refuses in English, which the server's own log has too; a person reads it in theirs: the text is known again by
its words, and said anew with its values. What only somebody meets who goes past this tool (`values.sql`) stays as the
server said it, and so do the server's own words.
"""

import re
from functools import cache

from cheque.tongue import mark, speaks, tr

#: as in the `.sql` files here, without a full stop at the end; a place stands for each value
_MESSAGES = (
    mark("{person} may not do this ({kind}): it wants the role {roles}. Nothing changed"),
    mark("{person} may not do this ({kind}): nobody here may. Nothing changed"),
    mark(
        "batch {batch} is printed once somebody other than who accepted it approved its proof; {given} did. "
        "Nothing changed"
    ),
    mark(
        "batch {batch} is printed once two people other than who accepted it approved its proof; {given} did. "
        "Nothing changed"
    ),
    mark("this takes two people: one asks for it, another does it. Nothing changed"),
    mark(
        "{person} voided number {number} of {account}, so somebody else has to say that its payment is {disposition}. "
        "Nothing changed"
    ),
    mark("{person} printed from {account} within a year, so somebody else has to reconcile it. Nothing changed"),
    mark("a book begins once"),
    mark("this book has moved, and nothing more is written here"),
    mark(
        "a book under roles does not take what is new in a later release ({kind}): have its owner run "
        "`cheque book roles make` of that release"
    ),
    mark("found numbers {first} to {last}; wanted a range of at most ten million, from 1 up"),
    mark("numbers {first}-{last} are not all on hand: see `cheque book verify`"),
    mark("event {seq}: {account}:{first}-{last} is not within one range of stock"),
    mark("event {seq}: {left} of the numbers {first}-{last} of {account} are on hand"),
    mark("event {seq}: the book lacks the items of the statement, text {digest}"),
    mark("event {seq} speaks of number {number}, which never left the box"),
    mark("event {seq} speaks of payment {item} of batch {batch}, which is not to be paid"),
    mark("event {seq} speaks of run {run}, which never began"),
    mark("event {seq} ({kind}) breaks the law of the book: {broken}"),
    mark("number {number} of {account} is {state}: it cannot become {to}"),
    mark("run {run} was answered for already: nothing more of it is sent or said"),
    mark("numbers {first}-{last} are not reserved for run {run}: nothing of it is sent"),
    mark("numbers {first}-{last} are not all in doubt in run {run}: they cannot be {group}"),
    mark("a payment has at most 1 MiB"),
    mark("a text is kept under its own digest, and has at most 64 MiB"),
    mark("what happened is told in at most 16 MiB, by a station of at most 255 bytes"),
)
#: places whose values are words of the book
_WORDS = ("state", "to", "group", "disposition")


@cache
def _known() -> tuple[tuple[re.Pattern[str], str], ...]:
    return tuple(
        (re.compile(re.sub(r"\\{(\w+)\\}", r"(?P<\1>.+?)", re.escape(one)), re.DOTALL), one) for one in _MESSAGES
    )


def said(text: str) -> str:
    """What a door said (one line, no full stop), in the language spoken; as it is where it is none of ours.

    >>> said("a book begins once")
    'a book begins once'
    """
    if not speaks():
        return text
    for pattern, message in _known():
        if found := pattern.fullmatch(text):
            values = {name: tr(value) if name in _WORDS else value for name, value in found.groupdict().items()}
            return tr(message, **values) if values else tr(message)
    return text
