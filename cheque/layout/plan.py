"""A form and a drawer made ready: everything that does not depend on the payment is worked out once.

What is left for each payment is a few short loops over tuples: texts in their places, texts closed by their
fill, addresses, the amount in words, the stub and its sums. A plan is made for each role of the form, because
an advice shows other things in the same places.
"""

from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import NamedTuple

from cheque import money, wording
from cheque.form.fields import DAYS
from cheque.form.model import Field, Form, Table
from cheque.form.what import WHAT
from cheque.layout import stub, values
from cheque.layout.cells import Cell, Put, Step, cell_of, cells_of, slot_of
from cheque.layout.shapes import Drawer, Misfit, account_refusal, refusal, too_long
from cheque.layout.sheets import OF_SHEETS, goes_on, sheets_step, struck_void
from cheque.layout.steps import address_step, advice_step, amount_step, name_step, names_step, put_block
from cheque.layout.strikes import void_of
from cheque.layout.stub import Stub, divided, lay_out_stub
from cheque.page import Mark, Page, Slot
from cheque.payment import Payment, Role, StubLine
from cheque.tongue import mark, tr

_new = tuple.__new__
#: greater than any amount
_NO_LIMIT = 10**30
#: a payment's role, as what was found
_ONE_OF = {Role.CHEQUE: mark("a cheque"), Role.ADVICE: mark("an advice"), Role.CONTINUATION: mark("a continuation")}
Condition = Callable[[Payment], bool]


class Steps(NamedTuple):
    """What is done for a payment: fixed marks and slots, texts, sums, and whatever needs more thought."""

    marks: tuple[Mark, ...]
    slots: tuple[Slot, ...]
    texts: tuple[tuple[values.Getter, Cell], ...]
    #: which sum, its place, and its field when something stands beside the figures
    sums: tuple[tuple[int, Cell, Field | None], ...]
    more: tuple[Step, ...]


class Plan(NamedTuple):
    """One role of a form, ready. `guarded` steps are done for the payments of which their condition holds."""

    steps: Steps
    guarded: tuple[tuple[Condition, Steps], ...]
    stub: Stub
    sums_needed: bool
    of_sheets: tuple[Field, ...] = ()


@lru_cache(maxsize=32)
def compiled(form: Form, drawer: Drawer) -> dict[Role, Plan]:
    """A plan for each role of the form. LayoutError when the account does not fit the form at all."""
    amiss: list[Misfit] = []
    if form.currency and form.currency != drawer.currency:
        do = tr("use a form for the account's currency")
        amiss.append(Misfit("currency", drawer.currency, form.currency, do))
    try:
        figures = values.figures_of(drawer.currency, drawer.locale)
        if any(field.what == "amount_words" for field in form.fields):
            wording.word(1, drawer.currency, drawer.locale, substitute=drawer.substitute)
    except wording.WordingError as error:
        amiss.append(Misfit("amount_words", str(error), tr("a locale and currency that can be worded")))
        raise account_refusal(drawer, form.name, amiss) from None
    roles = (*form.roles, Role.CONTINUATION) if form.overflow == "continue" else form.roles
    plans = {role: _Compiler(form, drawer, role, figures, amiss).plan() for role in roles}
    if amiss:
        raise account_refusal(drawer, form.name, dict.fromkeys(amiss))  # roles share most faults
    return plans


def lay_out(payment: Payment, form: Form, drawer: Drawer) -> tuple[Page, ...]:
    """The pages of one payment: its form, then those on which its stub goes on.

    LayoutError with everything of it that does not fit.
    """
    role = Role.ADVICE if payment.role is Role.CHEQUE and not payment.amount else payment.role
    plans = compiled(form, drawer)
    plan = plans.get(role)
    if plan is None or role is Role.CONTINUATION:
        takes = tr(" or ").join(tr(each) for each in form.roles)
        wanted = tr("a {roles}: the form takes no other", roles=takes)
        raise refusal(payment, form.name, [Misfit("roles", tr(_ONE_OF[role]), wanted)])
    amiss: list[Misfit] = []
    sheets: list[list[StubLine]] = []
    if form.overflow != "refuse" and len(payment.stub) > plan.stub.surely:
        sheets = divided(plan.stub, payment.stub)
    if len(sheets) < 2:
        pages: tuple[Page, ...] = (_page(payment, payment.stub, plan, amiss),)
    elif form.overflow == "listing":
        listed = len(payment.stub) - len(sheets[0])
        pages = (_page(payment, sheets[0], plan, amiss, sheets_step(form, plan.of_sheets, listed=listed)),)
    else:
        further = [plan] + [plans[Role.CONTINUATION]] * (len(sheets) - 1)
        pages = tuple(
            _page(payment, lines, one, amiss, sheets_step(form, one.of_sheets, sheet=place, sheets=len(sheets)))
            for place, (lines, one) in enumerate(zip(sheets, further, strict=True), 1)
        )
    if amiss:
        raise refusal(payment, form.name, amiss)
    return pages


def overflow(payment: Payment, form: Form, drawer: Drawer) -> tuple[int, int]:
    """How many forms beyond its first a payment takes, and how many of its stub lines stand on a listing instead."""
    if form.overflow == "refuse":
        return 0, 0
    plan = next(iter(compiled(form, drawer).values()))
    if len(payment.stub) <= plan.stub.surely:
        return 0, 0
    sheets = divided(plan.stub, payment.stub)
    if form.overflow == "listing":
        return 0, len(payment.stub) - len(sheets[0])
    return len(sheets) - 1, 0


def _page(
    payment: Payment,
    lines: Sequence[StubLine],
    plan: Plan,
    amiss: list[Misfit],
    more: tuple[tuple[Mark, ...], tuple[Slot, ...], list[Misfit]] | None = None,
) -> Page:
    """One form of a payment, with so many of its stub lines; `more` is what only one of several forms bears."""
    marks = list(plan.steps.marks)
    slots = plan.steps.slots
    put = marks.append
    sums = stub.totals(payment) if plan.sums_needed else ()
    _do(plan.steps, payment, sums, plan.stub.figures, put, amiss)
    for holds, steps in plan.guarded:
        if holds(payment):
            marks += steps.marks
            slots += steps.slots
            _do(steps, payment, sums, plan.stub.figures, put, amiss)
    if lines:
        lay_out_stub(plan.stub, lines, put, amiss)
    if more is not None:
        marks += more[0]
        slots += more[1]
        amiss += more[2]
    return Page(tuple(marks), slots)


def _do(
    steps: Steps, payment: Payment, sums: stub.Totals, figures: values.Money, put: Put, amiss: list[Misfit]
) -> None:
    for get, cell in steps.texts:
        text = get(payment)
        if text:
            x, y, pitch, weight, width, share, name = cell
            spare = width - len(text)
            if spare < 0:
                amiss.append(too_long(name, text, width))
            if share:
                x += spare * share // 2 * pitch
            put(_new(Mark, (x, y, pitch, weight, text)))
    for index, cell, beside in steps.sums:
        amount = sums[index]
        if amount is not None:
            text = values.dress(figures(amount), beside) if beside else figures(amount)
            x, y, pitch, weight, width, share, name = cell
            spare = width - len(text)
            if spare < 0:
                amiss.append(too_long(name, text, width))
            if share:
                x += spare * share // 2 * pitch
            put(_new(Mark, (x, y, pitch, weight, text)))
    for step in steps.more:
        step(payment, put, amiss)


def _kind(field: Field) -> str:
    return WHAT[field.what].kind if field.what in WHAT else "constant"


class _Compiler:
    """Sorts the fields of a form, for one role and drawer, into what is fixed and what depends on the payment."""

    def __init__(self, form: Form, drawer: Drawer, role: Role, figures: values.Money, amiss: list[Misfit]) -> None:
        self.form, self.drawer, self.role, self.figures, self.amiss = form, drawer, role, figures, amiss

    def plan(self) -> Plan:
        """The whole plan."""
        shown = [f for f in (*self.form.fields, *self.form.constants) if self._in_role(f)]
        steps = self._steps([f for f in shown if not f.when.by_payment])
        guarded = [(self._condition(f), self._steps([f])) for f in shown if f.when.by_payment]
        tables = [table for table in self.form.tables if self._in_role(table)]
        sums_needed = bool(steps.sums) or any(inner.sums for _, inner in guarded)
        of_sheets = tuple(field for field in shown if _kind(field) in OF_SHEETS)
        return Plan(steps, tuple(guarded), stub.prepare(self.form, tables, self.figures), sums_needed, of_sheets)

    def _in_role(self, one: Field | Table) -> bool:
        roles = one.when.roles
        if self.role is not Role.CONTINUATION or isinstance(one, Table):
            return not roles or self.role in roles
        return goes_on(self.form, one)

    def _condition(self, field: Field) -> Condition:
        """Whether the field is struck for a payment, as one question with every part of its `when`."""
        when = field.when
        over = self._limit(field, when.over) if when.over else -1
        up_to = self._limit(field, when.up_to) if when.up_to else _NO_LIMIT
        if not when.departments and not when.since and not when.until:
            return lambda payment: over < payment.amount <= up_to
        departments, since, until = when.departments, when.since, when.until or "9999"

        def holds(payment: Payment) -> bool:
            return (
                over < payment.amount <= up_to
                and since <= payment.date <= until
                and (not departments or payment.department in departments)
            )

        return holds

    def _limit(self, field: Field, text: str) -> int:
        """The limit in minor units. An account without one for two signatures has none that is ever passed."""
        try:
            limit = values.limit_of(text, self.drawer)
        except money.AmountError as error:
            self.amiss.append(Misfit(field.name, str(error), tr("a limit in the account's currency")))
            limit = 0
        return _NO_LIMIT if limit is None else limit

    def _steps(self, fields: list[Field]) -> Steps:
        marks: list[Mark] = []
        slots: list[Slot] = []
        texts: list[tuple[values.Getter, Cell]] = []
        sums: list[tuple[int, Cell, Field | None]] = []
        more: list[Step] = []
        amounts: dict[str, Field] = {}
        for field in sorted(fields, key=lambda f: (f.line, f.column)):
            kind = _kind(field)
            cell = cell_of(self.form, field)
            if kind == "slot":
                slots.append(slot_of(self.form, field))
            elif kind in OF_SHEETS:
                continue  # only one of several forms bears it
            elif self.role is Role.CONTINUATION and struck_void(self.form, field):
                marks += void_of(self.form, field)
            elif kind == "money":
                beside = field if field.prefix or field.suffix else None
                sums.append((values.TOTALS.index(field.what), cell, beside))
            elif kind == "constant":
                self._constant(cell, field, marks)
            elif kind == "space":
                marks += void_of(self.form, field) if self._void() else ()
            elif kind == "block" and field.what == "drawer_address":
                put_block(field, cells_of(self.form, field), self.drawer.address, marks.append, self.amiss)
            elif kind == "block":
                more.append(address_step(self.form, field))
            elif kind in {"words", "figures"}:
                amounts[kind] = field
            elif kind == "name" and field.lines > 1:
                more.append(names_step(field, cells_of(self.form, field)))
            elif kind == "name" and field.fill:
                more.append(name_step(field, cell))
            elif (fixed := values.of_drawer(field, self.drawer)) is not None:
                self._fixed(cell, fixed, marks)
                if field.what == "place" and not fixed:
                    do = tr('add place = "…" to the account in cheque.toml')
                    self.amiss.append(Misfit(field.name, tr("nothing"), tr("the place of issue"), do))
            else:
                texts.append((values.of_payment(field), cell))
        if amounts:
            more.append(self._amounts(amounts.get("words"), amounts.get("figures")))
        return Steps(tuple(marks), tuple(slots), tuple(texts), tuple(sums), tuple(more))

    def _void(self) -> bool:
        """Whether this is an advice on a cheque's stock, which is struck VOID where a cheque is signed."""
        return self.role is Role.ADVICE and Role.CHEQUE in self.form.roles

    def _constant(self, cell: Cell, field: Field, marks: list[Mark]) -> None:
        days = self.drawer.stale_after_days
        if DAYS in field.text and days is None:
            wanted, do = (
                tr("the days after which the account's cheques are stale"),
                tr("state stale_after_days for the account"),
            )
            self.amiss.append(Misfit(field.name, tr("nothing"), wanted, do))
            return
        self._fixed(cell, field.text.replace(DAYS, str(days)), marks)

    def _fixed(self, cell: Cell, text: str, marks: list[Mark]) -> None:
        if len(text) > cell.width:
            self.amiss.append(too_long(cell.name, text, cell.width))
        elif text:
            marks.append(cell.mark(text))

    def _amounts(self, words: Field | None, figures: Field | None) -> Step:
        if self.role is Role.ADVICE and self.form.payable:
            return advice_step(self.form, words, figures, void=self._void())
        return amount_step(self.form, words, figures, self.drawer)
