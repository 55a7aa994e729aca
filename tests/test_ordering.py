"""The order in which a batch is printed: nothing lost, nothing doubled, and the same whatever fits in memory."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque import ordering
from cheque.ordering import ORDERS, Order, Sorter, key, said
from cheque.payment import Payment
from cheque.register.postal import code_of, countries

PEOPLE = [
    Payment(1, "Zoë Quay", 100, "2026-11-27", "R1", department="Yard", address=("1 Slip", "Quillmere, QM 00402")),
    Payment(2, "Ay Li", 200, "2026-11-27", "R2", department="Loft", address=("2 Slip", "Quillmere, QM 00401-1234")),
    Payment(3, "Ærnst Oar", 300, "2026-11-27", "R3", address=("Far away",)),
    Payment(4, "ay li", 400, "2026-11-27", "R4", department="Yard", address=("4 Slip", "Quillmere, QM 00401")),
]


def in_order(order: Order, folder: Path) -> list[int]:
    """The amounts in hundreds, which are the places in the register."""
    sorter = Sorter(order, folder)
    for payment in PEOPLE:
        sorter.add(payment)
    found = list(sorter.payments())
    assert [payment.item for payment in found] == [1, 2, 3, 4]
    assert [payment.place or payment.item for payment in found] == [payment.amount // 100 for payment in found]
    return [payment.amount // 100 for payment in found]


@pytest.mark.parametrize(
    ("by", "group", "wanted"),
    [
        ("payee", "", [3, 4, 2, 1]),  # small letters before capitals, where all else is the same
        ("department", "", [2, 1, 4, 3]),  # within a department as in the register; none comes last
        ("postal-code", "", [4, 2, 1, 3]),
        ("register", "department", [2, 1, 4, 3]),
        ("payee", "department", [2, 4, 1, 3]),
        ("postal-code", "department", [2, 4, 1, 3]),
    ],
)
def test_payments_are_put_in_order(tmp_path: Path, by: str, group: str, wanted: list[int]) -> None:
    assert in_order(Order(by, group, "en_US"), tmp_path) == wanted


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(0, 9), min_size=1, max_size=60), st.sampled_from(ORDERS[1:]), st.integers(2, 9))
def test_pieces_that_do_not_fit_in_memory_make_no_other_order(amounts: list[int], by: str, piece: int) -> None:
    payments = [
        Payment(n, f"Payee {a}", a, "", "", department=f"D{a % 3}", address=(f"Q 0040{a}",))
        for n, a in enumerate(amounts, 1)
    ]
    order, kept = Order(by, "", "en_US"), ordering._PIECE
    try:
        ordering._PIECE = piece
        sorter = Sorter(order, Path("/tmp"))
        for payment in payments:
            sorter.add(payment)
        found = list(sorter.payments())
    finally:
        ordering._PIECE = kept
    wanted = sorted(payments, key=lambda payment: key(payment, order))  # as Python's own sort, which is stable
    assert [p.place or p.item for p in found] == [payment.item for payment in wanted]
    assert [p._replace(item=0, place=0) for p in found] == [p._replace(item=0) for p in wanted]


def test_an_order_is_told_in_words() -> None:
    assert said("register") == "as in the register"
    assert said("", "") == "as in the register"
    assert said("postal-code", "department") == "department by department, in each by postal code"


def test_the_registers_own_order_leaves_no_mark_in_the_book() -> None:
    assert Order("register", "", "en_US").record() == {}
    assert Order("payee", "", "en_US").record() == {"order": "payee", "collation": "en_US"}


@pytest.mark.parametrize(
    ("country", "address", "wanted"),
    [
        ("US", ("12345 Oar Street", "Quillmere, QM 00401"), "00401"),  # not the number of the house
        ("US", ("1 Slipway Lane", "Quillmere, QM 00401-0042"), "00401-0042"),
        ("US", ("Telephone 555-12345", "Quillmere"), ""),
        ("CA", ("Quillmere ON K1A 0B1",), "K1A0B1"),
        ("GB", ("Quillmere", "QM1 4AB", ""), "QM14AB"),
        ("GB", ("QUILLMERE QM14AB",), "QM14AB"),
        ("DE", ("Hafengasse 4", "04109 Quellmeer"), "04109"),
        ("CH", ("Seestrasse 4", "8001 Quellmeer"), "8001"),
        ("NL", ("1012 AB Quelmeer",), "1012AB"),
        ("PL", ("00-950 Kwilmere",), "00-950"),
        ("PT", ("1000-001 Quilmar",), "1000-001"),
        ("BR", ("Quilmar SP 01310-100",), "01310-100"),
        ("IN", ("Quillmere 400 001",), "400001"),
        ("IE", ("Quillmere", "D02 X285"), "D02X285"),
        ("JP", ("100-0001",), ""),
        ("FR", (), ""),
    ],
)
def test_a_postal_code_is_what_the_country_writes_in_the_last_line(
    country: str, address: tuple[str, ...], wanted: str
) -> None:
    assert code_of(address, country) == wanted


def test_every_country_that_amounts_are_written_for_has_its_postal_code() -> None:
    from cheque.wording import styles

    assert {locale[-2:] for locale in styles.LOCALES} <= set(countries())
