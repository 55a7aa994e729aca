"""The encoder that the ESC languages share: marks to bytes, or the reason why not.

Marks on one line are reached by blanks of an exact pitch where the pitch allows, because every model knows
blanks; else by the language's own jump; a mark left of the last one by a CR first. Lines are reached by
LF of the form's spacing and, for the rest, by exact feeds. All that repeats from form to form (the opening,
a feed of so much, a move from here to there) is worked out once and kept.
"""

from collections.abc import Callable
from functools import lru_cache
from math import lcm
from operator import gt, itemgetter
from typing import Any, NamedTuple

from cheque.language import LanguageError, Look, Printer
from cheque.language.repertoire import AVOIDED, LONGEST, Feed, Repertoire, weight_words
from cheque.language.tables import TABLES, Table, as_bytes, table_of, unprintable
from cheque.page import Mark, Weight
from cheque.tongue import tr
from cheque.units import write_length

_KEPT = 20_000
_MOULDS_KEPT = 500
#: the advance, then x, y, pitch and weight of every mark in the order given
Shape = tuple[Any, ...]


def _reading_order(one: tuple[Mark, str]) -> tuple[int, int]:
    return one[0][1], one[0][0]


class Mould(NamedTuple):
    """A form with %s for its texts; what puts them in order; and how many characters each may have at most."""

    text: str
    order: Callable[[list[str]], tuple[str, ...]]
    rooms: tuple[int, ...]


def encode(rep: Repertoire, marks: tuple[Mark, ...], look: Look, printer: Printer, advance: int) -> bytes:
    """One form's bytes; LanguageError with every reason when it cannot be exact."""
    hand = hand_of(rep, look, printer)
    try:
        return hand.write(marks, advance).encode("latin-1")
    except LanguageError as error:
        reasons = cannot(rep, look, marks, printer) or [str(error)]
        raise LanguageError("; ".join(reasons)) from None


def cannot(rep: Repertoire, look: Look, marks: tuple[Mark, ...], printer: Printer) -> list[str]:
    """Every reason, as sentences for people, naming the text and its place.

    Judged by the shorter of the form's feeds, whole steps down from its length. When nothing is wrong this
    costs no more than encoding.
    """
    hand = hand_of(rep, look, printer)
    if hand.refusals:
        return list(hand.refusals)
    shortest = look.length // printer.step * printer.step
    try:
        hand.write(marks, shortest)
    except LanguageError as error:
        reasons = [f"{_named(mark)} {reason}" for mark in marks for reason in hand.mark_refusals(mark, shortest)]
        return reasons or [str(error)]
    return []


@lru_cache(maxsize=64)
def hand_of(rep: Repertoire, look: Look, printer: Printer) -> "Hand":
    """The encoder for one look on one printer, with what it has worked out so far."""
    return Hand(rep, look, printer)


def _named(mark: Mark) -> str:
    return tr(
        "{text!r} at {write_length} right, {write_length2} down",
        text=mark.text,
        write_length=write_length(mark.x),
        write_length2=write_length(mark.y),
    )


def parts(total: int, multiple: int) -> list[int]:
    """`total` as numbers of 1 to 255, each a multiple of `multiple` and none of them AVOIDED.

    LanguageError when there is no way.
    """
    found = []
    while total:
        part = min(total, 255 - 255 % multiple)
        while part in AVOIDED:
            part -= multiple
        if part <= 0:
            raise LanguageError(
                tr("{total} steps of feed cannot be sent without a byte that must not be sent", total=total)
            )
        found.append(part)
        total -= part
    return found


class Hand:
    """The encoder of one language, for one look on one printer."""

    def __init__(self, rep: Repertoire, look: Look, printer: Printer) -> None:
        self.rep, self.look, self.printer = rep, look, printer
        self.refusals = self._look_refusals()
        self.spacing_bytes = ""
        if not self.refusals and look.spacing % printer.step == 0:
            self.spacing_bytes = rep.spacing(look.spacing, printer)
        self.table = table_of(printer.table) if printer.table in TABLES else table_of("ascii")
        self._mould_kept: dict[Shape, Mould | str | None] = {}
        self._feed_kept: dict[int, str] = {}
        self._move_kept: dict[tuple[int, int, int, int, int, int], str] = {}
        self._opening_kept: dict[tuple[int, int, int], str] = {}

    # -- what cannot be done ---------------------------------------------------------------------------

    def _look_refusals(self) -> list[str]:
        rep, look, printer = self.rep, self.look, self.printer
        found = []
        if printer.step <= 0 or look.length <= 0 or look.spacing <= 0:
            found.append(tr("step, length and line spacing must be more than nothing"))
        elif not any(_fits(feed, printer.step) for feed in rep.feeds(printer)):
            found.append(
                tr(
                    "the printer's step of {write_length} cannot be fed exactly: {name} feeds {list} at a time",
                    write_length=write_length(printer.step),
                    name=rep.name,
                    list=tr(" or ").join(write_length(feed.unit) for feed in rep.feeds(printer)),
                )
            )
        if look.quality not in ("draft", "letter"):
            found.append(tr("{quality!r} is no quality: draft or letter", quality=look.quality))
        elif look.quality == "letter" and not rep.can("letter-quality", printer):
            found.append(tr("letter quality is not among what this printer can do"))
        if look.one_direction and not rep.can("one-direction", printer):
            found.append(tr("printing in one direction is not among what this printer can do"))
        chosen = rep.can(rep.table_ability, printer)
        if printer.table not in TABLES:
            found.append(
                tr(
                    "{table!r} is no character table known here: {tables}",
                    table=printer.table,
                    tables=", ".join(TABLES),
                )
            )
        elif chosen and printer.table not in rep.tables(printer):
            found.append(
                tr(
                    "{name} has no command for table {table} on this printer: choose one of {list}, or set the table "
                    "on the printer's own panel and put {table_ability!r} among what it is without",
                    name=rep.name,
                    table=printer.table,
                    list=", ".join(rep.tables(printer)),
                    table_ability=rep.table_ability,
                )
            )
        return found

    def mark_refusals(self, mark: Mark, shortest: int) -> list[str]:
        """Why one mark cannot be struck exactly where it is, whatever else is on the form."""
        found = []
        if mark.x < 0:
            found.append(tr("is left of the print head's first column"))
        if mark.y < 0:
            found.append(tr("is above the form's top line"))
        elif mark.y >= shortest:
            found.append(
                tr("is below the form, which is {write_length} long", write_length=write_length(self.look.length))
            )
        elif mark.y % self.printer.step:
            found.append(
                tr(
                    "is not a whole number of steps of {write_length} down",
                    write_length=write_length(self.printer.step),
                )
            )
        wrong = unprintable(mark.text, self.printer.table) if self.printer.table in TABLES else []
        if wrong:
            letters = ", ".join(dict.fromkeys(f"{letter!r} (U+{ord(letter):04X})" for _, letter in wrong))
            found.append(tr("has {letters}, not in table {table}", letters=letters, table=self.printer.table))
        try:
            self._style(mark.pitch, mark.weight)
        except LanguageError as error:
            found.append(str(error))
            return found
        if mark.x + mark.pitch * len(mark.text) > self.printer.width:
            found.append(
                tr(
                    "ends right of the carriage, which is {write_length} wide",
                    write_length=write_length(self.printer.width),
                )
            )
        elif mark.x >= 0 and self._from_start(mark.x, mark.pitch, mark.weight) is None:
            found.append(tr("is at a place across the line that no blanks and no command reach exactly"))
        return found

    # -- pieces, each worked out once ------------------------------------------------------------------

    def _style(self, pitch: int, weight: int) -> tuple[str, str]:
        """The bytes that set a pitch, and those that set a weight."""
        rep, printer = self.rep, self.printer
        known, ability = rep.pitches.get(pitch, ("", "none"))
        if not known:
            wanted = ", ".join(write_length(p) for p in sorted(rep.pitches))
            raise LanguageError(
                tr(
                    "has a pitch of {write_length}; {name} has {wanted}",
                    write_length=write_length(pitch),
                    name=rep.name,
                    wanted=wanted,
                )
            )
        if not rep.can(ability, printer):
            raise LanguageError(
                tr(
                    "has a pitch of {write_length}, which this printer lacks ({ability})",
                    write_length=write_length(pitch),
                    ability=ability,
                )
            )
        left, sent = weight, ""
        for ability, bit, off, on in rep.weights:
            if not rep.can(ability, printer):
                continue
            sent += on if weight & bit else off
            left &= ~int(bit)
        if left:
            raise LanguageError(
                tr("asks for {weight_words}, which this printer lacks", weight_words=weight_words(weight))
            )
        if weight & Weight.DOUBLE and rep.letter_overrides_double and self.look.quality == "letter":
            raise LanguageError(tr("asks for double strike, which letter quality overrides on 9-pin printers"))
        return known, sent

    def _from_start(self, x: int, pitch: int, weight: int, change: str | None = None) -> str | None:
        """Bytes that go to x from anywhere left of it and set the style; None when x cannot be reached.

        `change` are the bytes that set the style, when those of the whole style are not needed.
        """
        style = "".join(self._style(pitch, weight))
        change = style if change is None else change
        if x % pitch == 0:
            return "\r" + change + " " * (x // pitch)
        jump = self.rep.jump
        if self.rep.can(jump.ability, self.printer):
            lead = change + "\r" if jump.from_start else change
            for blanks in range(x // pitch + 1):
                units, off = divmod(x - blanks * pitch, jump.unit)
                low, high = units & 0xFF, units >> 8
                if not off and low not in AVOIDED and high not in AVOIDED:
                    return lead + jump.name + chr(low) + chr(high) + " " * blanks
        for other in sorted(self.rep.pitches):
            try:
                first = "".join(self._style(other, weight))
            except LanguageError:
                continue
            for blanks in range(x // other + 1):
                if (x - blanks * other) % pitch == 0:
                    return "\r" + first + " " * blanks + style + " " * ((x - blanks * other) // pitch)
        return None

    def _move(self, at: int, x: int, old: tuple[int, int], new: tuple[int, int]) -> str:
        """From `at` to `x` on one line, changing from one style to another."""
        key = (at, x, *old, *new)
        kept = self._move_kept.get(key)
        if kept is None:
            if len(self._move_kept) > _KEPT:
                self._move_kept.clear()
            kept = self._move_kept[key] = self._work_out_move(at, x, old, new)
        return kept

    def _work_out_move(self, at: int, x: int, old: tuple[int, int], new: tuple[int, int]) -> str:
        pitch_bytes, weight_bytes = self._style(*new)
        change = (pitch_bytes if old[0] != new[0] else "") + (weight_bytes if old[1] != new[1] else "")
        gap = x - at
        if gap >= 0 and gap % new[0] == 0:
            return change + " " * (gap // new[0])
        if gap >= 0 and gap % old[0] == 0:
            return " " * (gap // old[0]) + change
        reached = self._from_start(x, *new, change) if x >= 0 else None
        if reached is None:
            raise LanguageError(tr("no exact way to {write_length} right", write_length=write_length(x)))
        # a jump that stops short, for blanks to go the rest (its number would be a byte never sent), may stop left
        # of where the head is; models differ in that, so the head goes back to the first column before it
        blanks = len(reached) - len(reached.rstrip(" "))
        left = x - blanks * new[0] < at
        return "\r" + reached if left and reached[0] != "\r" else reached

    def _feed(self, gap: int) -> str:
        """CR, then exactly `gap` units of feed."""
        kept = self._feed_kept.get(gap)
        if kept is None:
            if len(self._feed_kept) > _KEPT:
                self._feed_kept.clear()
            kept = self._feed_kept[gap] = self._work_out_feed(gap)
        return kept

    def _work_out_feed(self, gap: int) -> str:
        step = self.printer.step
        if gap < 0 or gap % step:
            raise LanguageError(
                tr(
                    "{write_length} is not a whole number of steps of {write_length2}",
                    write_length=write_length(gap),
                    write_length2=write_length(step),
                )
            )
        lines, rest = divmod(gap, self.look.spacing) if self.spacing_bytes else (0, gap)
        sent = "\r" + "\n" * lines
        for feed in self.rep.feeds(self.printer):
            both = lcm(step, feed.unit)
            multiple = both // feed.unit
            if rest % both == 0 and multiple <= 255:
                sent += "".join(feed.before + chr(n) + feed.after for n in parts(rest // feed.unit, multiple))
                return sent + (self.spacing_bytes if rest and feed.after else "")
        raise LanguageError(tr("{write_length} cannot be fed exactly", write_length=write_length(rest)))

    def _opening(self, advance: int, pitch: int, weight: int) -> str:
        """Everything the form relies on, set; the head at the first column."""
        rep, look, printer = self.rep, self.look, self.printer
        length = self._form_length(advance)
        spacing = "" if self.spacing_bytes and length.startswith(self.spacing_bytes) else self.spacing_bytes
        style = "".join(self._style(pitch, weight))
        return rep.reset + "\r" + rep.opening(look, printer) + length + spacing + style

    def _form_length(self, advance: int) -> str:
        """ESC C, so that the front panel's form feed agrees: lines times a spacing, exactly, if there is one."""
        rep, step = self.rep, self.printer.step
        if advance > LONGEST:
            return ""
        spacings = sorted(
            (s for s in range(step, advance + 1, step) if advance % s == 0 and advance // s <= rep.most_lines),
            key=lambda s: abs(s - self.look.spacing),
        )
        for spacing in spacings:
            known = rep.spacing(spacing, self.printer)
            if known and advance // spacing not in AVOIDED:
                return known + "\x1bC" + chr(advance // spacing)
        return ""

    # -- a whole form ----------------------------------------------------------------------------------

    def write(self, marks: tuple[Mark, ...], advance: int) -> str:
        """One form. LanguageError at the first thing that cannot be exact."""
        if self.refusals:
            raise LanguageError(self.refusals[0])
        texts = [mark[4] for mark in marks]
        letters = "".join(texts)
        table = self.table
        if not (table.ascii and letters.isascii() and letters.isprintable()):
            if table.missing.search(letters):
                _refuse_letters(texts, table)
            texts = [text if table.ascii and text.isascii() else text.translate(table.places) for text in texts]
        shape = (advance, *[mark[:4] for mark in marks])
        mould = self._mould(shape)
        if mould is not None and not any(map(gt, map(len, texts), mould.rooms)):
            return mould.text % mould.order(texts)
        return self._write(list(zip(marks, texts, strict=True)), advance)

    def _mould(self, shape: "Shape") -> "Mould | None":
        """The mould of a shape that was met before; None for a new one, or one that has none.

        (From form to form mostly the texts differ, and working out the same feeds and blanks anew took most of
        the time.)
        """
        if shape in self._mould_kept:
            mould = self._mould_kept[shape]
            if not isinstance(mould, str):
                return mould
            mould = self._mould_kept[shape] = self._work_out_mould(shape)
            return mould
        if len(self._mould_kept) >= _MOULDS_KEPT:
            self._mould_kept.clear()
        self._mould_kept[shape] = "seen"
        return None

    def _work_out_mould(self, shape: "Shape") -> "Mould | None":
        """A form with room left for its texts; None when what is between them depends on how long they are."""
        advance, *places = shape
        if len(places) < 2:
            return None
        numbered = sorted(range(len(places)), key=lambda n: (places[n][1], places[n][0]))
        rooms = [0] * len(places)
        pieces: list[str] = []
        style = places[numbered[0]][2:]
        line = 0
        try:
            pieces.append(self._opening(advance, *style).replace("%", "%%"))
            for n, then in zip(numbered, [*numbered[1:], None], strict=True):
                x, y, *new = places[n]
                begins = n == numbered[0] or y != line
                if y != line:
                    pieces.append(self._feed(y - line).replace("%", "%%"))
                    line = y
                if begins:
                    pieces.append(self._move(0, x, style, (new[0], new[1])).replace("%", "%%"))
                    style = (new[0], new[1])
                elif (new[0], new[1]) != style:
                    return None
                rooms[n] = (self.printer.width - x) // new[0]
                if then is None or places[then][1] != y:
                    pieces.append("%s")
                    continue
                columns, off = divmod(places[then][0] - x, new[0])
                if off:
                    return None
                rooms[n] = min(rooms[n], columns)
                pieces.append(f"%-{columns}s" if columns else "%s")
            if line >= advance:
                return None
            pieces.append(self._feed(advance - line).replace("%", "%%"))
        except LanguageError:
            return None
        return Mould("".join(pieces), itemgetter(*numbered), tuple(rooms))

    def _write(self, marks: list[tuple[Mark, str]], advance: int) -> str:
        """One form, mark by mark, each with its text in the printer's own bytes."""
        marks.sort(key=_reading_order)
        style = marks[0][0][2:4] if marks else (next(iter(self.rep.pitches)), 0)
        key = (advance, *style)
        opening = self._opening_kept.get(key)
        if opening is None:
            if len(self._opening_kept) > _KEPT:
                self._opening_kept.clear()
            opening = self._opening_kept[key] = self._opening(advance, *style)
        sent = [opening]
        add = sent.append
        old_pitch, old_weight = style
        line = at = 0
        width = self.printer.width
        for (x, y, pitch, weight, _), text in marks:
            if y != line:
                add(self._feed(y - line))
                line, at = y, 0
            if pitch != old_pitch or weight != old_weight:
                add(self._move(at, x, (old_pitch, old_weight), (pitch, weight)))
                old_pitch, old_weight = pitch, weight
            elif x != at:
                blanks, off = divmod(x - at, pitch)
                if off or blanks < 0:
                    add(self._move(at, x, (old_pitch, old_weight), (pitch, weight)))
                else:
                    add(" " * blanks)
            add(text)
            at = x + pitch * len(text)
            if at > width:
                raise LanguageError(tr("a mark ends right of the carriage"))
        if line >= advance:
            raise LanguageError(tr("a mark is below the form"))
        add(self._feed(advance - line))
        return "".join(sent)


def _refuse_letters(texts: list[str], table: Table) -> None:
    """LanguageError for the first text with a letter that the table lacks."""
    try:
        for text in texts:
            as_bytes(text, table)
    except ValueError as error:
        raise LanguageError(str(error)) from None


def _fits(feed: Feed, step: int) -> bool:
    """Whether whole numbers of this way of feeding make whole steps, in numbers that may be sent."""
    multiple, off = divmod(step, feed.unit)
    return not off and 0 < multiple <= 255 and multiple not in AVOIDED
