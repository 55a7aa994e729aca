"""Net pay divided between a cheque and a transfer, from the register to the paper."""

from journeys.firm import Firm

ROW = "Ay Li,500.00,300.00,2026-11-27,R1,Wages,900.00,Tax,100.00"
HEAD = "payee,amount,transfer,date,reference,earning1,earning1_amount,deduction1,deduction1_amount"


def test_the_stub_shows_what_goes_by_cheque_and_what_by_transfer(firm: Firm) -> None:
    name = firm.write("divided.csv", ROW, head=HEAD)
    slip = ("--control-total", "500.00", "--item-count", "1")
    said = firm.run("batch", "accept", name, "--form", "payroll-us", *slip).err
    assert "300.00 of net pay goes by transfer besides" in said
    assert "never shows" not in said
    assert "Paid by transfer, and not in the control total: 300.00." in firm.run("report", "control").out
    firm.print(1, 100501)
    assert [firm.stream.count(figures) for figures in (b"300.00", b"800.00", b"500.00")] == [1, 1, 1]


def test_a_form_that_never_shows_the_transfer_says_so_before(firm: Firm) -> None:
    name = firm.write("divided.csv", "Ay Li,500.00,300.00,2026-11-27,R1", head="payee,amount,transfer,date,reference")
    said = firm.run("register", "check", name, "--form", "side-stub-us").err
    assert "the form side-stub-us never shows by_transfer (of 1)" in said
