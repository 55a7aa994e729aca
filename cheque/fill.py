"""Protective fill: every open column of a field closed, so that nothing can be written in.

What is done to a cheque with open columns, and what closes them:

    a digit before the figures            1,234.56 -> 91,234.56      ***1,234.56
    a digit after figures without cents   1,234 -> 1,2340            ***1,234*  (centred, or a suffix)
    words before or after the words       One hundred -> … thousand  One hundred and 00/100****
    letters after the payee's name        J Reed -> J Reedman        J Reed********
    words on a second line left empty                                ***************

The fill touches the text on each side: a blank between them would be an opening of one column. The single
blanks between words are ordinary, one column in which no word can stand; two together are refused, and so is a
blank at an end of the text. Figures have no blank at all (`cheque.wording.grouping`). The fill is one mark that
could be no part of an amount or a name: no letter, digit or blank, none of the marks that figures use.

Common practice throughout; that a drawer who leaves openings bears the loss of what is written into them is old
law (Young v Grote, 1827; Uniform Commercial Code § 3-406; both from memory).
"""

from functools import cache

from cheque.tongue import tr

#: Marks that figures and names use, which can therefore close nothing.
NOT_A_FILL = ".,'’/&()+$£€¥%"


class FillError(ValueError):
    """The text does not fit its field, or cannot be closed; the message says what and where."""


def closed(text: str, width: int, align: str, fill: str) -> str:
    """The text in its field of `width` columns, every open column closed with `fill`.

    align: "left" closes after the text, "right" before it, "centre" (or "center") both sides, the odd column
    after it. fill: one mark, or "" to leave the columns blank. An empty text gives a field wholly closed.
    Raises FillError when the text does not fit (it is never shortened), has an opening in itself, begins or ends with
    the fill (a payee called "Ay Li*" would stand there as "Ay Li" does), or the fill is no fill.

    >>> closed("1,234.56", 12, "right", "*")
    '****1,234.56'
    >>> closed("", 6, "left", "*")
    '******'
    >>> closed("One hundred and 00/100", 20, "left", "*")
    Traceback (most recent call last):
      ...
    cheque.fill.FillError: 'One hundred and 00/100' is 22 columns wide, its field 20
    """
    if len(text) > width:
        raise FillError(
            tr("{text!r} is {count} columns wide, its field {width}", text=text, count=len(text), width=width)
        )
    if fill:
        _must_close(text, fill)
    mark = fill or " "
    if align == "left":
        return text.ljust(width, mark)
    if align == "right":
        return text.rjust(width, mark)
    if align in ("centre", "center"):
        before = (width - len(text)) // 2
        return (mark * before + text).ljust(width, mark)
    raise FillError(tr("{align!r} is no way to align a field; there are left, right and centre", align=align))


def is_closed(field: str, text: str, fill: str) -> bool:
    """Whether a finished field is exactly the text between fill, or fill alone where the text is empty.

    A second look at what `closed` made, by another way: it takes the field apart instead of building it.

    >>> is_closed("***1,234.56", "1,234.56", "*")
    True
    >>> is_closed("*** 1,234.56", "1,234.56", "*")
    False
    """
    if not fill or " ".join(text.split()) != text or field.strip(fill) != text.strip(fill):
        return False
    return _before(field, fill) >= _before(text, fill) and _before(field[::-1], fill) >= _before(text[::-1], fill)


def _before(text: str, fill: str) -> int:
    return len(text) - len(text.lstrip(fill))


@cache
def _is_a_fill(fill: str) -> bool:
    return not (len(fill) != 1 or fill.isalnum() or fill.isspace() or not fill.isprintable() or fill in NOT_A_FILL)


def _must_close(text: str, fill: str) -> None:
    """FillError when the fill could be read as text, or when the text has an opening of its own."""
    if not _is_a_fill(fill):
        raise FillError(
            tr("{fill!r} is no fill: one mark is wanted that no amount or name could hold, such as '*'", fill=fill)
        )
    if text and fill in (text[0], text[-1]):
        raise FillError(
            tr(
                "{text!r} begins or ends with the fill {fill!r}, so that nobody sees where it ends",
                text=text,
                fill=fill,
            )
        )
    if " ".join(text.split()) != text:
        raise FillError(tr("{text!r} has an opening in itself: a blank at an end, or two together", text=text))
