"""The numbers of a batch reconciled: what became of each, against the register, the stock and the money.

Every number from the first to the last of the batch's runs is accounted for. A form that is on hand in the book
although a higher number was used on the same printer was passed over: it is somewhere, and nobody said where;
only a physical count of the box that agrees explains it. Forms in doubt are not explained until somebody looked.
"""

from collections.abc import Iterable, Iterator

from cheque.book import batches, stock, stops
from cheque.book.batches import Batch
from cheque.book.book import COLUMNS, Reader
from cheque.book.event import Event
from cheque.book.runs import Run, of_batch
from cheque.book.state import State
from cheque.payment import Role
from cheque.reconcile import money
from cheque.reconcile.finding import Finding, Line, Stretch
from cheque.reconcile.lines import accounted, identity
from cheque.reconcile.moved import Moved, moves
from cheque.reconcile.shifts import Along, Carried
from cheque.reconcile.written import Preprinted, within, written
from cheque.tongue import tr


def reconcile(reader: Reader, batch: int, today: str = "") -> Finding:
    """Reconcile the numbers of a batch. BookRefused when there is no such batch.

    `today`: the day (ISO 8601) by which a stop has lapsed or not; "": none is taken to have.
    """
    return _Reconciling(reader, batches.get(reader, batch), today).finding()


class _Reconciling:
    """One batch being reconciled."""

    def __init__(self, reader: Reader, batch: Batch, today: str) -> None:
        self.reader, self.batch = reader, batch
        self.lapsed = stops.lapsed_by(reader, today) if today else {}
        self.numbers = Preprinted(reader)
        self.claims = money.claims(reader, batch.id)
        self.carried = money.forms(reader, batch.id)
        self.fates = money.fates(batch, self.claims, self.carried)
        self.expected = {claim.item: claim.expected for claim in self.claims}
        self.attention: list[str] = []
        self.unexplained: list[str] = []

    def finding(self) -> Finding:
        runs = of_batch(self.reader, self.batch.id)
        stretches = [self._stretch(printer, box, *ends) for (printer, box), ends in self._divided(runs).items()]
        by_hand = tuple(self._by_hand(stretches))
        shifts = [sentence for stretch in stretches for sentence in self._shifts(stretch, stretches, runs)]
        boxes = {stretch.box.id: stretch.box for stretch in stretches}
        for form in written(self.reader, batch=self.batch.id):
            boxes.setdefault(form.stock, self.numbers.boxes[form.stock])
        identities = [identity(self.reader, box) for box in boxes.values()]
        self.unexplained += [
            tr(
                "{account}:{first}-{last}: {sentence}; `cheque book verify` says more",
                account=one.box.account,
                first=one.box.text(one.box.first),
                last=one.box.text(one.box.last),
                sentence=one.sentence,
            )
            for one in identities
            if not one.agrees
        ]
        self.unexplained += money.disagreements(self.batch, self.fates, self.carried)
        self._attend()
        return Finding(
            self.batch,
            tuple(stretches),
            by_hand,
            tuple(shifts),
            tuple(money.steps(self.batch, self.fates, self.numbers)),
            tuple(identities),
            tuple(self.attention),
            tuple(self.unexplained),
            tuple(dict.fromkeys(self._moved(stretches))),
        )

    def _moved(self, stretches: list[Stretch]) -> Iterator[Moved]:
        """The corrections of numbers that speak of the batch's own forms."""
        mine = {form.number for form in written(self.reader, batch=self.batch.id)}
        for stretch in stretches:
            found = moves(self.reader, stretch.box.account, stretch.first, stretch.last)
            yield from (one for one in found if one.reaches(mine))

    def _divided(self, runs: Iterable[Run]) -> dict[tuple[str, stock.Range], tuple[int, int]]:
        """By printer and box, in the order they were begun: the first and the last number that runs took."""
        found: dict[tuple[str, stock.Range], tuple[int, int]] = {}
        for run in runs:
            for box in self.numbers.boxes.values():
                first, last = max(run.first, box.first), min(run.last, box.last)
                if box.account == run.account and first <= last:
                    before = found.get((run.printer, box), (first, last))
                    found[run.printer, box] = (min(first, before[0]), max(last, before[1]))
        return found

    def _stretch(self, printer: str, box: stock.Range, first: int, last: int) -> Stretch:
        lines = self.between(box, first, last)
        self.unexplained += _in_doubt(lines)
        used = self._highest_used(printer, box)
        passed = [one for one in lines if one.state == State.ON_HAND and one.last < used]
        self.unexplained += [_passed_over(one) for one in passed if not self._counted(box, one)]
        return Stretch(printer, box, first, last, tuple(lines))

    def between(self, box: stock.Range, first: int, last: int) -> list[Line]:
        """What became of the numbers of a box from first to last."""
        return accounted(self.reader, box, first, last, batch=self.batch.id, expected=self.expected)

    def _highest_used(self, printer: str, box: stock.Range) -> int:
        """The highest number of a box that any run on the printer put a payment on."""
        found = self.reader.value(
            "SELECT n.number FROM number n JOIN run r ON r.id = n.run WHERE n.account = ? AND n.number BETWEEN ? AND ? "
            "AND r.printer = ? ORDER BY n.number DESC LIMIT 1",
            box.account,
            box.first,
            box.last,
            printer,
        )
        return int(found or 0)

    def _counted(self, box: stock.Range, one: Line) -> bool:
        """Whether a physical count made since the batch's latest run found them in the box."""
        since = self.reader.value("SELECT max(seq) FROM run WHERE batch = ?", self.batch.id) or 0
        for row in self.reader.rows(
            f"SELECT {COLUMNS} FROM event WHERE seq > ? AND kind = 'stock.counted' ORDER BY seq DESC",
            since,
        ):
            told = Event(*row).data
            if told["account"] == box.account and told["first"] <= one.first and told["last"] >= one.last:
                return bool(told["counted"] == told["expected"])
        return False

    def _by_hand(self, stretches: list[Stretch]) -> Iterator[Line]:
        """Numbers of the batch that no run's stretch has: cheques written by hand on other forms."""
        told = [(stretch.box.id, stretch.first, stretch.last) for stretch in stretches]
        for form in written(self.reader, batch=self.batch.id):
            if not any(box == form.stock and first <= form.number <= last for box, first, last in told):
                yield from self.between(self.numbers.boxes[form.stock], form.number, form.number)

    def _shifts(self, stretch: Stretch, every: list[Stretch], runs: list[Run]) -> list[str]:
        """How the numbers of a stretch stand against those that payroll expected."""
        lines = {one.first: one for one in stretch.lines if one.item and one.batch == self.batch.id}
        order = {run.id: place for place, run in enumerate(runs)}
        other, group = batches.order_of(self.reader, self.batch)
        if other:
            how = tr("department by department") if group else tr("by {replace}", replace=other.replace("-", " "))
            return [
                tr(
                    "The batch was printed {how}: payroll's numbers, in the register's order, were not to be met.",
                    how=how,
                )
            ]
        carried, lost = [], dict[int, Line]()
        for form in within(self.reader, stretch.box.account, stretch.first, stretch.last):
            if form.batch != self.batch.id or form.number not in lines or not form.run:
                continue
            if form.role == Role.CONTINUATION:
                continue
            expected = self.expected.get(form.item, "")
            if form.state in (State.SPOILED, State.MISSING):
                lost[form.item] = lines[form.number]
            elif expected.isascii() and expected.isdigit():
                carried.append(Carried(order.get(form.run, -1), form.number, form.item, int(expected)))
        box = stretch.box
        # of a box that two printers share, each has a part: what lies below one's part may be the other's
        shared = sum(1 for other in every if other.box == box) > 1
        along = Along(
            self.claims,
            lambda first, last: self.between(box, first, last),
            box.text,
            lambda number: box.first <= number <= box.last,
            lambda one: shared or self._counted(box, one),
        )
        found = along.go(sorted(carried), lost.get)
        self.unexplained += found.unexplained
        return found.said

    def _attend(self) -> None:
        """What is explained, but wants doing."""
        waiting = [fate for fate in self.fates if fate.key == "waiting"]
        if waiting:
            some = tr("payment {item}", item=waiting[0].claim.item) + (
                tr(" and {count} more", count=len(waiting) - 1) if len(waiting) > 1 else ""
            )
            self.attention.append(
                tr("{some} still wait{more} for a form", some=some, more="s" if len(waiting) == 1 else "")
            )
        for fate in self.fates:
            form = fate.form
            if form is None or not form.batch:
                continue
            number = self.numbers.text(form.stock, form.number)
            if fate.key in ("voided", "missing"):
                self.attention.append(
                    tr(
                        "payment {item}, {payee}, is still owed: {number} is {state}",
                        item=fate.claim.item,
                        payee=fate.claim.payee,
                        number=number,
                        state=tr(form.state),
                    )
                )
            if fate.key == "doubt" and form.batch != self.batch.id:
                self.attention.append(
                    tr(
                        "payment {item} is in doubt on {number}: `cheque confirm {batch}`",
                        item=fate.claim.item,
                        number=number,
                        batch=form.batch,
                    )
                )
        for mine in self.carried.values():
            self.attention += [
                tr(
                    "{stock} is {state} with payment {item} on it, and {why}",
                    stock=self.numbers.text(form.stock, form.number),
                    state=form.state,
                    item=form.item,
                    why=why,
                )
                for form in mine
                if form.batch == self.batch.id and form.role == Role.CHEQUE and (why := self._at_large(form))
            ]

    def _at_large(self, form: money.Form) -> str:
        """Why somebody could still be paid with a cheque that is not good; "" when nobody can."""
        if form.state not in (State.VOIDED, State.MISSING):
            return ""
        if past := self.lapsed.get((form.account, form.number)):
            return tr("the bank's stop lapsed after {past}: ask for a new one, and whether it was paid", past=past)
        out = form.stop in ("needed", "requested") if form.state == State.VOIDED else form.may_be_out
        return tr("no stop is confirmed: ask the bank") if out and form.stop != "confirmed" else ""


def _in_doubt(lines: Iterable[Line]) -> Iterator[str]:
    """A sentence for each stretch of neighbours that nobody has looked at."""
    stretches: list[list[Line]] = []
    for one in lines:
        if one.state not in (State.SENT, State.RESERVED):
            continue
        before = stretches[-1][-1] if stretches else None
        if before and (before.state, before.batch, before.last + 1) == (one.state, one.batch, one.first):
            stretches[-1].append(one)
        else:
            stretches.append([one])
    for first, *rest in stretches:
        if rest:
            yield (
                tr(
                    "{text}-{text2} are {state} with payments of batch {batch}: nobody has said what became of them: "
                    "`cheque confirm {batch}`",
                    text=first.text,
                    text2=rest[-1].text,
                    state=first.state,
                    batch=first.batch,
                )
            )
        else:
            yield tr("{text} {what}: `cheque confirm {batch}`", text=first.text, what=first.what, batch=first.batch)


def _passed_over(one: Line) -> str:
    them = "them" if one.forms > 1 else "it"
    return tr(
        "{text} {what} in the book, though a higher number was used on the same printer: look for "
        "{them}; then `cheque spoil` or `cheque missing`, or `cheque stock count` if the box holds {them}",
        text=one.text,
        what=one.what,
        them=them,
    )
