"""Random paydays against a plain model: cheques good, voided, waiting and pulled always come to the register's sum."""

import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st
from report.payday import Payday, payment

from cheque.book import batches
from cheque.reconcile.numbers import reconcile
from cheque.report import issued, numbers, outstanding, voids

FIRST = 100501


class Model:
    """What a person with a pencil would have written down."""

    def __init__(self, amounts: list[int]) -> None:
        self.amounts = dict(enumerate(amounts, 1))
        self.status = dict.fromkeys(self.amounts, "waiting")
        self.on: dict[int, int] = {}  # item -> its good number
        self.forms: dict[int, str] = {}  # number -> state
        self.next = FIRST
        self.skipped = 0

    def waiting(self) -> list[int]:
        return [item for item, status in self.status.items() if status == "waiting"]

    def money(self, status: str) -> int:
        return sum(amount for item, amount in self.amounts.items() if self.status[item] == status)


def one_run(day: Payday, model: Model, data: st.DataObject) -> None:
    """Print some of what waits; some forms good, some spoiled, some missing, the rest blank."""
    waiting = model.waiting()
    if not waiting:
        return
    count = data.draw(st.integers(1, len(waiting)))
    fates = data.draw(st.lists(st.sampled_from(["good", "good", "good", "spoiled", "missing"]), max_size=count))
    run = day.run(1, model.next, count=count)
    told = dict(zip(range(model.next, model.next + count), fates, strict=False))
    blank = range(model.next + len(fates), model.next + count)
    by = {state: {n: "so it was" for n, s in told.items() if s == state} for state in ("spoiled", "missing")}
    day.seen(run, spoiled=by["spoiled"], missing=by["missing"], blank=blank)
    for (number, state), item in zip(told.items(), waiting, strict=False):
        model.forms[number] = "printed" if state == "good" else state
        if state == "good":
            model.status[item], model.on[item] = "good", number
        elif state == "missing":
            model.status[item], model.on[item] = "missing", number
    model.next += len(fates)


def one_step(day: Payday, model: Model, data: st.DataObject) -> None:
    good = [item for item, status in model.status.items() if status == "good"]
    step = data.draw(st.sampled_from(["run", "run", "void", "reprint", "pull", "skip"]))
    if step == "run":
        one_run(day, model, data)
    elif step == "void" and good:
        item = data.draw(st.sampled_from(good))
        day.void(model.on[item])
        model.forms[model.on[item]] = "voided"
        model.status[item] = "voided"
    elif step == "reprint":
        lost = [item for item, status in model.status.items() if status in ("voided", "missing")]
        if lost:
            item = data.draw(st.sampled_from(lost))
            day.reprint(model.on[item], model.next, without_stop="they swore it burnt")
            model.status[item], model.on[item] = "good", model.next
            model.forms[model.next] = "printed"
            model.next += 1
    elif step == "pull" and model.waiting():
        item = data.draw(st.sampled_from(model.waiting()))
        batches.pull(day.book, 1, item, "not owed")
        model.status[item] = "pulled"
    elif step == "skip":
        model.next += 1
        model.skipped += 1


@settings(max_examples=25, deadline=None)
@given(st.lists(st.integers(1, 10**7), min_size=1, max_size=6), st.data())
def test_whatever_happens_the_money_and_the_numbers_are_accounted_for(amounts: list[int], data: st.DataObject) -> None:
    with tempfile.TemporaryDirectory() as folder, (day := Payday(Path(folder))).book:
        day.receive()
        model = Model(amounts)
        day.accept([payment(i, f"Payee {i}", amount, expected="") for i, amount in model.amounts.items()])
        for _ in range(data.draw(st.integers(0, 7))):
            one_step(day, model, data)
        finding = reconcile(day.book, 1)
        steps = {step.key: step for step in finding.steps}
        assert steps["good"].amount == model.money("good")
        assert steps["accepted"].amount == sum(amounts)
        for status in ("pulled", "voided", "waiting", "missing"):
            step = steps.get(status)
            assert (-step.amount if step else 0) == model.money(status)
        taken = sum(step.amount for key, step in steps.items() if key not in ("good", "elsewhere"))
        assert taken == steps["good"].amount
        _numbers_agree(day, model, finding.agrees)
        _reports_agree(day, model)


def _numbers_agree(day: Payday, model: Model, agrees: bool) -> None:
    finding = reconcile(day.book, 1)
    used = {n for n, _ in model.forms.items()}
    for stretch in finding.stretches:
        told = {n: line.state for line in stretch.lines for n in range(line.first, line.last + 1)}
        assert list(told) == list(range(stretch.first, stretch.last + 1))
        assert told == {n: model.forms.get(n, "on hand") for n in told}
        passed = [n for n in told if n not in used and n < max(used, default=0)]
        assert agrees == (not passed)
    assert all(identity.agrees for identity in finding.identities)


def _reports_agree(day: Payday, model: Model) -> None:
    """Issued = good + voided; outstanding = good; every form is in one report or another."""
    build = (day.book, day.settings, day.when())
    rows = [row for table in issued.build(*build).tables for row in table.rows]
    assert len(rows) == sum(1 for state in model.forms.values() if state in ("printed", "voided"))
    out = [row for table in outstanding.build(*build).tables if table.key == "cheques" for row in table.rows]
    assert len(out) == sum(1 for status in model.status.values() if status == "good")
    gone = [row for table in voids.build(*build).tables for row in table.rows]
    assert len(gone) == sum(1 for state in model.forms.values() if state in ("voided", "spoiled", "missing"))
    report = numbers.build(*build)
    assert report.agrees
