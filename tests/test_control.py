"""Control totals: what is compared, and that the fault planted in a register is the one that is named.

The rules held against: a difference that divides by nine suggests two digits exchanged, one equal to an
amount a line lost or doubled, twice an amount a sign (general auditing practice). That exchanging two digits
changes a number by a multiple of nine is arithmetic: ab - ba = 9(a - b).
"""

from collections.abc import Iterable

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from cheque.control import (
    MENTIONED,
    Difference,
    Slip,
    Tally,
    Totals,
    compare,
    describe,
    exchanged,
    explain,
    slipped,
)
from cheque.payment import Payment, Role


def payment(line: int, amount: int, **more: object) -> Payment:
    return Payment(line, f"Payee {line}", amount, "2026-11-27", f"R{line}", line=line)._replace(**more)


def totals(payments: Iterable[Payment]) -> Totals:
    tally = Tally("USD")
    for one in payments:
        tally.add(one)
    return tally.totals()


def slip_of(payments: Iterable[Payment]) -> Slip:
    return Slip(*totals(payments)[:3])


def explained(slip: Slip, payments: list[Payment]) -> list[str]:
    return explain(slip, totals(payments), lambda: payments, "USD")


REGISTER = [payment(n, amount, hash_value=2100 + n) for n, amount in enumerate([81240, 67873, 50, 110025], 1)]


def test_every_payment_is_an_item_and_only_cheques_are_money_out() -> None:
    transfer = payment(5, 700, role=Role.ADVICE, hash_value=2105)
    nothing = payment(6, 0, role=Role.ADVICE, hash_value=2106)
    found = totals([*REGISTER, transfer, nothing])
    assert found[:3] == (6, 259188, 2101 + 2102 + 2103 + 2104 + 2105 + 2106)
    assert (found.advices, found.transfer_total) == (2, 700)


def test_there_is_no_hash_total_without_a_hash_value_on_every_line() -> None:
    assert totals([*REGISTER, payment(5, 1)]).hash_total is None
    assert totals([]).hash_total is None


def test_totals_ignore_order_and_the_digest_too() -> None:
    assert totals(REGISTER) == totals(reversed(REGISTER))


def test_two_amounts_exchanged_pass_all_totals_but_not_the_digest() -> None:
    one, two, *rest = REGISTER
    swapped = [one._replace(amount=two.amount), two._replace(amount=one.amount), *rest]
    assert totals(swapped)[:3] == totals(REGISTER)[:3]
    slip = slip_of(REGISTER)._replace(pairs_digest=totals(REGISTER).pairs_digest)
    assert [d.name for d in compare(slip, totals(swapped))] == ["pairs digest"]
    (sentence,) = explained(slip, swapped)
    assert sentence.startswith("The totals agree but the pairs of payee and amount do not: amounts may be exchanged")


def test_only_what_the_slip_gives_is_compared() -> None:
    assert compare(Slip(), totals(REGISTER)) == []
    assert compare(slip_of(REGISTER), totals(REGISTER)) == []
    assert compare(Slip(3, 1, 2, "0" * 64), totals(REGISTER)) == [
        Difference("item count", 3, 4),
        Difference("control total", 1, 259188),
        Difference("hash total", 2, 8410),
        Difference("pairs digest", "0" * 64, totals(REGISTER).pairs_digest),
    ]


def test_a_slip_that_says_nothing_at_all_is_not_the_same_as_one_that_says_zero() -> None:
    assert [d.name for d in compare(Slip(0, 0, 0), totals(REGISTER))] == ["item count", "control total", "hash total"]


def test_a_digest_may_be_given_by_its_beginning_in_groups_and_capitals() -> None:
    digest = totals(REGISTER).pairs_digest
    assert compare(Slip(pairs_digest=f"{digest[:8].upper()} {digest[8:16]}"), totals(REGISTER)) == []
    short = Slip(pairs_digest=digest[:15])
    assert [d.name for d in compare(short, totals(REGISTER))] == ["pairs digest"]
    assert explained(short, REGISTER) == ["The pairs digest given is too short: give at least its first 16 digits."]


def test_a_difference_is_told_as_a_sentence() -> None:
    assert describe(Difference("item count", 24, 23), "USD") == (
        "The item count is 24 on the slip and 23 in the register, which has 1 less."
    )
    assert describe(Difference("control total", 1821477, 1824177), "USD") == (
        "The control total is 18214.77 on the slip and 18241.77 in the register, which has 27.00 more."
    )
    assert describe(Difference("hash total", 51877, None), "USD") == (
        "The hash total is 51877 on the slip, and the register has no column to sum for it."
    )
    assert describe(Difference("pairs digest", "ab", "cd"), "USD") == (
        "The pairs digest is ab on the slip and cd in the register."
    )


def test_a_control_total_keyed_wrongly_is_seen() -> None:
    slip = slip_of(REGISTER)
    for keyed, words in [
        (slip._replace(control_total=251988), "two digits exchanged: 2519.88 for 2591.88"),
        (slip._replace(control_total=25918800), "its decimal point slipped: 259188.00 for 2591.88"),
        (slip._replace(control_total=259138), "one digit wrong: 2591.38 for 2591.88"),
    ]:
        assert explained(keyed, REGISTER)[0] == f"The control total may have been keyed with {words}."
    assert explained(slip._replace(hash_total=8140), REGISTER)[0] == (
        "The hash total may have been keyed with two digits exchanged: 8140 for 8410."
    )


def test_digits_exchanged_in_one_amount_are_named_with_payee_and_line() -> None:
    wrong = [REGISTER[0]._replace(amount=82140), *REGISTER[1:]]
    assert explained(slip_of(REGISTER), wrong) == [
        "Two digits may be exchanged (the difference divides by nine): line 1, Payee 1, 821.40 that should be 812.40."
    ]


def test_digits_exchanged_in_cents_below_ten_are_found() -> None:
    wrong = [*REGISTER[:2], REGISTER[2]._replace(amount=5), REGISTER[3]]
    assert "line 3, Payee 3, 0.05 that should be 0.50" in explained(slip_of(REGISTER), wrong)[0]


def test_a_difference_that_divides_by_nine_is_said_so_even_without_a_culprit() -> None:
    slip = slip_of(REGISTER)._replace(control_total=259188 - 9_000_000)
    assert explained(slip, REGISTER) == [
        "The difference divides by nine, which suggests two digits exchanged, but no single amount of the register "
        "explains it so."
    ]


def test_a_lost_line_is_described_by_its_amount_and_number() -> None:
    (sentence,) = explained(slip_of(REGISTER), REGISTER[1:])
    assert sentence == (
        "The register has one line fewer than the slip counts: look for a line lost; it would have an amount of "
        "812.40 and the number 2101 in the hash column."
    )


def test_a_lost_line_of_nothing_is_only_counted() -> None:
    nothing = payment(5, 0, role=Role.ADVICE)
    plain_slip = slip_of([*REGISTER, nothing])
    assert explained(plain_slip, REGISTER) == [
        "The register has one line fewer than the slip counts: look for a line lost."
    ]


def test_a_lost_line_like_another_is_told_with_the_other() -> None:
    twin = REGISTER[0]._replace(item=5, line=5, hash_value=None)
    slip = slip_of([*REGISTER, twin])
    assert explained(slip, REGISTER)[1] == ("The line lost would have the same amount as: line 1, Payee 1, 812.40.")


def test_a_doubled_line_is_named_by_amount_and_by_number() -> None:
    doubled = [*REGISTER, REGISTER[1]._replace(item=5, line=5)]
    assert explained(slip_of(REGISTER), doubled) == [
        "The register has one line more than the slip counts: look for a line doubled.",
        "The difference is one amount, which may be in the register twice: "
        "line 2, Payee 2, 678.73; line 5, Payee 2, 678.73.",
        "The difference is one hash value, which may be in the register twice: "
        "line 2, Payee 2, 2102; line 5, Payee 2, 2102.",
    ]


def test_an_amount_left_out_or_added_twice_on_the_slip_is_considered() -> None:
    slip = slip_of(REGISTER)
    assert explained(slip._replace(control_total=259188 - 67873), REGISTER) == [
        "The difference is one amount, which may be in the register twice, or left out when the slip was added up: "
        "line 2, Payee 2, 678.73."
    ]
    assert explained(slip._replace(control_total=259188 + 67873), REGISTER) == [
        "The difference is the same as one amount, which may have been added twice on the slip, or have been lost "
        "from the register where two lines were alike: line 2, Payee 2, 678.73."
    ]


def test_a_sign_is_seen_in_twice_an_amount() -> None:
    slip = slip_of(REGISTER)
    assert explained(slip._replace(control_total=259188 - 2 * 67873), REGISTER) == [
        "The difference is twice one amount, which may have been counted with the wrong sign: line 2, Payee 2, 678.73."
    ]


def test_a_slipped_decimal_point_is_named() -> None:
    wrong = [REGISTER[0], REGISTER[1]._replace(amount=6787300), *REGISTER[2:]]
    assert explained(slip_of(REGISTER), wrong)[-1] == (
        "A decimal point may have slipped: line 2, Payee 2, 67873.00 that should be 678.73."
    )


def test_transfers_included_on_the_slip_are_recognised() -> None:
    both = [*REGISTER, payment(5, 700, role=Role.ADVICE)]
    assert explained(Slip(5, 259188 + 700), both)[0] == (
        "The difference is what is paid by transfer, 7.00: the control total covers cheques only, and the slip may "
        "include the transfers."
    )


def test_several_lines_more_or_fewer_are_counted() -> None:
    assert explained(Slip(item_count=1), REGISTER) == ["The register has 3 lines more than the slip counts."]
    assert explained(Slip(item_count=9), REGISTER) == ["The register has 5 lines fewer than the slip counts."]


def test_no_difference_needs_no_explanation_and_no_second_reading() -> None:
    def never() -> Iterable[Payment]:
        raise AssertionError

    assert explain(slip_of(REGISTER), totals(REGISTER), never, "USD") == []
    assert len(explain(Slip(item_count=9), totals(REGISTER), never, "USD")) == 1


def test_many_candidates_are_counted_and_not_all_named() -> None:
    same = [payment(n, 5000) for n in range(1, 301)]
    (sentence,) = [s for s in explained(slip_of(same[1:]), same) if "one amount" in s]
    assert sentence.count("Payee") == MENTIONED
    assert sentence.endswith(f"; and {300 - MENTIONED} more.")


def test_a_hidden_character_in_a_payee_does_not_reach_the_screen() -> None:
    bad = [payment(1, 5000, payee="Ay\x1b[2JLi")]
    assert not any("\x1b" in sentence for sentence in explained(Slip(control_total=0), bad))


amounts = st.lists(st.integers(1, 10**9), min_size=1, max_size=MENTIONED)


@settings(max_examples=200, deadline=None)
@given(amounts, st.data())
def test_a_random_exchange_of_digits_is_always_found(numbers: list[int], data: st.DataObject) -> None:
    register = [payment(n, amount, hash_value=n) for n, amount in enumerate(numbers, 1)]
    place = data.draw(st.integers(0, len(numbers) - 1))
    digits = list(str(numbers[place]).rjust(3, "0"))
    one, two = data.draw(st.lists(st.integers(0, len(digits) - 1), min_size=2, max_size=2, unique=True))
    digits[one], digits[two] = digits[two], digits[one]
    wrong = int("".join(digits))
    assume(wrong not in (numbers[place], 0))
    assume(len(str(wrong).rjust(3, "0")) == len(digits))
    found = [*register]
    found[place] = register[place]._replace(amount=wrong)
    said = [s for s in explained(slip_of(register), found) if s.startswith("Two digits")]
    assert f"line {place + 1}, " in said[0]


@settings(max_examples=150, deadline=None)
@given(amounts, st.data())
def test_a_random_line_doubled_is_always_found(numbers: list[int], data: st.DataObject) -> None:
    assume(len(numbers) < MENTIONED)
    register = [payment(n, amount) for n, amount in enumerate(numbers, 1)]
    place = data.draw(st.integers(0, len(numbers) - 1))
    found = [*register, register[place]._replace(line=len(numbers) + 1)]
    assert any(
        s.startswith("The difference is one amount") and f"line {place + 1}, " in s
        for s in explained(slip_of(register), found)
    )


@settings(max_examples=150, deadline=None)
@given(amounts, st.data())
def test_a_random_line_lost_is_always_described(numbers: list[int], data: st.DataObject) -> None:
    register = [payment(n, amount, hash_value=2000 + n) for n, amount in enumerate(numbers, 1)]
    place = data.draw(st.integers(0, len(numbers) - 1))
    found = register[:place] + register[place + 1 :]
    first = explained(slip_of(register), found)[0]
    whole, cents = divmod(numbers[place], 100)
    assert f"an amount of {whole}.{cents:02d}" in first
    if found:
        assert f"the number {2001 + place} in" in first


@settings(max_examples=150, deadline=None)
@given(amounts, st.data())
def test_a_random_sign_is_always_found(numbers: list[int], data: st.DataObject) -> None:
    register = [payment(n, amount) for n, amount in enumerate(numbers, 1)]
    place = data.draw(st.integers(0, len(numbers) - 1))
    slip = Slip(len(numbers), sum(numbers) - 2 * numbers[place])
    assert any("twice one amount" in s and f"line {place + 1}, " in s for s in explained(slip, register))


@settings(max_examples=200, deadline=None)
@given(st.integers(0, 10**12), st.integers(0, 10**12))
def test_exchanging_is_the_same_both_ways_and_changes_a_number_by_nines(one: int, two: int) -> None:
    assert exchanged(one, two) == exchanged(two, one)
    if exchanged(one, two):
        assert (one - two) % 9 == 0
        assert sorted(str(one)) == sorted(str(two))


@pytest.mark.parametrize(
    ("one", "two", "wanted"), [(1, 1, False), (12, 21, True), (1234, 4231, True), (123, 312, False), (-12, -21, False)]
)
def test_two_digits_are_exchanged_and_no_others(one: int, two: int, wanted: bool) -> None:
    assert exchanged(one, two) is wanted


def test_a_decimal_point_slips_one_place_or_two() -> None:
    assert slipped(81240, 8124)
    assert slipped(8124, 812400)
    assert not slipped(0, 0)
    assert not slipped(812, 812000)
