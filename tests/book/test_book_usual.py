"""What an approver should stop at: payees never paid before, payees that are gone, amounts far from usual."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cheque.book.usual import Usual


@pytest.mark.parametrize(
    ("amount", "said"), [(150_00, "more"), (149_99, ""), (100_00, ""), (50_01, ""), (50_00, "less"), (0, "less")]
)
def test_far_is_half_as_much_again_or_half(amount, said):
    assert Usual(3, 100_00).far(amount) == said


@given(st.integers(0, 10**12))
def test_a_payee_never_paid_before_has_nothing_usual(amount):
    assert Usual(0, 0).far(amount) == ""
