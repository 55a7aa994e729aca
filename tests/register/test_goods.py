"""Goods on a register's line: what a delivery note, a voucher or a goods-received note lists."""

import io

from register.registers import faults, messages, payments

from cheque.payment import Kind, Payment, StubLine
from cheque.register import Reading, read_register
from cheque.register.csvwrite import write

HEADER = "payee,amount,date,reference,goods1,goods1_quantity,goods1_price,goods1_amount,goods2,goods2_quantity\n"
LINE = "Tarn & Tiller Chandlery,96.00,2026-11-27,DN-7,Marine ply 18 mm,4,24.00,96.00,Bronze screws,2.5\n"


def test_goods_have_a_quantity_and_perhaps_a_price_and_an_amount() -> None:
    (note,) = payments(HEADER + LINE)
    assert note.stub == (
        StubLine(Kind.GOODS, "Marine ply 18 mm", 9_600, None, "4", "24.00"),
        StubLine(Kind.GOODS, "Bronze screws", None, None, "2.5"),
    )


def test_a_quantity_that_is_no_number_is_refused() -> None:
    (told,) = faults(HEADER + LINE.replace("screws,2.5", "screws,two"))
    assert "goods2_quantity: found 'two'; wanted a number" in told


def test_goods_with_amounts_add_up_and_without_amounts_need_not() -> None:
    assert messages(HEADER + LINE) == []
    (told,) = messages(HEADER + LINE.replace("Chandlery,96.00", "Chandlery,95.00"))
    assert "amount: found 95.00; wanted 96.00, the sum of its goods" in told
    assert messages(HEADER + LINE.replace("24.00,96.00", ",").replace("Chandlery,96.00", "Chandlery,0.00")) == []


def test_goods_and_pay_or_invoices_are_not_on_one_payment() -> None:
    goods = StubLine(Kind.GOODS, "Rope", 500)
    for other, said in ((Kind.EARNING, "goods and pay"), (Kind.INVOICE, "invoices and goods")):
        both = Payment(1, "Ay Li", 1_000, "2026-11-27", "W48", stub=(goods, StubLine(other, "x", 500)))
        assert any(f"found {said} together" in told for told in messages([both]))


def test_goods_written_to_a_register_read_back_the_same() -> None:
    wanted = payments(HEADER + LINE)
    stream = io.BytesIO()
    write(wanted, stream, "USD")
    stream.seek(0)
    assert list(read_register(stream, Reading("goods.csv", "USD"), "csv")) == wanted
