"""A form definition: one numbered set of stock, what is printed where, and which part shows it to whom.

Immutable, and nothing but lengths in units (`cheque.units`), counts and text. Lengths on the paper are
measured from the upper left corner after bursting (the sprocket strips torn off); lines and columns count
from 1, as on a printer spacing chart. `Grid.left` and `Grid.top` say where column 1 and line 1 stand on that
paper, so that a mark of a page at (x, y) stands on the paper at (x + grid.left, y + grid.top).

`places(form)` gives everything that can be struck as rectangles on the paper: the fields, the columns of the
tables and the constants alike. Checks, slack and pictures all work from it.
"""

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from cheque.form.geometry import Area
from cheque.page import Weight
from cheque.payment import Kind, Payment, Role
from cheque.units import INCH, POINT

#: The bottom 5/8 in of a cheque is kept for magnetic characters, its whole length
#: (ANSI X9.100-160-1; ISO 1004-1 from memory). On this tool's forms nothing at all is struck there.
CLEAR_BAND = INCH * 5 // 8

#: A preprinted character is drawn in a cell of 3/5 of its type size, so that a caption's width is exact.
CELL_OF_SIZE = (3, 5)

#: places for the number of another form of the same payment
OTHER_NUMBERS = ("next_number", "first_number")


@dataclass(frozen=True, slots=True)
class Paper:
    """The sheet after bursting; `strip` is the width of each sprocket strip outside it (0: none).

    `perforations` run across, measured from the top; `side_perforations` run down, measured from the left.
    """

    width: int
    length: int
    strip: int = 0
    perforations: tuple[int, ...] = ()
    side_perforations: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Grid:
    """The spacing chart: `pitch` from column to column, `spacing` from line to line, and where 1, 1 stands."""

    pitch: int
    spacing: int
    left: int = 0
    top: int = 0


@dataclass(frozen=True, slots=True)
class Look:
    """How the whole form is struck: quality draft or letter, the weight, in one direction only or not."""

    quality: str = "draft"
    weight: int = int(Weight.NORMAL)
    one_direction: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """One sheet of the set, the top one first: whom it goes to, its own sheet, and what does not take the image.

    A sheet narrower than the paper starts at `left` and is `width` wide; width 0 is the whole paper.
    `legend` is the wording preprinted on this part ("PAYROLL COPY"). `must_not_show` is a promise: things (by
    `cheque.form.what`) that its reader must never see, wherever on the form they are struck.
    """

    name: str
    goes_to: str
    legend: str = ""
    left: int = 0
    width: int = 0
    blocked: tuple[Area, ...] = ()
    must_not_show: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Cheque:
    """The part of the form that is the cheque, and the height of its clear band."""

    area: Area
    clear: int = CLEAR_BAND

    @property
    def clear_band(self) -> Area:
        """The band at the bottom of the cheque, its whole length, in which nothing is struck."""
        return Area(self.area.left, self.area.bottom - self.clear, self.area.width, self.clear)


@dataclass(frozen=True, slots=True)
class When:
    """On which forms something is printed: all conditions together; none means always.

    roles: the roles of the form. over: the amount is greater than this ("two signatures" for the account's
    own limit, else an amount such as "5000.00"); up_to: it is not greater. departments: of the payee. since,
    until: the first and the last date (ISO) of the payments that have it.
    """

    roles: tuple[Role, ...] = ()
    over: str = ""
    up_to: str = ""
    departments: tuple[str, ...] = ()
    since: str = ""
    until: str = ""

    @property
    def by_payment(self) -> bool:
        """Whether it depends on the payment, and not on the role alone."""
        return bool(self.over or self.up_to or self.departments or self.since or self.until)

    def excludes(self, other: "When") -> bool:
        """Whether the two can never hold together, so that both may have the same place."""
        return (
            _apart(self.roles, other.roles)
            or _apart(self.departments, other.departments)
            or _never_over(self.over, other.up_to)
            or _never_over(other.over, self.up_to)
            or bool(self.until and other.since and self.until < other.since)
            or bool(other.until and self.since and other.until < self.since)
        )


def _apart(these: tuple[str, ...], others: tuple[str, ...]) -> bool:
    return bool(these and others and not set(these) & set(others))


def _never_over(over: str, up_to: str) -> bool:
    """Whether no amount is greater than the one and not greater than the other."""
    if not over or not up_to:
        return False
    if over == up_to:
        return True
    return over[0].isdigit() and up_to[0].isdigit() and Fraction(over) >= Fraction(up_to)


ALWAYS = When()


@dataclass(frozen=True, slots=True)
class Field:
    """A place for one thing: `what` it shows (see `cheque.form.what`), from `line`, `column`, `width` wide.

    `lines` under each other on the grid; `align` left, right or centre; `fill` closes every open column;
    `case` as-is or upper; `pattern` is a date's; `pitch` 0 and `weight` None are the form's own.
    `hidden_from` names the parts that must not show it. `box` is the preprinted frame it must stay in.
    `text` is what a constant says, `{days}` in it standing for the days after which the account's cheques are stale.
    """

    name: str
    what: str
    line: int
    column: int
    width: int
    lines: int = 1
    align: str = "left"
    fill: str = ""
    case: str = "as-is"
    pattern: str = ""
    prefix: str = ""
    suffix: str = ""
    pitch: int = 0
    weight: int | None = None
    text: str = ""
    when: When = ALWAYS
    hidden_from: tuple[str, ...] = ()
    box: Area | None = None


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: what of each stub line it shows, and for which kinds of line (none: all)."""

    what: str
    column: int
    width: int
    align: str = "left"
    pattern: str = ""
    kinds: tuple[Kind, ...] = ()
    hidden_from: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Table:
    """Stub lines of the kinds in `shows`, one a printed line, `lines` of them from `line` down.

    With `wrap`, a text too long for its column goes on in the next lines, broken at blanks.
    """

    name: str
    shows: tuple[Kind, ...]
    line: int
    lines: int
    columns: tuple[Column, ...]
    wrap: bool = False
    weight: int | None = None
    when: When = ALWAYS
    hidden_from: tuple[str, ...] = ()
    box: Area | None = None


@dataclass(frozen=True, slots=True)
class Caption:
    """Preprinted wording: `text` in type of `size`; x is its left, middle or right by `align`, `top` its top.

    what: "text"; "legend" (each part's own legend stands here); "number" (the stock's own number stands
    here, and `text` is a specimen that gives its width). `parts` names the sheets that carry it (none: all).
    """

    x: int
    top: int
    size: int
    text: str
    what: str = "text"
    align: str = "left"
    bold: bool = False
    parts: tuple[str, ...] = ()

    def area(self, text: str | None = None) -> Area:
        """The room it takes: cells of 3/5 of the type size, one a character."""
        said = self.text if text is None else text
        width = len(said) * self.size * CELL_OF_SIZE[0] // CELL_OF_SIZE[1]
        left = self.x - {"left": 0, "centre": width // 2, "right": width}[self.align]
        return Area(left, self.top, width, self.size)


@dataclass(frozen=True, slots=True)
class Rule:
    """A preprinted line, from left, top: `width` long across, or `height` long down (the other is 0)."""

    left: int
    top: int
    width: int = 0
    height: int = 0
    thickness: int = POINT // 2
    parts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Box:
    """A preprinted frame; `drawn` "outline", "shade" or "none" (a frame only the checks know)."""

    name: str
    area: Area
    drawn: str = "outline"
    thickness: int = POINT // 2
    parts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Preprint:
    """What the stock carries before it is struck, fully enough to draw the blank form."""

    captions: tuple[Caption, ...] = ()
    rules: tuple[Rule, ...] = ()
    boxes: tuple[Box, ...] = ()


@dataclass(frozen=True)
class Form:
    """A whole form definition. `digest` and `cheque.form.to_text` depend on all of it and on nothing else.

    `advice` is the wording that stands in the amount fields of an advice; "" when the form takes none.
    `currency` "" takes any; `overflow` says what becomes of stub lines that do not fit: refuse (the payment), continue
    (on the following forms, their cheques struck VOID), listing (they stand on a listing on plain paper).
    `payable` False: a numbered paper that pays nothing by itself (a delivery note, a petty-cash voucher); all that it
    bears has the role of advice, and its amounts are struck as they are. `set_aside` names rules of the country that
    the bank has agreed to do without.
    """

    name: str
    title: str
    country: str
    roles: tuple[Role, ...]
    paper: Paper
    grid: Grid
    parts: tuple[Part, ...]
    look: Look = Look()
    currency: str = ""
    advice: str = ""
    overflow: str = "refuse"
    cheque: Cheque | None = None
    fields: tuple[Field, ...] = ()
    tables: tuple[Table, ...] = ()
    constants: tuple[Field, ...] = ()
    preprint: Preprint = Preprint()
    payable: bool = True
    set_aside: tuple[str, ...] = ()

    @cached_property
    def digest(self) -> str:
        """SHA-256, as hex, over the canonical JSON of the definition; comments and key order do not matter."""
        from cheque.form.text import digest

        return digest(self)

    def __hash__(self) -> int:
        return hash(self.digest)

    @property
    def sheet(self) -> Area:
        """The paper after bursting, as an area."""
        return Area(0, 0, self.paper.width, self.paper.length)

    @property
    def number_width(self) -> int:
        """The longest number that fits wherever this form's number is struck; 0 when it is nowhere."""
        own = [f.width for f in self.fields if f.what == "number"]
        return min(own + [f.width - len(f.prefix) for f in self.fields if f.what in OTHER_NUMBERS], default=0)

    def bears(self, payment: Payment) -> Payment:
        """A register's payment as this form bears it: on a paper that pays nothing it is never money out."""
        if self.payable or payment.role is not Role.CHEQUE:
            return payment
        return payment._replace(role=Role.ADVICE)

    def part_area(self, part: Part) -> Area:
        """The sheet of one part, as an area on the paper."""
        return Area(part.left, 0, part.width or self.paper.width - part.left, self.paper.length)

    def takes_no_image(self, part: Part) -> tuple[Area, ...]:
        """Where a strike does not mark this part: its blocked areas, and beside a narrower sheet."""
        sheet = self.part_area(part)
        beside = (
            Area(0, 0, sheet.left, sheet.height),
            Area(sheet.right, 0, self.paper.width - sheet.right, sheet.height),
        )
        return part.blocked + tuple(area for area in beside if area.width > 0)
