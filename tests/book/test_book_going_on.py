"""Payments that take several forms: whatever becomes of any of them, each is paid once, and no number is lost."""

import hashlib
import tempfile
from pathlib import Path

from book.quillmere import accept, begin, payday
from hypothesis import given
from hypothesis import settings as how
from hypothesis import strategies as st

from cheque.book import batches, cheques, doubt, runs, stock
from cheque.book.book import Book
from cheque.book.state import LIVE, State
from cheque.book.verify import verify


def prove(book: Book, batch: int, forms: dict[int, int]) -> None:
    """A proof in which each payment takes so many forms."""
    pages = [
        (p.item, " ".join(hashlib.sha256(f"{p.payee} {n}".encode()).hexdigest() for n in range(forms[p.item])))
        for p in batches.payments(book, batch)
    ]
    batches.proved(book, batch, hashlib.sha256(str(pages).encode()).hexdigest(), pages)


def whole_runs(numbers: list[tuple[int, int]]) -> list[list[int]]:
    """The numbers of a plan, payment by payment."""
    found: dict[int, list[int]] = {}
    for number, item in numbers:
        found.setdefault(item, []).append(number)
    return list(found.values())


@how(deadline=None, max_examples=30)
@given(st.lists(st.integers(1, 4), min_size=1, max_size=5), st.data())
def test_whatever_becomes_of_the_forms_each_payment_has_one_live_cheque_and_all_its_forms(
    takes: list[int], data: st.DataObject
) -> None:
    forms = dict(enumerate(takes, 1))
    with tempfile.TemporaryDirectory() as folder, begin(Path(folder)) as book:
        stock.receive(book, account="main", form="payroll-us", first="100501", last="100999")
        batch = accept(book, payday(len(takes)))
        prove(book, batch, forms)
        first, kept = 100501, set()
        for _ in range(6):
            waiting = list(batches.waiting(book, batch))
            if not waiting:
                break
            run, planned = runs.begin(
                book, batch=batch, printer="payroom", address="file:x", language="escp9", first=first, count=0,
                proof=batches.get(book, batch).proof,
            )  # fmt: skip
            assert [item for _, item in planned] == [item for item in waiting for _ in range(forms[item])]
            payments = whole_runs(list(planned))
            for some in payments[: data.draw(st.integers(0, len(payments)))]:
                runs.sent(book, run, some[0], some[-1], digest="0" * 64, length=1, k=0)
            found = doubt.in_doubt(book, runs.get(book, run))
            bad = data.draw(st.sets(st.sampled_from(found.sent))) if found.sent else set()
            incomplete = data.draw(st.sampled_from([doubt.KEEP, doubt.AGAIN]))
            good = len(found.sent) - len(bad)
            seen = doubt.counted(found, good, dict.fromkeys(bad, "torn"), {}, set(), incomplete)
            runs.seen(book, run, seen, how="confirm")
            for some in payments:
                states = [stock.state_of(book, "main", number) for number in some]
                if State.PRINTED in states:
                    assert states[0] is State.PRINTED  # a stub is worth nothing without its cheque
                    if states.count(State.PRINTED) < len(states):
                        kept.add(some[0])
                        assert incomplete == doubt.KEEP
            first = 1 + max(
                (n for n in range(100501, first + len(planned)) if cheques.get(book, "main", n)), default=100500
            )
        waiting = list(batches.waiting(book, batch))
        for item, count in forms.items():
            mine = cheques.of_payment(book, batch, item)
            pays = [one for one in mine if one.role == "cheque" and one.state in LIVE]
            assert len(pays) == (item not in waiting)
            if pays and pays[0].number not in kept:
                live = [one.number for one in mine if one.state in LIVE]
                assert live == list(range(pays[0].number, pays[0].number + count))
        for one in [
            one for one in cheques.of_batch(book, batch) if one.role == "cheque" and one.state is State.PRINTED
        ]:
            cheques.void(book, account="main", number=one.number, reason="all of it", paper="in hand")
        assert not [one for one in cheques.of_batch(book, batch) if one.state in LIVE]
        assert verify(book) == []
