"""A payment whose form went missing after it was sent: it may bear a good cheque, so no run prints it again."""

from journeys.firm import Firm


def test_a_missing_form_holds_its_payment_back_and_says_what_to_do(firm: Firm) -> None:
    firm.accept()
    firm.print()
    said = firm.run("confirm", "1", "--good-count", "23", "--missing", "100507=not in the tray")
    assert "Held back: 1 payment whose form is missing and may bear a good cheque (100507)." in said.err
    assert "has its form" not in said.err
    assert "1 held back: form missing" in firm.run("batch", "list").out
    resumed = firm.run("resume", "1", "--power-cycled")
    assert "Held back: 1 payment" in resumed.err
    firm.run("reprint", "100507", expect=5)
    firm.run("notice", "stopped", "100507", "--confirmed-by", "Tidewrack's stop desk")
    assert firm.run("reprint", "100507").out.strip() == "2"
