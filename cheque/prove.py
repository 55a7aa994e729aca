"""The proof: what a form's bytes strike, as one canonical page, its digest, and the code a person keys in.

A canonical page is a sorted tuple of runs in exact units relative to the form, the shift taken out, blanks
dropped: two encoders that cut or order the same strikes differently give the same page. A form's own number
stands in slots, which are cut out; so the digest of a page is the same on whatever form it is printed.

Serial form, by its tag: a page is its lines, one a row, `y x pitch weight text` and LF, sorted by those
five; a line holds all runs of one y, pitch and weight whose columns fall on one grid, blanks between them
(letters struck over each other go to further lines, in the order of their code points). No text holds a LF,
so nothing can be read two ways. SHA-256 throughout, as lower-case hex.

>>> page = canonical([Mark(10, 0, 10, 0, "to J. Marlow"), Mark(10, 0, 10, 0, "to")])
>>> [(run.x, run.text) for run in page]
[(10, 'to'), (10, 'to'), (40, 'J.'), (70, 'Marlow')]
>>> proof_code("9" * 64)
'M8ET-M8ET'
>>> same_code("m8et m8et", "M8ET-M8ET")
True
"""

import json
import re
from collections.abc import Iterable, Sequence
from hashlib import sha256
from operator import attrgetter

from cheque.language import DecodeError, Language, Printer, Strikes
from cheque.page import Mark, Page, Shift, Slot
from cheque.tongue import tr

PAGE_TAG = b"cheque page 1\n"
PAYMENT_TAG = b"cheque payment 1\n"
PROOF_TAG = "cheque proof 1"
ALPHABET = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
_READING_ORDER = attrgetter("y", "x", "pitch", "weight", "text")
_RUN = re.compile("[^ ]+")
_NO_SHIFT = Shift()
_ROW = "%d %d %d %d %s\n"

#: y, x, pitch, weight, text with inner blanks only
Line = tuple[int, int, int, int, str]


class ProofError(ValueError):
    """The bytes do not strike what was proved; the message says what differs."""


def canonical(marks: Iterable[Mark], shift: Shift = _NO_SHIFT) -> tuple[Mark, ...]:
    """The canonical page of what was struck, `shift` subtracted: runs without blanks, in reading order."""
    runs = [
        Mark(x + pitch * found.start(), y, pitch, weight, found.group())
        for y, x, pitch, weight, text in _lines(marks, shift)
        for found in _RUN.finditer(text)
    ]
    runs.sort(key=_READING_ORDER)
    return tuple(runs)


def open_slots(page: Iterable[Mark], slots: Sequence[Slot], number: str) -> tuple[Mark, ...]:
    """The canonical page with the slots cut out.

    Raises ProofError unless every slot holds exactly the number, at its left end, and nothing else.
    """
    return canonical(Mark(x, y, p, w, t) for y, x, p, w, t in _cut(_lines(page, _NO_SHIFT), slots, number))


def page_digest(page: Iterable[Mark]) -> str:
    """The digest of one form's page, slots already cut out. Any marks of the same cells give the same."""
    return _digest(_lines(page, _NO_SHIFT))


def laid_out_digest(page: Page) -> str:
    """The digest as the layout would have it, unnumbered; only to check against that of the decoded bytes."""
    return page_digest(page.marks)


def payment_digest(page_digests: Iterable[str]) -> str:
    """The digest of one payment: its forms' page digests in order, continuations included."""
    return sha256(PAYMENT_TAG + "\n".join(page_digests).encode()).hexdigest()


class ProofDigest:
    """The digest of a batch, a payment at a time: nothing is kept but the running hash."""

    def __init__(self, *, form_digest: str, account: str, currency: str, item_count: int, control_total: int) -> None:
        self.item_count = item_count
        self.added = 0
        head = [PROOF_TAG, form_digest, account, currency, item_count, control_total]
        self._running = sha256(json.dumps(head, ensure_ascii=True, separators=(",", ":")).encode() + b"\n")

    def add(self, payment: str) -> None:
        """The next payment's digest, in register order."""
        self.added += 1
        self._running.update(payment.encode() + b"\n")

    def hexdigest(self) -> str:
        """The proof digest. ValueError when the payments added are not as many as the item count."""
        if self.added != self.item_count:
            raise ValueError(
                tr(
                    "{added} payments were added to a proof of {item_count}",
                    added=self.added,
                    item_count=self.item_count,
                )
            )
        return self._running.hexdigest()


def proof_digest(
    form_digest: str,
    account: str,
    currency: str,
    item_count: int,
    control_total: int,
    payment_digests: Iterable[str],
) -> str:
    """The proof digest in one go; see `ProofDigest`. `control_total` is in minor units."""
    proof = ProofDigest(
        form_digest=form_digest,
        account=account,
        currency=currency,
        item_count=item_count,
        control_total=control_total,
    )
    for digest in payment_digests:
        proof.add(digest)
    return proof.hexdigest()


def proof_code(digest: str) -> str:
    """The first 40 bits of a digest as eight letters without look-alikes (no 0, O, 1, I)."""
    bits = int(digest[:10], 16)
    letters = "".join(ALPHABET[bits >> place & 31] for place in range(35, -1, -5))
    return f"{letters[:4]}-{letters[4:]}"


def same_code(one: str, other: str) -> bool:
    """Whether two codes are the same, however typed: case, blanks and hyphens do not count."""
    codes = ["".join(code.split()).replace("-", "").upper() for code in (one, other)]
    return codes[0] == codes[1] and len(codes[0]) == 8 and all(letter in ALPHABET for letter in codes[0])


def digest_strikes(strikes: Strikes, *, slots: Sequence[Slot], number: str, shift: Shift = _NO_SHIFT) -> str:
    """The page digest of one form as decoded. The same as by `canonical`, `open_slots` and `page_digest`."""
    return _digest(_cut(_lines(strikes.marks, shift), slots, number))


def check_form(
    data: bytes,
    language: Language,
    printer: Printer,
    *,
    slots: Sequence[Slot],
    number: str,
    shift: Shift,
    advance: int,
    page_digest: str,
) -> Strikes:
    """Prove the very bytes of one form: they feed `advance`, hold the number, and strike the page proved.

    Raises ProofError, with a sentence saying which of these does not hold.
    """
    try:
        strikes = language.decode(data, printer)
    except DecodeError as error:
        raise ProofError(
            tr("the bytes of form {number} cannot be read back: {error}", number=number, error=error)
        ) from None
    if strikes.advance != advance:
        raise ProofError(
            tr(
                "the bytes of form {number} feed {advance} units instead of {advance2}",
                number=number,
                advance=strikes.advance,
                advance2=advance,
            )
        )
    if digest_strikes(strikes, slots=slots, number=number, shift=shift) != page_digest:
        raise ProofError(tr("the bytes of form {number} do not strike what the proof showed", number=number))
    return strikes


def _lines(marks: Iterable[Mark], shift: Shift) -> list[Line]:
    """Marks gathered into the lines of the serial form, in no order.

    The usual page, where nothing lies over anything and marks come in reading order, is gathered mark by
    mark; any other is taken apart into its cells. Both give the same lines.
    """
    marks = marks if isinstance(marks, tuple) else tuple(marks)
    gathered: dict[tuple[int, int, int, int], tuple[int, int, str]] = {}
    for x, y, pitch, weight, text in marks:
        bare = text.strip(" ")
        if bare != text or not bare:
            if not bare:
                continue
            x += pitch * (len(text) - len(text.lstrip(" ")))
        key = (y, pitch, weight, x % pitch)
        before = gathered.get(key)
        if before is None:
            gathered[key] = (x, x + pitch * len(bare), bare)
        elif x < before[1]:
            return _lines_by_cell(marks, shift)
        else:
            blanks = " " * ((x - before[1]) // pitch)
            gathered[key] = (before[0], x + pitch * len(bare), f"{before[2]}{blanks}{bare}")
    right, down = shift
    return [(y - down, x - right, pitch, weight, text) for (y, pitch, weight, _), (x, _, text) in gathered.items()]


def _lines_by_cell(marks: tuple[Mark, ...], shift: Shift) -> list[Line]:
    """As `_lines`, for marks in any order and over each other: line n takes the n-th letter of each column."""
    columns: dict[tuple[int, int, int, int], dict[int, list[str]]] = {}
    for x, y, pitch, weight, text in marks:
        grid = columns.setdefault((y, pitch, weight, x % pitch), {})
        for place, letter in enumerate(text):
            if letter != " ":
                grid.setdefault(x + place * pitch, []).append(letter)
    found: list[Line] = []
    for (y, pitch, weight, _), grid in columns.items():
        starts: list[int] = []
        texts: list[str] = []
        for x in sorted(grid):
            for depth, letter in enumerate(sorted(grid[x])):
                if depth == len(texts):
                    starts.append(x)
                    texts.append("")
                texts[depth] = texts[depth].ljust((x - starts[depth]) // pitch) + letter
        found += [(y - shift.down, x - shift.right, pitch, weight, text) for x, text in zip(starts, texts, strict=True)]
    return found


def _cut(lines: list[Line], slots: Sequence[Slot], number: str) -> list[Line]:
    """The lines without the slots; ProofError unless each held the number and nothing else."""
    heights = {slot.y for slot in slots}
    left = [line for line in lines if line[0] not in heights]
    near = [line for line in lines if line[0] in heights]
    for slot in slots:
        shown = slot.shows(number)
        wanted = shown.ljust(slot.width)
        held = False
        for place, (y, x, pitch, weight, text) in enumerate(near):
            if y != slot.y or pitch != slot.pitch or weight != slot.weight or (slot.x - x) % pitch:
                continue
            start = (slot.x - x) // pitch
            there = text[max(start, 0) : max(start + slot.width, 0)]
            if not there.strip(" "):
                continue
            if held or start < 0 or there.ljust(slot.width) != wanted:
                raise ProofError(
                    tr("the place of the number holds {strip!r} instead of {shown}", strip=there.strip(), shown=shown)
                )
            held = True
            rest = f"{text[:start]}{' ' * slot.width}{text[start + slot.width :]}"
            bare = rest.strip(" ")
            near[place] = (y, x + pitch * (len(rest) - len(rest.lstrip(" "))), pitch, weight, bare)
        if not held:
            raise ProofError(tr("the place of the number does not hold {shown}", shown=shown))
    return left + [line for line in near if line[4]]


def _digest(lines: list[Line]) -> str:
    lines.sort()
    flat = [value for line in lines for value in line]
    return sha256(PAGE_TAG + (_ROW * len(lines) % tuple(flat)).encode()).hexdigest()
