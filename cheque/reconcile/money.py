"""From the register's total to the good cheques, step by step: what explains the difference, payment by payment.

The register's total covers payments by cheque; an advice (nothing to pay, or paid by transfer) adds nothing to
it. What is taken off is named: payments pulled, voided and not printed again, still waiting for a form, in
doubt. What is left must be the sum of the good cheques themselves, wherever they were printed.
"""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from cheque.book.batches import Batch
from cheque.book.book import Reader
from cheque.book.state import LIVE, State
from cheque.money import plain
from cheque.payment import Role
from cheque.reconcile.finding import Step
from cheque.reconcile.written import Preprinted
from cheque.tongue import mark, tr


class Claim(NamedTuple):
    """A payment of the batch, as the book's tables have it."""

    item: int
    payee: str
    amount: int
    role: str
    expected: str
    pulled: str
    origin_batch: int
    origin_item: int


class Form(NamedTuple):
    """A number that carries, or carried, one of the payments; in this batch or in a reprint of it."""

    account: str
    number: int
    stock: int
    state: str
    role: str
    batch: int
    item: int
    amount: int
    payee: str
    reason: str
    custody: str
    stop: str
    sent: int

    @property
    def may_be_out(self) -> bool:
        """Whether it is missing, and bytes for a cheque may have reached it."""
        return self.state == State.MISSING and self.role == Role.CHEQUE and self.sent > 0


class Fate(NamedTuple):
    """What became of one payment, and the number to name for it (None when there is none)."""

    claim: Claim
    key: str
    form: Form | None


#: step -> what it is called where it is taken off
TAKEN_OFF = {
    "withdrawn": mark("the batch was withdrawn"),
    "advice": mark("advices, which are no money by cheque"),
    "pulled": mark("pulled before printing"),
    "voided": mark("voided, not printed again"),
    "missing": mark("on a missing form that may bear a cheque"),
    "waiting": mark("still waiting for a form"),
    "doubt": mark("in doubt: sent or reserved, nobody has looked"),
}


def claims(reader: Reader, batch: int) -> list[Claim]:
    """The payments of a batch in register order."""
    return [
        Claim(*row)
        for row in reader.rows(
            "SELECT item, payee, amount, role, expected, pulled, origin_batch, origin_item FROM claim "
            "WHERE batch = ? ORDER BY item",
            batch,
        )
    ]


def forms(reader: Reader, batch: int) -> dict[tuple[int, int], list[Form]]:
    """By a payment's origin: every number that ever carried it, in the order in which they took it on.

    A form on which only its stub goes on carries nothing of it.
    """
    found: dict[tuple[int, int], list[Form]] = {}
    for row in reader.rows(
        "SELECT n.origin_batch, n.origin_item, n.account, n.number, n.stock, n.state, n.role, n.batch, n.item, "
        "p.amount, p.payee, n.reason, n.custody, n.stop, n.sent FROM claim c "
        "JOIN number n ON n.origin_batch = c.origin_batch AND n.origin_item = c.origin_item "
        "JOIN claim p ON p.batch = n.batch AND p.item = n.item WHERE c.batch = ? AND n.role <> 'continuation' "
        "ORDER BY n.taken, n.number",
        batch,
    ):
        found.setdefault((row[0], row[1]), []).append(Form(*row[2:]))
    return found


def fates(batch: Batch, every: Iterable[Claim], carried: dict[tuple[int, int], list[Form]]) -> list[Fate]:
    """What became of each payment: good, elsewhere, or a key of TAKEN_OFF."""
    return [_fate(batch, claim, carried.get((claim.origin_batch, claim.origin_item), [])) for claim in every]


def _fate(batch: Batch, claim: Claim, carried: list[Form]) -> Fate:
    live = [form for form in carried if form.state in LIVE]
    if not any(form.batch == batch.id for form in live):
        if claim.pulled:
            return Fate(claim, "pulled", None)
        if batch.state != "accepted":
            return Fate(claim, "withdrawn", None)
    if live:
        form = live[-1]
        if form.state != State.PRINTED:
            return Fate(claim, "doubt", form)
        return Fate(claim, "good" if form.batch == batch.id else "elsewhere", form)
    # a reprint's payment carries the voided cheque that it replaces: that one was an earlier batch's
    voided = [form for form in carried if form.state == State.VOIDED and form.batch >= batch.id]
    if voided:
        return Fate(claim, "voided", voided[-1])
    mine = [form for form in carried if form.batch >= batch.id]
    if mine and mine[-1].may_be_out:
        return Fate(claim, "missing", mine[-1])
    return Fate(claim, "waiting", mine[-1] if mine else None)


def steps(batch: Batch, every: list[Fate], numbers: Preprinted) -> list[Step]:
    """The steps from the register's total to the good cheques, which the last two give."""
    found = [Step("accepted", tr("accepted from the register"), batch.items, batch.total)]
    for key, marked in TAKEN_OFF.items():
        label = tr(marked)
        if key == "advice":
            taken = [fate for fate in every if fate.claim.role != Role.CHEQUE]
            amount = 0
        else:
            taken = [fate for fate in every if fate.key == key and fate.claim.role == Role.CHEQUE]
            amount = sum(fate.claim.amount for fate in taken)
        if taken:
            named = tuple(_named(fate, batch.currency, numbers) for fate in taken)
            found.append(Step(key, tr("less {label}", label=label), -len(taken), -amount, named))
    good = [fate for fate in every if fate.key in ("good", "elsewhere") and fate.claim.role == Role.CHEQUE]
    found.append(Step("good", tr("good cheques"), len(good), _sum(good)))
    elsewhere = [fate for fate in good if fate.key == "elsewhere"]
    if elsewhere:
        named = tuple(_named(fate, batch.currency, numbers) for fate in elsewhere)
        found.append(
            Step("elsewhere", tr("of these, printed again as another batch"), len(elsewhere), _sum(elsewhere), named)
        )
    return found


def _sum(good: list[Fate]) -> int:
    """The sum of the cheques themselves, not of what the register says of them."""
    return sum(fate.form.amount for fate in good if fate.form)


def _named(fate: Fate, currency: str, numbers: Preprinted) -> str:
    claim, form = fate.claim, fate.form
    text = tr(
        "payment {item}, {payee}, {amount}", item=claim.item, payee=claim.payee, amount=plain(claim.amount, currency)
    )
    if claim.pulled:
        return f"{text}: {claim.pulled}"
    if form is None:
        return text
    number = numbers.text(form.stock, form.number)
    if fate.key == "elsewhere":
        return tr("{text}: on {number}, batch {batch}", text=text, number=number, batch=form.batch)
    return tr("{text}: {number} is {state}", text=text, number=number, state=tr(form.state)) + (
        f" ({form.reason})" if form.reason else ""
    )


def disagreements(batch: Batch, every: list[Fate], carried: dict[tuple[int, int], list[Form]]) -> list[str]:
    """What does not agree in the money, or between a payment and the forms that carry it.

    The law of the house that a payment has one live cheque is among it, though the book refuses to break it.
    """

    def write(minor: int) -> str:
        return plain(minor, batch.currency)

    cheques = [fate for fate in every if fate.claim.role == Role.CHEQUE]
    total = sum(fate.claim.amount for fate in cheques)
    found = []
    if total != batch.total:
        found.append(
            tr(
                "the payments come to {write}, but the batch was accepted with {write2}",
                write=write(total),
                write2=write(batch.total),
            )
        )
    if len(every) != batch.items:
        found.append(
            tr("the batch has {count} payments, but was accepted with {items}", count=len(every), items=batch.items)
        )
    for fate in every:
        mine = carried.get((fate.claim.origin_batch, fate.claim.origin_item), [])
        found += _contradictions(batch, fate.claim, mine)
    left = total - sum(fate.claim.amount for fate in cheques if fate.key in TAKEN_OFF)
    good = _sum([fate for fate in cheques if fate.key in ("good", "elsewhere")])
    if left != good:
        found.append(
            tr(
                "what is explained leaves {write} of the register's total, but the good cheques come to {write2}",
                write=write(left),
                write2=write(good),
            )
        )
    return found


def _contradictions(batch: Batch, claim: Claim, carried: list[Form]) -> Iterator[str]:
    live = [form for form in carried if form.state in LIVE]
    what = tr("payment {item}, {payee},", item=claim.item, payee=claim.payee)
    if len(live) > 1:
        yield tr(
            "{what} is on {list}, all live", what=what, list=tr(" and on ").join(str(form.number) for form in live)
        )
    for form in live:
        if form.batch == batch.id and claim.pulled:
            yield tr(
                "{what} was pulled, yet {number} is {state} with it",
                what=what,
                number=form.number,
                state=tr(form.state),
            )
        if form.batch == batch.id and batch.state != "accepted":
            yield tr(
                "{what} is of a batch withdrawn, yet {number} is {state} with it",
                what=what,
                number=form.number,
                state=tr(form.state),
            )
    for form in carried:
        if (form.amount, form.payee) != (claim.amount, claim.payee):
            yield (
                tr(
                    "{what} {amount}, stands on {number} as {payee}, {amount2}",
                    what=what,
                    amount=plain(claim.amount, batch.currency),
                    number=form.number,
                    payee=form.payee,
                    amount2=plain(form.amount, batch.currency),
                )
            )
