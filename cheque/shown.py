"""What was read from a file, as a message may show it: harmless on any screen, and not too long.

A control character can steer a terminal, a bidirectional one can turn a message round (Unicode Standard Annex #9):
neither is printable, and whatever is not is written as an escape.

>>> escaped("title\\x1b]0;x\\x07")
'title\\\\x1b]0;x\\\\x07'
>>> shown("12,5\\x07")
"'12,5\\\\x07'"
"""

from cheque.tongue import tr

#: text in messages longer than this is shown by its beginning
SHOWN = 60


def escaped(text: str) -> str:
    """The text with an escape for every character that is not printable; the rest as it is, without quotes."""
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else repr(c)[1:-1] for c in text)


def shown(text: str) -> str:
    """The text quoted, with escapes, and cut short when it is long.

    >>> shown("x" * 70)[-18:]
    "'… (70 characters)"
    """
    if len(text) <= SHOWN:
        return repr(text)
    return tr("{text!r}… ({count} characters)", text=text[:SHOWN], count=len(text))
