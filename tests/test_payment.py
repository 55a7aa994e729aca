"""A payment has one canonical text, reads back from it, and does not depend on where it stood in its file."""

import json
from typing import Any

import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as how
from hypothesis import strategies as st

from cheque.payment import Kind, Payment, Role, StubLine, from_kept, from_text, text_of_kept, to_kept, to_text

#: a busy machine is no fault
unhurried = how(deadline=None, suppress_health_check=[HealthCheck.too_slow])

TEXT = st.text(st.characters(exclude_categories=("Cs",)), max_size=20)
AMOUNT = st.integers(-(10**15), 10**15)
LINES = st.builds(
    StubLine,
    st.sampled_from(Kind),
    TEXT,
    amount=st.none() | AMOUNT,
    to_date=st.none() | AMOUNT,
    hours=TEXT,
    rate=TEXT,
    date=TEXT,
    gross=st.none() | AMOUNT,
    discount=st.none() | AMOUNT,
)
PAYMENTS = st.builds(
    Payment,
    st.integers(1, 10**6),
    TEXT,
    st.integers(0, 10**15),
    TEXT,
    TEXT,
    role=st.sampled_from(Role),
    expected=TEXT,
    hash_value=st.none() | st.integers(0, 10**12),
    address=st.lists(TEXT, max_size=4).map(tuple),
    employee=TEXT,
    identity=TEXT,
    department=TEXT,
    period_from=TEXT,
    period_to=TEXT,
    memo=TEXT,
    stub=st.lists(LINES, max_size=4).map(tuple),
    line=st.integers(0, 10**6),
)


@unhurried
@given(PAYMENTS)
def test_a_payment_reads_back_from_its_text_but_for_the_line_it_stood_on(payment: Payment) -> None:
    again = from_text(to_text(payment))
    assert again == payment._replace(line=0)
    assert type(again.role) is Role
    assert all(type(line.kind) is Kind for line in again.stub)


@unhurried
@given(PAYMENTS, st.integers(0, 10**6))
def test_the_text_does_not_depend_on_the_line(payment: Payment, line: int) -> None:
    assert to_text(payment._replace(line=line)) == to_text(payment)


@unhurried
@given(PAYMENTS)
def test_the_text_is_canonical_with_strings_and_whole_numbers_only(payment: Payment) -> None:
    text = to_text(payment)
    body = json.loads(text)
    assert text == json.dumps(body, sort_keys=True, ensure_ascii=False, separators=(",", ":"))

    def plain(value: Any) -> bool:
        if isinstance(value, dict):
            return all(plain(inner) for inner in value.values())
        if isinstance(value, list):
            return all(plain(inner) for inner in value)
        return type(value) in (str, int)

    # An empty list may stand where a default was left out; a null never does.
    assert plain({key: value for key, value in body.items() if value is not None})


def test_defaults_are_left_out_so_that_a_new_field_changes_no_old_text() -> None:
    assert to_text(Payment(1, "Ay Li", 57511, "2026-11-27", "W48-2112")) == (
        '{"amount":57511,"date":"2026-11-27","item":1,"payee":"Ay Li","reference":"W48-2112"}'
    )


@unhurried
@given(PAYMENTS, PAYMENTS)
def test_two_payments_have_one_text_only_when_they_are_one(one: Payment, other: Payment) -> None:
    assert (to_text(one) == to_text(other)) == (one._replace(line=0) == other._replace(line=0))


@unhurried
@given(PAYMENTS)
def test_a_payment_comes_back_from_the_short_form_that_a_book_keeps(payment: Payment) -> None:
    again = from_kept(payment.item, to_kept(payment))
    assert again == payment._replace(line=0)
    assert (type(again), type(again.role)) == (Payment, Role)
    assert all(type(line.kind) is Kind for line in again.stub)
    assert text_of_kept(payment.item, to_kept(payment)) == to_text(payment)
    assert text_of_kept(payment.item, to_text(payment)) == to_text(payment)  # as an earlier program kept it


def test_every_field_of_a_payment_is_kept_but_the_line() -> None:
    kept = Payment(7, "A", 5, "2026-11-27", "R")._replace(
        **{name: "x" for name, default in Payment._field_defaults.items() if default == ""},
        hash_value=9,
        address=("1 Slipway Lane",),
        stub=(StubLine(Kind.NOTE, "n", 1, 2, "h", "r", "d", 3, 4),),
        role=Role.ADVICE,
        place=3,
        by_transfer=4,
    )
    same = {name for name, value in Payment._field_defaults.items() if getattr(kept, name) == value}
    assert same == {"line"}, "a field was added: give it a value above, and its place in what a book keeps"
    assert from_kept(7, to_kept(kept)) == kept


@pytest.mark.parametrize(
    "text", ["[]", "{}", "[1", "7", '["A",5,"d","r",[[9,"x"]]]', '["A", 5, "d", "r"]', "[" + "0," * 40 + "0]"]
)
def test_what_no_book_keeps_is_refused(text: str) -> None:
    with pytest.raises((ValueError, KeyError, TypeError, IndexError)):
        text_of_kept(1, text)
