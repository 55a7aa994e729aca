"""The book against a model of it in plain Python, through any mixture of what an office does.

The model keeps forms, payments and runs in dictionaries and knows the rules by itself. Before every step it says
whether the step is allowed; the book must agree, and after every step the two must be the same: the identity
holds for every box, a payment has one live cheque at most, a number carries one payment for ever.
"""

import shutil
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

from book.quillmere import FORM, Clock, accept, gated, payday, proof_of
from book.server import shared
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from cheque.book import batches, cheques, notices, renumber, runs, statements, stock, stops, verify
from cheque.book.book import Book, create, open_book
from cheque.book.move import ranges_of
from cheque.book.schema import DERIVED
from cheque.book.state import State
from cheque.errors import Refusal
from cheque.payment import Role

LIVE = ("reserved", "sent", "printed")


@dataclass
class Form:
    """A numbered form."""

    box: int
    state: str = "on hand"
    claim: "Claim | None" = None
    run: int = 0
    sent: bool = False
    out: bool = False  # a void cheque that is in somebody's hands
    stop: str = ""
    custody: str = ""


@dataclass
class Claim:
    """A batch's right to print a payment; `blocked` by forms that may be paid although they are no good cheque."""

    batch: int
    item: int
    payment: "Payment"
    pulled: bool = False
    blocked: set[int] = field(default_factory=set)


@dataclass
class Payment:
    """What is owed to somebody: its claims, oldest first, and the forms it was put on, in order."""

    advice: bool
    claims: list[Claim] = field(default_factory=list)
    forms: list[int] = field(default_factory=list)


@dataclass
class Batch:
    """An accepted register."""

    claims: list[Claim]
    withdrawn: bool = False
    proved: bool = False


@dataclass
class Run:
    """A run: the forms it was given."""

    batch: int
    printer: str
    numbers: list[int]
    state: str = "open"


class Office(RuleBasedStateMachine):
    """What people do, in any order, rightly or wrongly."""

    def made(self) -> Book:
        """A new book."""
        book = create(self.folder / "book", clock=self.clock)
        book.store.execute("PRAGMA synchronous = OFF")
        return book

    def opened(self) -> Book:
        """The same book, opened once more."""
        book = open_book(self.folder / "book", clock=self.clock)
        book.store.execute("PRAGMA synchronous = OFF")
        return book

    @initialize()
    def begin(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="quillmere-"))
        self.clock = Clock()
        self.book = self.made()
        self.forms: dict[int, Form] = {}
        self.boxes: list[tuple[int, int]] = []
        self.batches: dict[int, Batch] = {}
        self.runs: dict[int, Run] = {}
        self.bore: dict[int, tuple[int, int]] = {}
        self.paid: dict[int, int] = {}
        self.read = 0
        self.told: dict[int, set[tuple[str, int, int, int]]] = {}
        self.start = 0
        self.receive(1, 24)
        self.accept(4, 1)

    def teardown(self) -> None:
        if not hasattr(self, "book"):
            return
        try:
            assert verify.verify(self.book) == []
            before = {name: sorted(self.book.rows(f"SELECT * FROM {name}")) for name in DERIVED}
            verify.rebuild(self.book)
            assert {name: sorted(self.book.rows(f"SELECT * FROM {name}")) for name in DERIVED} == before
        finally:
            self.book.close()
            shutil.rmtree(self.folder)

    # the model's own judgement

    def cleared(self, first: int, last: int = 0) -> bool:
        return any(self.paid.get(n, 0) > 0 for n in range(first, (last or first) + 1))

    def settled(self, payment: Payment) -> bool:
        """Whether the bank has paid it, on whatever form."""
        return any(self.cleared(n) for n in payment.forms)

    def alive(self, claim: Claim) -> bool:
        return not claim.pulled and not self.batches[claim.batch].withdrawn

    def waits(self, claim: Claim) -> bool:
        living = [c for c in claim.payment.claims if self.alive(c)]
        on_form = any(self.forms[n].state in LIVE for n in claim.payment.forms)
        return bool(living) and living[-1] is claim and not claim.blocked and not on_form

    def waiting(self, batch: int) -> list[Claim]:
        return [claim for claim in self.batches[batch].claims if self.waits(claim)]

    def box_of(self, number: int) -> tuple[int, int] | None:
        return next((box for box in self.boxes if box[0] <= number <= box[1]), None)

    def all_in(self, first: int, last: int, *states: str) -> bool:
        box = self.box_of(first)
        return (
            box is not None
            and first <= last <= box[1]
            and all(self.forms[n].state in states for n in range(first, last + 1))
        )

    def agrees(self, allowed: bool, step: object, *arguments: object, **named: object) -> object:
        """Take a step; the book must allow it exactly when the model does."""
        seq, why = self.book.head.seq, ""
        try:
            done = step(*arguments, **named)  # type: ignore[operator]
        except Refusal as refusal:
            done, why = None, str(refusal)
        assert allowed == (not why), why or f"the book allowed {step} {arguments} {named}"
        assert not why or self.book.head.seq == seq
        return done

    def leaves(self, first: int, last: int, state: str) -> None:
        for number in range(first, last + 1):
            self.forms[number].state = state

    # stock

    number = st.integers(1, 40)
    some = st.integers(0, 2)

    @rule(first=st.integers(20, 60), more=st.integers(0, 12))
    def box(self, first: int, more: int) -> None:
        self.receive(first, first + more)

    def receive(self, first: int, last: int) -> None:
        fresh = not any(n in self.forms for n in range(first, last + 1))
        done = self.agrees(
            fresh, stock.receive, self.book, account="main", form=FORM, first=f"{first:03}", last=f"{last:03}"
        )
        if done:
            self.boxes.append((first, last))
            self.forms |= {n: Form(len(self.boxes)) for n in range(first, last + 1)}

    @rule(first=number, more=some, what=st.sampled_from(["spoiled", "missing", "destroyed"]))
    def mark(self, first: int, more: int, what: str) -> None:
        last = first + more
        step = {"spoiled": stock.spoil, "missing": stock.missing, "destroyed": stock.destroy}[what]
        named = {"witness": "Cora Selwick"} if what == "destroyed" else {}
        if self.agrees(
            self.all_in(first, last, "on hand"),
            step,
            self.book,
            account="main",
            first=first,
            last=last,
            reason="r",
            **named,
        ):
            self.leaves(first, last, what)

    @precondition(lambda self: any(f.state == "missing" for f in self.forms.values()))
    @rule(data=st.data(), spoiled=st.booleans())
    def found(self, data: st.DataObject, spoiled: bool) -> None:
        number = data.draw(st.sampled_from([n for n, f in self.forms.items() if f.state == "missing"]))
        form = self.forms[number]
        allowed = spoiled or not form.sent
        if self.agrees(
            allowed, stock.found, self.book, account="main", first=number, last=number, spoiled=spoiled, reason="r"
        ):
            form.state = "spoiled" if spoiled else "on hand"
            if form.claim:
                for claim in form.claim.payment.claims:
                    claim.blocked.discard(number)
                if not spoiled:
                    form.claim.payment.forms.remove(number)
            if not spoiled:
                self.forms[number] = Form(form.box)
                self.bore.pop(number, None)

    # batches

    @rule(count=st.integers(1, 4), advices=st.integers(0, 1))
    def accept(self, count: int, advices: int) -> None:
        payments = payday(count, start=self.start)
        self.start += count
        payments[:advices] = [p._replace(role=Role.ADVICE, amount=0) for p in payments[:advices]]
        batch = accept(self.book, payments)
        claims = []
        for place, payment in enumerate(payments, 1):
            owed = Payment(payment.role is Role.ADVICE)
            owed.claims.append(Claim(batch, place, owed))
            claims += owed.claims
        self.batches[batch] = Batch(claims)

    a_batch = precondition(lambda self: bool(self.batches))

    @a_batch
    @rule(data=st.data())
    def pull(self, data: st.DataObject) -> None:
        batch = data.draw(st.sampled_from(list(self.batches)))
        claim = data.draw(st.sampled_from(self.batches[batch].claims))
        seq = self.book.head.seq
        self.agrees(self.waits(claim), batches.pull, self.book, batch, claim.item, "r")
        if self.book.head.seq > seq:
            claim.pulled, self.batches[batch].proved = True, False

    @a_batch
    @rule(data=st.data())
    def withdraw(self, data: st.DataObject) -> None:
        batch = data.draw(st.sampled_from(list(self.batches)))
        used = any(f.claim and f.claim.batch == batch for f in self.forms.values())
        seq = self.book.head.seq
        self.agrees(not used and not self.batches[batch].withdrawn, batches.withdraw, self.book, batch, "r")
        if self.book.head.seq > seq:
            self.batches[batch].withdrawn = True

    @a_batch
    @rule(data=st.data())
    def prove(self, data: st.DataObject) -> None:
        batch = data.draw(st.sampled_from(list(self.batches)))
        proof, pages = proof_of(self.book, batch)
        self.agrees(not self.batches[batch].withdrawn, batches.proved, self.book, batch, proof, pages)
        self.batches[batch].proved = not self.batches[batch].withdrawn

    # runs

    @a_batch
    @rule(data=st.data(), first=number, count=st.integers(0, 3), printer=st.sampled_from(["payroom", "stores"]))
    def print(self, data: st.DataObject, first: int, count: int, printer: str) -> None:
        self.print_some(data, first, count, printer)

    def print_some(self, data: st.DataObject, first: int, count: int, printer: str) -> None:
        batch = data.draw(st.sampled_from([b for b in self.batches if self.waiting(b)] or list(self.batches)))
        if data.draw(st.integers(0, 3)):  # mostly the form at the head is one that is on hand
            free = [n for n, f in self.forms.items() if f.state == "on hand"]
            first = data.draw(st.sampled_from(free)) if free else first
            self.prove_first(batch)
        kept = self.batches[batch]
        claims = self.waiting(batch)[: count or None]
        barred = any(
            run.state != "closed" and (run.batch == batch or (run.printer == printer and run.state != "finished"))
            for run in self.runs.values()
        )
        allowed = bool(claims) and kept.proved and not barred and self.all_in(first, first + len(claims) - 1, "on hand")
        allowed = allowed and not self.cleared(first, first + len(claims) - 1)
        allowed = allowed and not any(self.settled(claim.payment) for claim in claims)
        begun = self.agrees(
            allowed,
            runs.begin,
            self.book,
            batch=batch,
            printer=printer,
            address="file:x",
            language="escp9",
            first=first,
            count=count,
            proof=batches.get(self.book, batch).proof,
        )
        if begun:
            run, planned = begun  # type: ignore[misc]
            assert planned == [(first + place, claim.item) for place, claim in enumerate(claims)]
            self.runs[run] = Run(batch, printer, [n for n, _ in planned])
            for (number, _), claim in zip(planned, claims, strict=True):
                self.take(number, claim, "reserved", run)

    def prove_first(self, batch: int) -> None:
        if not self.batches[batch].proved and not self.batches[batch].withdrawn:
            batches.proved(self.book, batch, *proof_of(self.book, batch))
            self.batches[batch].proved = True

    def take(self, number: int, claim: Claim, state: str, run: int) -> None:
        self.forms[number] = Form(self.forms[number].box, state, claim, run)
        claim.payment.forms.append(number)

    a_run = precondition(lambda self: any(run.state != "closed" for run in self.runs.values()))

    def some_run(self, data: st.DataObject) -> int:
        going = [run for run, kept in self.runs.items() if kept.state != "closed"]
        return data.draw(st.sampled_from(going if data.draw(st.integers(0, 5)) else list(self.runs)))

    @a_run
    @rule(data=st.data(), count=st.integers(1, 3))
    def send(self, data: st.DataObject, count: int) -> None:
        self.send_window(self.some_run(data), count)

    def send_window(self, run: int, count: int) -> None:
        kept = self.runs[run]
        window = [n for n in kept.numbers if self.forms[n].run == run and self.forms[n].state == "reserved"][:count]
        if not window:
            return
        named = {"digest": "0" * 64, "length": 1800, "k": 0}
        seq = self.book.head.seq
        self.agrees(kept.state == "open", runs.sent, self.book, run, window[0], window[-1], **named)
        if self.book.head.seq > seq:
            for number in window:
                self.forms[number].state, self.forms[number].sent = "sent", True

    @a_run
    @rule(data=st.data(), all_sent=st.booleans())
    def end(self, data: st.DataObject, all_sent: bool) -> None:
        run = self.some_run(data)
        was = self.runs[run].state
        if all_sent:
            self.agrees(was == "open", runs.finished, self.book, run)
        else:
            self.agrees(was == "open", runs.stopped, self.book, run, "the cable came loose")
        if was == "open":
            self.runs[run].state = "finished" if all_sent else "stopped"

    @a_run
    @rule(data=st.data())
    def look(self, data: st.DataObject) -> None:
        self.look_at(data, self.some_run(data), ["good", "good", "spoiled", "missing", "blank", ""])

    def look_at(self, data: st.DataObject, run: int, outcomes: list[str]) -> None:
        held = [n for n in self.runs[run].numbers if self.forms[n].run == run and self.forms[n].state in LIVE[:2]]
        told = {n: data.draw(st.sampled_from(outcomes)) for n in held}
        if "" not in outcomes:  # whoever looks does not call a form good for which no bytes ever left
            told |= {n: "blank" for n in held if self.forms[n].state != "sent"}
        groups = {what: [n for n in held if told[n] == what] for what in ("good", "spoiled", "missing", "blank")}
        allowed = (
            self.runs[run].state != "closed"
            and all(told.values())
            and all(self.forms[n].state == "sent" for n in groups["good"])
        )
        seq = self.book.head.seq
        seen = runs.Seen(
            tuple(groups["good"]),
            dict.fromkeys(groups["spoiled"], "torn"),
            dict.fromkeys(groups["missing"], "gone"),
            tuple(groups["blank"]),
        )
        self.agrees(allowed, runs.seen, self.book, run, seen, how="confirm")
        if self.book.head.seq == seq:
            return
        self.runs[run].state = "closed"
        for number in held:
            self.looked(number, told[number])

    def looked(self, number: int, what: str) -> None:
        form = self.forms[number]
        assert form.claim
        if what == "good":
            form.state, form.custody = "printed", "to be signed"
            return
        if what == "blank":
            form.claim.payment.forms.remove(number)
            self.forms[number] = Form(form.box)
            self.bore.pop(number, None)
            return
        form.state = what
        if what == "missing" and form.sent and not form.claim.payment.advice:
            for claim in form.claim.payment.claims:
                claim.blocked.add(number)

    @a_batch
    @rule(data=st.data())
    def whole_run(self, data: st.DataObject) -> None:
        """A run from its beginning to somebody who looks, without a step of another kind between."""
        self.print_some(data, 1, 0, "payroom")
        going = [run for run, kept in self.runs.items() if kept.state == "open"]
        for run in going:
            self.send_window(run, data.draw(st.integers(1, 4)))
            self.look_at(data, run, ["good", "good", "good", "spoiled", "missing", "blank"])

    # cheques

    def some_number(self, data: st.DataObject, *states: str) -> int:
        """A number in one of these states, or now and then any number at all."""
        fit = [n for n, f in self.forms.items() if f.state in states]
        return data.draw(st.sampled_from(fit) if fit and data.draw(st.integers(0, 5)) else self.number)

    @precondition(lambda self: any(f.state == "printed" for f in self.forms.values()))
    @rule(data=st.data(), paper=st.sampled_from(["in hand", "returned", "not in hand"]))
    def void(self, data: st.DataObject, paper: str) -> None:
        number = self.some_number(data, "printed")
        form = self.forms.get(number, Form(0))
        away = form.custody in ("handed over", "mailed")
        allowed = form.state == "printed" and not (paper == "in hand" and away) and not self.cleared(number)
        if self.agrees(allowed, cheques.void, self.book, account="main", number=number, reason="r", paper=paper):
            assert form.claim
            form.state = "voided"
            form.custody = "held" if paper == "in hand" else paper
            form.out = paper == "not in hand" and not form.claim.payment.advice
            for claim in form.claim.payment.claims:
                claim.blocked.add(number)

    @precondition(lambda self: any(f.state in ("printed", "voided", "missing") for f in self.forms.values()))
    @rule(data=st.data())
    def confirm_stop(self, data: st.DataObject) -> None:
        number = self.some_number(data, "printed", "voided", "missing")
        form = self.forms.get(number, Form(0))
        allowed = form.state in ("printed", "voided", "missing", "spoiled") and form.stop != "confirmed"
        self.agrees(allowed, cheques.confirm_stop, self.book, account="main", number=number, by="Bank", on="2026-11-30")
        if allowed:
            form.stop = "confirmed"

    @precondition(lambda self: any(f.state in ("printed", "voided", "missing") for f in self.forms.values()))
    @rule(data=st.data())
    def ask_for_a_stop(self, data: st.DataObject) -> None:
        number = self.some_number(data, "printed", "voided", "missing")
        form = self.forms.get(number, Form(0))
        left = form.state in ("printed", "voided", "missing", "spoiled")
        allowed = left and form.stop not in ("confirmed", "requested") and not self.cleared(number)
        if self.agrees(allowed, stops.check_request, self.book, "main", number):
            with self.book.change() as change:
                told = {"reason": "lost", "told": "", "notice": 0, "on": "2026-11-30"}
                stops.request(change, account="main", number=number, **told)  # type: ignore[arg-type]
            form.stop = "requested"

    @precondition(lambda self: any(f.state in ("printed", "voided") for f in self.forms.values()))
    @rule(data=st.data(), place=st.sampled_from(cheques.PLACES))
    def custody(self, data: st.DataObject, place: str) -> None:
        number = self.some_number(data, "printed", "voided")
        form = self.forms.get(number, Form(0))
        back = place in ("held", "returned")
        allowed = (form.state == "printed" or (form.state == "voided" and back)) and not self.cleared(number)
        if self.agrees(allowed, cheques.move, self.book, account="main", first=number, last=number, place=place, to=""):
            form.custody = place
            form.out = form.out and not back

    @precondition(lambda self: any(f.claim and f.state not in LIVE for f in self.forms.values()))
    @rule(data=st.data(), without_stop=st.booleans())
    def reprint(self, data: st.DataObject, without_stop: bool) -> None:
        number = self.some_number(data, "voided", "spoiled", "missing")
        form = self.forms.get(number, Form(0))
        claim = form.claim
        allowed = needed = False
        if claim and form.state not in LIVE:
            later = claim.payment.claims[claim.payment.claims.index(claim) + 1 :]
            lost = form.state == "missing" and form.sent and not claim.payment.advice
            needed = (form.out or lost) and form.stop != "confirmed"
            allowed = (
                claim.payment.forms[-1] == number
                and not claim.pulled
                and not any(self.waits(other) for other in later)
                and not self.settled(claim.payment)
                and (without_stop or not needed)
            )

        def step() -> int:
            source = cheques.reprint_source(self.book, "main", number)
            assert source.stop_needed == needed
            return cheques.accept_reprint(self.book, source, stop_override="burnt" if without_stop else "")

        batch = self.agrees(allowed, step)
        if batch and claim:
            fresh = Claim(int(str(batch)), 1, claim.payment)
            claim.payment.claims.append(fresh)
            self.batches[fresh.batch] = Batch([fresh])
            if needed:
                form.stop = "overridden"

    @a_batch
    @rule(data=st.data())
    def by_hand(self, data: st.DataObject) -> None:
        number = self.some_number(data, "on hand")
        batch = data.draw(st.sampled_from(list(self.batches)))
        claim = data.draw(st.sampled_from(self.batches[batch].claims))
        form = self.forms.get(number, Form(0, "nowhere"))
        allowed = form.state == "on hand" and self.waits(claim) and not claim.payment.advice
        allowed = allowed and not self.cleared(number) and not self.settled(claim.payment)
        seq = self.book.head.seq
        self.agrees(
            allowed,
            cheques.by_hand,
            self.book,
            account="main",
            number=number,
            batch=batch,
            item=claim.item,
            reason="r",
        )
        if self.book.head.seq > seq:
            self.take(number, claim, "printed", 0)
            self.forms[number].custody = "to be signed"

    @precondition(lambda self: any(f.state == "printed" and f.run for f in self.forms.values()))
    @rule(
        data=st.data(),
        length=st.integers(1, 4),
        by=st.sampled_from([1, 1, 2, -1]),
        left=st.sampled_from([State.SPOILED, State.MISSING]),
    )
    def renumber(self, data: st.DataObject, length: int, by: int, left: State) -> None:
        """It is found that the paper was a form off."""
        first = self.some_number(data, "printed")
        last, box = first + length - 1, self.box_of(first)
        numbers = range(first, last + 1)
        inside = box is not None and box[0] <= first + by and max(last, last + by) <= box[1]
        allowed = (
            inside
            and all(self.forms[n].state in ("printed", "spoiled") and self.forms[n].run for n in numbers)
            and not any(self.forms[n].stop or self.forms[n].out for n in numbers)
            and self.forms[first].state == self.forms[last].state == "printed"
            and all(self.forms[n + by].state == "on hand" for n in numbers if n + by not in numbers)
            and not self.cleared(min(first, first + by), max(last, last + by))
        )
        told = {"account": "main", "first": first, "last": last, "by": by, "left": left}
        if not self.agrees(allowed, renumber.move, self.book, **told, reason="r", approved="S. Mooring"):
            return
        moved = {n + by: self.forms[n] for n in numbers}
        for number in reversed(numbers) if by > 0 else numbers:
            claim = self.forms[number].claim
            assert claim
            claim.payment.forms[claim.payment.forms.index(number)] = number + by
            self.bore[number + by] = self.bore.pop(number)
        for number in set(numbers) - set(moved):
            self.forms[number] = Form(self.forms[number].box, left.value)
        self.forms |= moved

    @precondition(lambda self: any(f.state != "on hand" for f in self.forms.values()))
    @rule(data=st.data(), back=st.booleans())
    def bank(self, data: st.DataObject, back: bool) -> None:
        """The bank pays a number, whatever it is here; or takes a payment back."""
        paid = [number for number, times in self.paid.items() if times > 0]
        back = back and bool(paid)
        number = data.draw(st.sampled_from(paid)) if back else self.some_number(data, "printed", "spoiled", "voided")
        self.read += 1
        day = f"2026-12-{1 + self.read % 28:02}"
        item = statements.Item(day, number, self.read if back else -self.read)
        told = {"name": "", "source": "s", "digest": "", "opening": None, "closing": None, "entries": 1}
        statements.enter(self.book, [item], account="main", first=day, last=day, **told)  # type: ignore[arg-type]
        self.paid[number] = self.paid.get(number, 0) + (-1 if back else 1)

    @rule(refused=st.booleans())
    def tell_the_bank(self, refused: bool) -> None:
        """A notice of all that the bank was not told of goes out, and the bank takes it or not."""
        told = set().union(*self.told.values())
        wanted = set()
        for number, form in self.forms.items():
            if form.claim is None or form.claim.payment.advice:
                continue
            stop = form.stop or ("needed" if form.out else "")
            which = (number, form.claim.batch, form.claim.item)
            if form.state == "printed" and stop not in ("confirmed", "requested") and ("issue", *which) not in told:
                wanted.add(("issue", *which))
            voided = form.state == "voided" and stop not in ("confirmed", "requested", "needed")
            if voided and ("issue", *which) in told and ("void", *which) not in told:
                wanted.add(("void", *which))
        found = list(notices.to_tell(self.book, list(self.batches)))
        assert [(one.mark, one.number) for one in found] == [each[:2] for each in sorted(wanted, key=lambda e: e[1])]
        if not found:
            return
        telling = notices.Telling()
        for one in found:
            telling.add(one)
        notice = notices.next_id(self.book)
        assert notice == len(self.told) + 1
        with self.book.change() as change:
            notices.make(change, notice, "issued", telling, notices.File("text", f"{notice}.txt", "0" * 64))
        self.told[notice] = set() if refused else wanted
        named = {"by": "Bank", "on": "2026-11-30", "reason": "wrong total"}
        self.agrees(False, notices.settle, self.book, notice, "refused", **named)  # it did not go out yet
        self.agrees(True, notices.settle, self.book, notice, "sent", by="portal", on="2026-11-30")
        self.agrees(True, notices.settle, self.book, notice, "refused" if refused else "accepted", **named)

    @rule()
    def reopen(self) -> None:
        self.book.close()
        self.book = self.opened()

    # what must hold after every step

    @invariant()
    def every_form_is_where_the_model_has_it(self) -> None:
        kept = {
            number: (state, batch, item, custody, stop, sent > 0)
            for number, state, batch, item, custody, stop, sent in self.book.rows(
                "SELECT number, state, batch, item, custody, stop, sent FROM number"
            )
        }
        wanted = {
            number: (
                form.state,
                form.claim.batch if form.claim else 0,
                form.claim.item if form.claim else 0,
                form.custody,
                form.stop or ("needed" if form.out else ""),
                form.sent,
            )
            for number, form in self.forms.items()
            if form.state != "on hand"
        }
        assert kept == wanted

    @invariant()
    def what_is_cleared_is_what_the_bank_paid_and_did_not_take_back(self) -> None:
        kept = dict(self.book.rows("SELECT number, payments FROM cleared"))
        assert kept == {number: times for number, times in self.paid.items() if times > 0}

    @invariant()
    def the_identity_holds_for_every_box(self) -> None:
        assert verify.identities(self.book) == []
        for place, box in enumerate(self.boxes, 1):
            (kept,) = [r for r in stock.ranges(self.book) if r.first == box[0]]
            tally = dict(self.book.rows("SELECT state, forms FROM tally WHERE stock = ?", kept.id))
            mine = [form.state for form in self.forms.values() if form.box == place]
            assert tally.pop("received") == len(mine)
            assert {state: forms for state, forms in tally.items() if forms} == {s: mine.count(s) for s in set(mine)}

    @invariant()
    def a_payment_has_one_live_cheque_at_most(self) -> None:
        for batch in self.batches.values():
            for claim in batch.claims:
                first = claim.payment.claims[0]
                live = [n for n in cheques.of_payment(self.book, first.batch, first.item) if n.state in LIVE]
                assert len(live) <= 1

    @invariant()
    def a_number_carries_one_payment_for_ever(self) -> None:
        for number, batch, item in self.book.rows(
            "SELECT number, origin_batch, origin_item FROM number WHERE batch > 0"
        ):
            assert self.bore.setdefault(number, (batch, item)) == (batch, item)

    @invariant()
    def what_waits_is_what_the_model_has_waiting(self) -> None:
        where: dict[int, list[int]] = {}
        for batch in self.batches:
            assert batches.waiting(self.book, batch) == [claim.item for claim in self.waiting(batch)]
            for claim in self.waiting(batch):
                where.setdefault(id(claim.payment), []).append(batch)
        assert all(len(found) == 1 for found in where.values())  # a payment waits in one batch at most

    @invariant()
    def what_is_counted_beside_the_numbers_is_what_they_are(self) -> None:
        for place, box in enumerate(self.boxes, 1):
            (kept,) = [r for r in stock.ranges(self.book) if r.first == box[0]]
            free = [n for n, form in sorted(self.forms.items()) if form.box == place and form.state == "on hand"]
            assert stock.on_hand(self.book, kept, kept.first, kept.last) == ranges_of(free)
            middle = (kept.first + kept.last) // 2
            assert stock.on_hand(self.book, kept, middle, middle + 2) == ranges_of(
                [n for n in free if middle <= n <= middle + 2]
            )
        waits = {batch: len(self.waiting(batch)) for batch in self.batches}
        assert dict(self.book.rows("SELECT id, waits FROM batch")) == waits
        assert {batch: batches.left(self.book, batch) for batch in waits} == waits
        unanswered = {run.batch for run in self.runs.values() if run.state != "closed"}
        held = {batch for batch in waits if batches.held(self.book, batch)}
        to_do = sorted({batch for batch, left in waits.items() if left} | unanswered | held)
        assert [one.id for one in batches.current(self.book, 0)[0]] == to_do
        listed, older = batches.current(self.book, 1)
        assert [one.id for one in listed] == sorted({*to_do, max(waits)})
        assert older == len(waits) - len(listed)

    @invariant()
    def links_go_both_ways(self) -> None:
        for number, form in self.forms.items():
            if not form.claim:
                continue
            chain = form.claim.payment.forms
            at = chain.index(number)
            before, after = cheques.links(self.book, "main", number)
            assert before == (chain[at - 1] if at else None)
            assert after == (chain[at + 1] if at + 1 < len(chain) else None)


Office.TestCase.settings = settings(
    max_examples=40,
    stateful_step_count=50,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large],
)
TestOffice = Office.TestCase


class OfficeOnAServer(Office):
    """The same office, with its book on a server."""

    def made(self) -> Book:
        return create(self.folder / "book", server=shared().url(), clock=self.clock)

    def opened(self) -> Book:
        return open_book(self.folder / "book", server=self.book.server, clock=self.clock)


class OfficeUnderRoles(OfficeOnAServer):
    """The same office, with its book under roles: what the server does in its own words is what the book does."""

    def made(self) -> Book:
        return gated(super().made())


OfficeOnAServer.TestCase.settings = settings(Office.TestCase.settings, max_examples=6, stateful_step_count=35)
TestOfficeOnAServer = OfficeOnAServer.TestCase
OfficeUnderRoles.TestCase.settings = OfficeOnAServer.TestCase.settings
TestOfficeUnderRoles = OfficeUnderRoles.TestCase
