"""What a print is refused for before a byte leaves, each with its message and its exit status."""

import pytest
from journeys.firm import LENGTH, Firm

PRINT = ("--paper-loaded", "--after-first", "go-on")


def refused(firm: Firm, *options: str, expect: int) -> str:
    """Print batch 1 with its right code; nothing leaves and no number is used. What is said."""
    said = firm.run("print", "1", "--proof-code", firm.proof(), *options, expect=expect).err
    assert not (firm.folder / "payroom.prn").exists()
    assert not [kind for kind, _ in firm.events() if kind.startswith("run.")]
    return said


def test_a_number_that_is_not_the_one_at_the_head_is_refused(accepted: Firm) -> None:
    said = refused(accepted, "--first-number", "300501", *PRINT, expect=5)
    assert "main:300501 is on no stock in the book. `cheque stock list` shows what is" in said
    said = refused(accepted, "--first-number", "0100501", *PRINT, expect=2)
    assert "found number 0100501; wanted it as preprinted, 100501." in said
    said = refused(accepted, "--first-number", "main:100501", *PRINT, expect=2)
    assert "found --first-number 'main:100501'; wanted the number preprinted on the form at the head" in said


def test_a_number_used_is_never_printed_on(accepted: Firm) -> None:
    accepted.run("spoil", "100510", "--reason", "torn in the box")
    said = refused(accepted, "--first-number", "100510", *PRINT, expect=5)
    assert (
        "number 100510 of main is spoiled, so it cannot be printed on. Look at the number on the form at the head"
        in said
    )
    said = refused(accepted, "--first-number", "100501", *PRINT, expect=5)
    assert "Print up to it with --count 9, then go on from the next number on the paper." in said


def test_a_number_that_bears_a_cheque_is_never_printed_on(paid: Firm) -> None:
    paid.run("void", "100503", "--reason", "coffee spilt on it", "--paper", "in-hand")
    paid.run("reprint", "100503")
    for number, state in (("100503", "voided"), ("100504", "printed")):
        said = paid.print(2, int(number), expect=5)
        assert f"number {number} of main is {state}, so it cannot be printed on" in said.err


def test_a_form_of_other_stock_is_refused(accepted: Firm) -> None:
    (accepted.folder / "forms").mkdir()
    text = _shipped().replace('name = "payroll-us"', 'name = "suppliers"')
    (accepted.folder / "forms" / "suppliers.toml").write_text(text, "utf-8")
    accepted.change('# forms = "forms"', 'forms = "forms"')
    accepted.run("stock", "receive", "suppliers", "--account", "main", "--first", "500001", "--last", "500100")
    said = refused(accepted, "--first-number", "500001", *PRINT, expect=5)
    assert "number 500001 of main is on suppliers stock, but batch 1 was accepted for payroll-us." in said
    assert "Load that form, or withdraw the batch and accept it for suppliers." in said


def _shipped() -> str:
    from cheque.library import shipped

    return (shipped() / "payroll-us.toml").read_text("utf-8")


def test_every_question_without_a_terminal_names_the_option_that_answers_it(accepted: Firm) -> None:
    first = ("--first-number", "100501")
    said = accepted.run("print", "1", *first, *PRINT, expect=2).err
    assert "an answer is missing: Proof code? Give it with --proof-code." in said
    said = refused(accepted, *PRINT, expect=2)
    assert "Which number is preprinted on the form at the head? Give it with --first-number." in said
    said = refused(accepted, *first, "--after-first", "go-on", expect=2)
    assert "Is the paper loaded, its first form at the head? (yes/no) Give it with --paper-loaded." in said
    assert "printing on a bare platen damages the print head" in said
    for after in ((), ("--after-first", "ask")):
        said = refused(accepted, *first, "--paper-loaded", *after, expect=2)
        assert "who looks at the first form? --after-first stop ends the run there" in said


def test_a_printer_that_is_not_there_uses_no_number(accepted: Firm) -> None:
    accepted.change("file:payroom.prn", "socket://127.0.0.1:1")
    said = refused(accepted, "--first-number", "100501", *PRINT, expect=4)
    assert "nothing was sent and no number was used: socket://127.0.0.1:1: the connection was refused." in said
    assert ".." not in said
    said = refused(accepted, "--first-number", "100501", "--printer", "attic", *PRINT, expect=3)
    assert "there is no printer 'attic'" in said


def test_a_file_that_others_can_read_is_no_place_for_cheques(accepted: Firm) -> None:
    (accepted.folder / "payroom.prn").write_bytes(b"")
    (accepted.folder / "payroom.prn").chmod(0o644)
    said = accepted.print(expect=4)
    assert "nothing was sent and no number was used" in said.err
    assert "others can read or write it; make it private (chmod 600)" in said.err


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("parts = 4", "parts = 2", "the form has 3 parts, and the printer is rated for 2"),
        ('step = "1/216 in"', 'step = "1/100 in"', "the printer's step of 1/100 in cannot be fed exactly"),
        ('table = "cp437"', 'table = "latin-9"', "escp9 has no command for table latin-9 on this printer"),
    ],
)
def test_a_printer_that_cannot_print_the_form_is_refused_with_its_reason(
    accepted: Firm, old: str, new: str, said: str
) -> None:
    code = accepted.proof()
    accepted.change(old, new)
    told = accepted.run("print", "1", "--first-number", "100501", "--proof-code", code, *PRINT, expect=3).err
    assert f"payroom cannot print payroll-us: {said}" in told
    assert "Choose another printer." in told
    assert not (accepted.folder / "payroom.prn").exists()
    told = accepted.run("proof", "1", expect=3).err
    assert said in told


def test_a_shift_greater_than_the_forms_slack_is_refused(accepted: Firm) -> None:
    said = accepted.run("align", "payroll-us", "--reading", "2 lines low", expect=3).err
    assert "that shift is refused: it moves the print 1/3 in up, and some field has only" in said
    accepted.run("align", "payroll-us", "--reading", "2 dots low")
    accepted.print(1, 100501, "--count", "1")
    # The same shift for a form that has no room: the definition as accepted says how much there is.
    accepted.run("confirm", "1", "--good-count", "1")
    _keep(accepted, down=100_000_000)
    said = accepted.print(1, 100502, expect=5).err
    assert "nothing is sent: the print of payroll-us is kept shifted" in said
    assert "more than some field of the form has room for. Line it up again: `cheque align payroll-us`." in said


def test_a_shift_finer_than_the_printer_can_place_prints_nothing(accepted: Firm) -> None:
    accepted.run("align", "payroll-us", "--reading", "2 dots low")
    accepted.change('language = "escp9"', 'language = "plain"')
    accepted.change('step = "1/216 in"', 'step = "1/6 in"\nvouched = ["high-letters"]')
    said = accepted.print(expect=5).err
    assert "nothing is sent: payment 1 cannot be printed exactly on this printer" in said
    accepted.run("align", "payroll-us", "--reset")
    accepted.print()
    assert len(accepted.stream.split(b"\r\n")) - 1 == 24 * int(LENGTH * 6)


def _keep(firm: Firm, *, down: int) -> None:
    """A shift that the tool itself would refuse to keep, as after the form's definition was changed."""
    from cheque.book import shifts
    from cheque.book.book import open_book
    from cheque.page import Shift

    with open_book(firm.folder / "book") as book:
        shifts.keep(book, "payroom", "payroll-us", Shift(0, down))


def test_a_run_not_answered_for_must_be_answered_for_first(accepted: Firm) -> None:
    accepted.print(1, 100501, "--count", "3")
    said = accepted.print(1, 100504, expect=5)
    assert (
        "run 1 of batch 1 on payroom was not answered for: `cheque resume 1` or `cheque confirm 1` first." in said.err
    )


def test_an_unknown_command_or_option_is_told_with_what_is_near(firm: Firm) -> None:
    said = firm.run("prnt", expect=2).err
    assert said.startswith("cheque: there is no command 'prnt'. Did you mean 'print'?")
    said = firm.run("colour", expect=2).err
    assert "there is no command 'colour'. `cheque --help` lists the commands." in said
    said = firm.run("print", "1", "--paper", expect=2).err
    assert "No such option '--paper'" in said
    assert "--paper-loaded" in said
    assert "`cheque print --help` shows how." in said
    said = firm.run("print", expect=2).err
    assert "Missing argument 'BATCH'" in said
    said = firm.run("print", "one", expect=2).err
    assert "found 'one'; wanted a batch's number, as `cheque batch list` shows it." in said
    said = firm.run("stock", "recieve", expect=2).err
    assert "No such command 'recieve'" in said


def test_help_and_version_are_answers(firm: Firm) -> None:
    help_page = firm.run("--help").out
    for name in ("setup", "stock", "register", "batch", "proof", "print", "resume", "confirm", "void", "reconcile"):
        assert f"\n  {name} " in help_page
    assert firm.run("--version").out.startswith("cheque, version ")
