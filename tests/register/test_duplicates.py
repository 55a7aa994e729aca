"""The memory of payments seen: lean, and as exact as a dictionary."""

from hypothesis import given, settings
from hypothesis import strategies as st

from cheque.payment import Payment
from cheque.register.duplicates import Seen, duplicate_key


@settings(max_examples=50, deadline=None)
@given(st.lists(st.integers(0, 2**64 - 1) | st.integers(1, 40), max_size=200))
def test_a_key_is_remembered_with_the_line_it_was_first_on(keys: list[int]) -> None:
    seen, wanted = Seen(), dict[int, int]()
    for line, key in enumerate(keys, 1):
        key = key or 1  # the key 0 is held as 1
        assert seen.put(key.to_bytes(8, "big"), line) == wanted.get(key, 0)
        wanted.setdefault(key, line)


def test_the_memory_grows_with_the_register() -> None:
    seen = Seen()
    keys = [duplicate_key(Payment(n, "Ay Li", n, "2026-11-27", "")) for n in range(1, 5001)]
    assert [seen.put(key, line) for line, key in enumerate(keys, 1)] == [0] * 5000
    assert [seen.put(key, 1) for key in keys] == list(range(1, 5001))


def test_capitals_make_no_other_payee_and_no_fact_runs_into_the_next() -> None:
    one = Payment(1, "Ay Li", 100, "2026-11-27", "R1")
    assert duplicate_key(one) == duplicate_key(one._replace(payee="AY LI", item=9, memo="x"))
    assert duplicate_key(one._replace(payee="Ay Li1", amount=0)) != duplicate_key(one._replace(amount=10))
    assert len({duplicate_key(one._replace(date=d, reference=r)) for d, r in [("a", "bc"), ("ab", "c")]}) == 2
