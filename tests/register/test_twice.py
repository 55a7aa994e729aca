"""Nothing is paid twice: what is refused, what is asked, and what is neither."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from register.registers import judged

from cheque.likeness import invoice_key, plain_name, plain_number
from cheque.payment import Kind, Payment, StubLine
from cheque.register.duplicates import Seen
from cheque.register.judge import Verdict
from cheque.register.twice import PaidBefore

PAID = Payment(1, "Tarpaulin & Söhne", 5000, "2026-11-27", "A-1", line=2)


def invoiced(*numbers: str, **known: object) -> Payment:
    """A payment of invoices of fifty each."""
    stub = tuple(StubLine(Kind.INVOICE, number, 5000) for number in numbers)
    return PAID._replace(stub=stub, amount=5000 * len(numbers), **known)


def found(*payments: Payment, **how: object) -> Verdict:
    """The verdict on these payments."""
    return judged([payment._replace(item=n, line=n + 1) for n, payment in enumerate(payments, 1)], **how)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("INV-00417", "inv 417"),
        ("INV-00417", "INV/417"),
        ("0417", "417"),
        ("417.", "417"),
        ("Ｉ-417", "i417"),
        ("2026/11/001", "2026-11-001"),
        ("000", "0"),
    ],
)
def test_an_invoice_keyed_in_another_way_is_the_same_invoice(one: str, other: str) -> None:
    assert plain_number(one) == plain_number(other)
    verdict = found(invoiced(one), invoiced(other, payee="TARPAULIN & SOHNE", reference="A-2", date="2027-03-05"))
    (fault,) = map(str, verdict.faults)
    assert fault == (
        f"payday.csv line 3, invoice {other!r}, number: found the same vendor and invoice number as one on line 2; "
        f"wanted each invoice paid once; take it out, or allow the invoice {other!r} to be paid again."
    )
    assert not found(invoiced(one), invoiced(other, reference="A-2"), allow_duplicate=[other]).faults
    assert not found(invoiced(one), invoiced(other, reference="A-2"), allow_duplicate=["A-2"]).faults


@pytest.mark.parametrize(("one", "other"), [("417", "418"), ("INV-4170", "INV-417"), ("A417", "B417"), ("1-01", "1-1")])
def test_other_invoices_are_other_invoices(one: str, other: str) -> None:
    assert plain_number(one) != plain_number(other)
    assert not found(invoiced(one), invoiced(other, reference="A-2")).faults


def test_another_vendor_may_have_the_same_number() -> None:
    assert not found(invoiced("417"), invoiced("417", payee="Hawser & Co", reference="A-2")).faults


def test_an_invoice_is_not_twice_in_one_payment() -> None:
    (fault,) = map(str, found(invoiced("Q-1", "q 1")).faults)
    assert "the same vendor and invoice number as another of this payment, 'Q-1'" in fault


def test_a_credit_note_may_bear_the_number_of_its_invoice() -> None:
    credited = invoiced("Q-1", "Q-1")
    credited = credited._replace(stub=(credited.stub[0], credited.stub[1]._replace(amount=-1000)), amount=4000)
    assert not found(credited).faults


def test_an_invoice_paid_in_an_earlier_batch_is_refused_whatever_the_payment() -> None:
    before = PaidBefore(invoices=lambda payment: [("Q-2", "payment 3 of batch 9")])
    (fault,) = map(str, found(invoiced("Q-1", "Q-2"), before=before).faults)
    assert "invoice 'Q-2', number: found the same vendor and invoice number as one of payment 3 of batch 9" in fault


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=12), st.text(max_size=12))
def test_the_key_of_an_invoice_is_a_whole_number_that_the_book_can_hold(payee: str, number: str) -> None:
    key = invoice_key(payee, number)
    assert 0 <= key < 2**63
    assert key == invoice_key(payee.casefold(), number.casefold())


def test_a_name_of_marks_only_is_still_a_name() -> None:
    assert plain_name("--") == ""
    assert invoice_key("--", "1") != invoice_key("++", "1")


def test_a_payment_nearly_the_same_as_another_of_the_register_is_asked_about() -> None:
    before = PaidBefore(days=5)
    other = PAID._replace(reference="A-2", date="2026-12-02")
    assert found(PAID, other, before=before).questions == (
        "payday.csv line 3, payee: 50.00 to 'Tarpaulin & Söhne', reference 'A-2', is within 5 days of line 2",
    )
    assert not found(PAID, other._replace(date="2026-12-03"), before=before).questions
    assert not found(PAID, other._replace(amount=5001), before=before).questions
    assert not found(PAID, other).questions  # where a firm does not want to be asked
    assert not found(PAID, other, before=before, allow_duplicate=["A-2"]).questions


def test_the_latest_that_is_alike_is_the_one_compared() -> None:
    dates = ("2026-11-01", "2026-11-15", "2026-11-18")
    payments = [PAID._replace(reference=date, date=date) for date in dates]
    assert [q.rpartition(" of ")[2] for q in found(*payments, before=PaidBefore(days=5)).questions] == ["line 3"]


def test_what_is_certainly_twice_is_not_asked_about_as_well() -> None:
    verdict = found(PAID, PAID, before=PaidBefore(nearly=lambda payment: "payment 1 of batch 1", days=5))
    assert (len(verdict.faults), verdict.question_count) == (1, 1)  # the first is asked about, the second refused


def test_nothing_for_nobody_is_nearly_the_same() -> None:
    from cheque.payment import Role

    advice = PAID._replace(amount=0, role=Role.ADVICE)
    assert not found(advice, advice._replace(reference="A-2"), before=PaidBefore(days=5)).questions


def test_what_is_twice_far_apart_is_found_though_not_all_is_held_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("cheque.register.twice.Seen", lambda **how: Seen(held=4, **how))
    many = [PAID._replace(payee=f"Payee {n}", reference=f"R-{n}") for n in range(20)]
    doubled = many[1]
    near = many[2]._replace(reference="other", date="2026-11-28")
    verdict = found(*many, doubled, near, before=PaidBefore(days=5))
    assert list(map(str, verdict.faults)) == [
        "payday.csv line 22, payee: found the same payee, amount, date and reference as line 3; "
        "wanted each payment once; take it out, or allow its reference to be paid again."
    ]
    assert "payday.csv line 23, payee: the same payee and amount within 5 days of line 4" in verdict.questions


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(1, 12), max_size=60), st.integers(1, 8))
def test_keys_put_by_are_found_again(keys: list[int], held: int) -> None:
    seen = Seen(held=held)
    told = set()
    for value, key in enumerate(keys, 1):
        if twin := seen.put(key.to_bytes(8, "big"), value):
            told.add((value, twin))
    told |= set(seen.across())
    again = {value for value, _ in told}
    # of every key, all but the first are found to be there again; and each with one of the same key
    assert len(again) == len(keys) - len(set(keys))
    assert all(keys[value - 1] == keys[twin - 1] and twin < value for value, twin in told)
