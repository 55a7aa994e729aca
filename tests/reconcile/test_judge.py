"""One rule after another, at its very edge: what the bank booked on a number against what the book has of it."""

import pytest

from cheque.book.statements import Item
from cheque.reconcile.judge import KINDS, Case, Held, Rules, in_order, judge, other, paid_before, same_payee

GOOD = Held("printed", "cheque", 81_240, "2026-11-27", "Ada Thwaite")


def kinds(
    held: Held = GOOD, amount: int = -81_240, booked: str = "2026-12-01", payee: str = "", *before: Item
) -> list[str]:
    case = Case(Item(booked, 100501, amount, payee=payee), held, before, Rules("USD", 180))
    found = judge(case)
    assert {one.kind for one in found} <= set(KINDS)
    return [one.kind for one in found]


def text(held: Held = GOOD, amount: int = -81_240, booked: str = "2026-12-01") -> str:
    case = Case(Item(booked, 100501, amount), held, (), Rules("USD", 180))
    return "; ".join(one.text for one in judge(case))


def test_paid_as_issued_is_nothing_to_tell() -> None:
    assert kinds() == []
    assert kinds(payee="ADA  THWAITE") == []


@pytest.mark.parametrize(
    ("state", "kind"),
    [
        ("", "never issued"),
        ("on hand", "on hand"),
        ("reserved", "in doubt"),
        ("sent", "in doubt"),
        ("spoiled", "spoiled"),
        ("missing", "missing"),
        ("destroyed", "destroyed"),
        ("voided", "voided"),
    ],
)
def test_what_is_no_good_cheque_is_told_by_what_it_is_and_not_by_its_figures_too(state: str, kind: str) -> None:
    for booked in ("2026-01-01", "2028-01-01"):
        assert kinds(GOOD._replace(state=state), -1, payee="Somebody Else", booked=booked) == [kind]
    assert kinds(Held("printed", "advice", 0, "2026-11-27", "Ada Thwaite")) == ["advice"]
    told = GOOD._replace(state=state, told="coffee spilt on it")
    assert text(told).endswith(" (coffee spilt on it)")


def test_an_advice_is_told_as_one_and_not_by_its_day_and_payee_too() -> None:
    advice = Held("printed", "advice", 0, "2026-11-27", "Ada Thwaite")
    for booked in ("2026-11-01", "2028-01-01"):
        assert kinds(advice, booked=booked, payee="Somebody Else") == ["advice"]


def test_the_days_of_early_and_stale_are_counted_to_the_day() -> None:
    assert kinds(booked="2026-11-27") == []
    assert kinds(booked="2026-11-26") == ["early"]
    assert kinds(booked="2027-05-26") == []  # the 180th day
    assert kinds(booked="2027-05-27") == ["stale"]
    assert "181 days after its date" in text(booked="2027-05-27")
    soon = Case(Item("2027-02-26", 100501, -81_240), GOOD, (), Rules("USD", 90))  # its 91st day
    assert [one.kind for one in judge(soon)] == ["stale"]


def test_a_stop_counts_from_the_day_of_its_confirmation_until_it_lapses() -> None:
    stopped = GOOD._replace(stopped="2026-12-01", lapsed="2026-12-15")
    assert kinds(stopped, booked="2026-12-01") == ["stopped"]
    assert "that it would not pay it" in text(stopped, booked="2026-12-01")
    assert kinds(stopped, booked="2026-12-15") == ["stopped"]
    assert kinds(stopped, booked="2026-12-16") == []
    assert "after it was paid" in text(stopped, booked="2026-11-30")
    assert kinds(stopped._replace(state="voided"), booked="2026-11-30") == ["voided"]


@pytest.mark.parametrize(
    ("amount", "words"),
    [
        (-81_204, "paid 812.04, issued for 812.40: 0.36 too little; two digits are exchanged"),
        (-8_124, "731.16 too little; the decimal point has slipped"),
        (-81_340, "1.00 too much; one digit differs, 3 for 2"),
        (-812_400, "the decimal point has slipped"),
        (-90_000, "paid 900.00, issued for 812.40: 87.60 too much"),
        (-900_001, "paid 9000.01, issued for 812.40: 8187.61 too much"),
    ],
)
def test_another_amount_is_told_with_how_it_came_about(amount: int, words: str) -> None:
    assert kinds(amount=amount) == ["amount"]
    assert words in text(amount=amount)
    assert text(amount=-900_001).endswith("too much")
    # of an amount under 1.00 the nought before the point is a figure that can be exchanged
    assert "two digits are exchanged" in text(GOOD._replace(amount=81), amount=-801)


def test_a_second_payment_counts_unless_the_first_was_taken_back() -> None:
    paid, back = Item("2026-11-28", 100501, -81_240), Item("2026-11-30", 100501, 81_240)
    assert kinds(GOOD, -81_240, "2026-12-01", "", paid) == ["twice"]
    assert kinds(GOOD, -81_240, "2026-12-01", "", paid, back) == []
    assert kinds(GOOD, -81_240, "2026-12-01", "", paid, paid, back) == ["twice"]
    assert kinds(GOOD, 81_240, "2026-12-01", "", paid) == ["taken back"]
    assert kinds(GOOD, 81_240) == ["taken back"]
    given = Case(Item("2026-12-01", 100501, 81_240), GOOD, (paid,), Rules("USD", 180))
    assert [one.text for one in judge(given)] == ["812.40 given back: ask the bank why"]
    assert text(amount=81_240) == "812.40 given back, of a payment that no statement has"
    cent = paid._replace(amount=-1)
    for both in ([cent, paid], [paid, cent]):
        assert paid_before(both) == both[0]
        assert paid_before([*both, back]) == cent  # what has the same amount is what was given back
    assert paid_before([paid, cent, back._replace(amount=5)]) == paid  # else the latest


def test_the_items_of_a_number_count_by_day_paid_first_the_right_amount_first() -> None:
    wrong, right, back = (Item("2026-12-01", 1, amount) for amount in (-900, -500, 500))
    assert in_order([back, wrong, right], 500) == [right, wrong, back]
    later = right._replace(booked="2026-12-02")
    assert in_order([later, back], 500) == [back, later]
    more = wrong._replace(amount=-901, nth=2)
    assert in_order([wrong, more], 500) == [more, wrong]
    assert in_order([wrong._replace(nth=2), wrong], 500) == [wrong, wrong._replace(nth=2)]


@pytest.mark.parametrize(
    ("one", "two", "same"),
    [
        ("Zoë Marlinspike", "ZOE MARLINSPIKE", True),
        ("Ay Li", "Ay Lin", False),
        ("Wilhelmina Capstan", "Wilhelmina Capstan-Reyes", True),
        ("O'Dunmarrow, N.", "N. O'Dunmarrow", False),
        ("Foxglove & Sons", "FOXGLOVE AND SONS", True),
        ("Wilhelmina Capsta", "Wilhelmina Capstan-Reyes", True),  # cut short after 16 letters
        ("Wilhelmina Capst", "Wilhelmina Capstan-Reyes", False),
        ("Capstan-Reyes, Wilhelmina", "Wilhelmina Capstan-Reyes", False),
        ("Rosalind Wilhelmina Capstan", "Wilhelmina Capstan", False),
    ],
)
def test_a_payee_is_the_same_whatever_a_bank_makes_of_the_letters(one: str, two: str, same: bool) -> None:
    assert same_payee(one, two) is same
    assert kinds(GOOD._replace(payee=two), payee=one) == ([] if same else ["payee"])


def test_an_item_that_speaks_of_a_cheque_and_pays_none_is_told() -> None:
    assert [one.kind for one in other(Item("2026-12-01", 0, -5, about="cheque number 10O5; x"))] == ["unreadable"]
    assert [one.kind for one in other(Item("2026-12-01", 0, 5, about="cheque number 7733"))] == ["credit"]
    assert list(other(Item("2026-12-01", 0, -5, about="fee for a cheque number 5"))) == []
