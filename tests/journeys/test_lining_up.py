"""A form lined up on a printer: on plain paper, on stock, and every later print moved by what was read."""

from fractions import Fraction

from journeys.firm import LENGTH, Firm
from outside.paper import read


def place_of_number(firm: Firm, form: int = 0) -> tuple[Fraction, Fraction]:
    """Where the first number of a form is struck, read by a decoder that is not the package's."""
    strikes = read(firm.stream, "escp9").form(form, LENGTH)
    first = min((strike for strike in strikes if strike.y < 1 and strike.x > 6), key=lambda one: (one.y, one.x))
    return first.x, first.y


def test_on_plain_paper_no_number_is_used(accepted: Firm) -> None:
    said = accepted.run("align", "payroll-us", "--on", "plain", "--paper-loaded").err
    assert "printing on a bare platen damages the print head" in said
    assert "A dot is 1/60 in across, 1/216 in down." in said
    assert "Look how it stands, then: cheque align payroll-us --reading '2 dots right, 1 dot low'" in said
    assert read(accepted.stream, "escp9").fed == LENGTH
    assert accepted.run("stock", "list", "--json").json[0]["states"] == {"on hand": 500, "received": 500}
    said = accepted.run("align", "payroll-us", "--on", "plain", expect=2).err
    assert "Give it with --paper-loaded." in said


def test_what_was_read_moves_every_later_print_and_no_proof(accepted: Firm) -> None:
    code = accepted.proof()
    accepted.print(1, 100501, "--count", "1")
    accepted.run("confirm", "1", "--good-count", "1")
    said = accepted.run("align", "payroll-us", "--reading", "2 dots right, 3 dots low")
    assert said.out == "payroll-us on payroom: shifted 1/30 in left and 1/72 in up.\n"
    assert accepted.proof() == code
    accepted.run("align", "payroll-us", "--reset")
    accepted.run("align", "payroll-us", "--reading", "2 dots left, 3 dots high")
    accepted.print(1, 100502, "--count", "1")
    before, after = place_of_number(accepted, 0), place_of_number(accepted, 1)
    assert (after[0] - before[0], after[1] - before[1]) == (Fraction(2, 60), Fraction(3, 216))
    assert accepted.run("align", "payroll-us", "--json").json["down"] > 0


def test_on_stock_void_is_struck_and_the_number_accounted_for(accepted: Firm) -> None:
    line = ("align", "payroll-us", "--on", "stock", "--paper-loaded", "--first-number")
    said = accepted.run(*line, "100501", "--reading", "right")
    assert "Number 100501 is entered as spoiled. Keep the form for the count." in said.err
    assert accepted.state(100501) == "spoiled"
    assert b"VOID" in accepted.stream or b"V O I D" in accepted.stream
    said = accepted.run(*line, "100501", "--reading", "right", expect=5).err
    assert "number 100501 of main is spoiled" in said
    assert "is on no stock" in accepted.run(*line, "300501", expect=5).err
    assert "wanted it as preprinted, 100502" in accepted.run(*line, "0100502", expect=2).err
    assert "Give it with --first-number." in accepted.run(*line[:-1], expect=2).err
    accepted.print(1, 100502)
    accepted.run("confirm", "1", "--good-count", "24")
    said = accepted.run("reconcile", "numbers", "1").out
    assert "100501 was spoiled" in " ".join(said.split())


def test_a_reading_or_a_form_that_cannot_be_understood_is_refused(accepted: Firm) -> None:
    said = accepted.run("align", "payroll-us", "--reading", "a bit to the left", expect=2).err
    assert "found --reading 'a bit to the left': 'a bit to the left' is not a reading such as '2 dots right'" in said
    said = accepted.run("align", "payroll-uk", "--reading", "right", expect=3).err
    assert "there is no form 'payroll-uk'; did you mean payroll-us" in said
    said = accepted.run("align", "payroll-us", "--reading", "5 lines low", expect=3).err
    assert "some field has only 1/12 in of slack there: move the paper in the tractors instead" in said
    accepted.change("parts = 4", "parts = 2")
    said = accepted.run("align", "payroll-us", "--on", "plain", "--paper-loaded", expect=3).err
    assert "payroom cannot print payroll-us: the form has 3 parts" in said


def test_a_printer_that_breaks_while_a_pattern_is_struck_is_told(accepted: Firm) -> None:
    accepted.change("file:payroom.prn", "socket://127.0.0.1:1")
    said = accepted.run("align", "payroll-us", "--on", "plain", "--paper-loaded", expect=4).err
    assert "nothing was sent and no number was used" in said
    assert "the connection was refused" in said
