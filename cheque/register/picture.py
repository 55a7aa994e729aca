"""Pictures of numbers, as COBOL writes them (ISO/IEC 1989, PICTURE clause; the rules here from memory).

`9` is a digit, `S` a sign, `V` where the decimal point is meant though none is written, `(5)` five of the character
before: `S9(7)V99`. Numbers edited for people have `Z` for a digit that is blank when it leads with zero, `*` for one
that becomes an asterisk, `,` and `.` and `B` (a blank) as they stand, `$`, `+` and `-` once in their place or repeated
to float before the first digit, and `+`, `-`, `CR` or `DB` at the end for the sign: `ZZZ,ZZ9.99-`, `$$$,$$9.99CR`.
`X` is any character.

An edited number is read by taking its digits and its sign, editing them again and comparing: a text that the
picture would not have written is refused.

>>> parse_picture("ZZZ,ZZ9.99-").read("    863.79-")
('00086379', True)
>>> parse_picture("***,**9.99").write("00086379", False), parse_picture("$$$,$$9.99CR").write("0086379", True)
('****863.79', '   $863.79CR')
"""

import re
from functools import lru_cache
from typing import NamedTuple

from cheque.tongue import tr

#: digits of a number, as many as COBOL's numbers have
MOST_DIGITS = 18
WIDEST = 4_096
_REPEATED = re.compile(r"(CR|DB|.)(?:\((\d{1,4})\))?")
_PLAIN = re.compile(r"(S?)(9*)(?:V(9*))?")
_FLOATS = "$+-"
_BODY = "9Z*,.VB$+-"


class Picture(NamedTuple):
    """A picture taken apart. `places` are its decimals, `digits` all its digits, `width` its characters."""

    text: str
    kind: str
    width: int
    digits: int = 0
    places: int = 0
    signed: bool = False
    tokens: tuple[str, ...] = ()
    #: the sign that floats before the first digit, or ""
    floating: str = ""

    def read(self, text: str) -> tuple[str, bool]:
        """The digits of an edited number, leading zeros included, and whether it is negative. ValueError."""
        found = "".join(c for c in text if c.isdigit() and c.isascii())
        negative = "-" in text or text.endswith(("CR", "DB"))
        digits = found.rjust(self.digits, "0")
        if len(digits) != self.digits or self.write(digits, negative) != text:
            raise ValueError(tr("not of the picture"))
        return digits, negative

    def write(self, digits: str, negative: bool) -> str:
        """A number edited by the picture, which has as many digits. ValueError for a sign that it cannot show."""
        if negative and not self.signed:
            raise ValueError(tr("a negative number in a picture without a sign"))
        out: list[str] = []
        queue = iter(digits)
        started = False
        fill = "*" if "*" in self.tokens else " "
        last_float = -1
        for token in self.tokens:
            if token in "9Z*" or token == "f":
                digit = next(queue)
                if not started and (token == "9" or digit != "0"):
                    started = True
                    self._float(out, last_float, negative)
                out.append(digit if started else fill)
                last_float = len(out) - 1 if token == "f" else last_float
            elif token in ".V":
                if not started:
                    started = True
                    self._float(out, last_float, negative)
                out.append("." * (token == "."))
            elif token == "F":
                out.append(fill)
                last_float = len(out) - 1
            else:
                out.append(self._inserted(token, fill, started, negative))
                last_float = len(out) - 1 if token == "," and not started and self.floating else last_float
        if not digits.strip("0") and "9" not in self.tokens:
            return "".join("." if token == "." and fill == "*" else fill for token in self.tokens if token != "V")
        return "".join(out)

    def _float(self, out: list[str], place: int, negative: bool) -> None:
        """Put the floating sign where the last suppressed place is."""
        if self.floating and place >= 0:
            shown = {"$": "$", "+": "-" if negative else "+", "-": "-" if negative else " "}
            out[place] = shown[self.floating]

    @staticmethod
    def _inserted(token: str, fill: str, started: bool, negative: bool) -> str:
        """A character that is no digit."""
        if token == ",":
            return "," if started else fill
        if token in ("CR", "DB"):
            return token if negative else "  "
        return {"+": "-" if negative else "+", "-": "-" if negative else " ", "B": " ", "$": "$"}[token]


@lru_cache(512)
def parse_picture(text: str) -> Picture:
    """A picture from its text. ValueError, saying what was found, when it is none that is understood.

    >>> parse_picture("S9(7)V99")[1:6]
    ('number', 9, 9, 2, True)
    """
    tokens = _expanded(text.strip().upper())
    if set(tokens) <= {"X"} or set(tokens) <= {"A"}:
        return Picture(text, "text", len(tokens))
    joined = "".join(tokens)
    if plain := _PLAIN.fullmatch(joined):
        whole, places = len(plain[2]), len(plain[3] or "")
        if not 0 < whole + places <= MOST_DIGITS:
            raise ValueError(
                tr(
                    "{text!r}, with {whole} digits, not 1 to {most_digits}",
                    text=text,
                    whole=whole + places,
                    most_digits=MOST_DIGITS,
                )
            )
        return Picture(text, "number", whole + places, whole + places, places, bool(plain[1]))
    return _edited(text, tokens)


def _expanded(text: str) -> list[str]:
    tokens: list[str] = []
    place = 0
    for match in _REPEATED.finditer(text):
        if match.start() != place:
            break
        place = match.end()
        tokens += [match[1]] * int(match[2] or 1)
        if len(tokens) > WIDEST:
            raise ValueError(tr("{text!r}, more than {widest} characters wide", text=text, widest=WIDEST))
    if not tokens or place != len(text):
        raise ValueError(tr("{text!r}, no picture", text=text))
    return tokens


def _edited(text: str, tokens: list[str]) -> Picture:
    """An edited picture: sign or currency in front, digits, and a sign at the end."""
    wrong = ValueError(tr("{text!r}, no picture that is understood", text=text))
    body, tail = list(tokens), ""
    if body[-1] in ("CR", "DB") or (body[-1] in "+-" and body.count(body[-1]) == 1):
        tail = body.pop()
    if not body or any(token not in _BODY for token in body):
        raise wrong
    floating = next((mark for mark in _FLOATS if body.count(mark) > 1), "")
    done: list[str] = []
    for token in body:
        if token == floating and floating:
            done.append("f" if "F" in done else "F")
        else:
            done.append(token)
    shape = "".join(done)
    if not re.fullmatch(r"[+-]?\$?(F[f,B]*)?[Z,B]*[*,B]*[9,B]*([.V](9*|Z*|\**|f*))?", shape) or (
        "Z" in shape and "*" in shape
    ):
        raise wrong
    if floating and any(c in shape for c in "Z*"):
        raise wrong
    digits = sum(token in "9Z*f" for token in done)
    point = next((place for place, token in enumerate(done) if token in ".V"), len(done))
    places = sum(token in "9Z*f" for token in done[point:])
    if not 0 < digits <= MOST_DIGITS or done.count("V") + done.count(".") > 1:
        raise ValueError(
            tr(
                "{text!r}, with {digits} digits, not 1 to {most_digits}",
                text=text,
                digits=digits,
                most_digits=MOST_DIGITS,
            )
        )
    width = sum(len(token) for token in [*done, *([tail] if tail else [])] if token != "V")
    signed = bool(tail) or floating in ("+", "-") or done[0] in "+-"
    every = (*done, tail) if tail else tuple(done)
    return Picture(text, "edited", width, digits, places, signed, every, floating)
