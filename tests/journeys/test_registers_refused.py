"""Every refusal of a register, through the command line, with its message; and that nothing of it is kept."""

import pytest
from journeys.firm import REGISTER, TOTALS, Firm

HEAD = "payee,amount,date,reference,employee"
GOOD = "Ay Li,575.11,2026-11-27,W48-1,2112"


def check(firm: Firm, *rows: str, head: str = HEAD, expect: int = 3) -> str:
    """Judge a register of these rows; what is said."""
    return firm.run("register", "check", firm.write("some.csv", *rows, head=head), expect=expect).err


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("Ay Li,575.115,2026-11-27,W48-1,2112", "line 2, amount: found '575.115'; wanted an exact USD amount"),
        ("Ay Li,1e3,2026-11-27,W48-1,2112", "line 2, amount: found '1e3'; wanted an exact USD amount"),
        ('Ay Li,"1,575.11",2026-11-27,W48-1,2112', "leave out marks between thousands"),
        ("Ay Li,-575.11,2026-11-27,W48-1,2112", "line 2, amount: found -575.11; wanted an amount above zero"),
        ("Ay Li,,2026-11-27,W48-1,2112", "line 2, amount: found nothing"),
        ("Ay Li,575.11,2026-02-30,W48-1,2112", "line 2, date: found '2026-02-30'; wanted a real date"),
        (",575.11,2026-11-27,W48-1,2112", "line 2, payee: found nothing; wanted a payee"),
        ("Ay\tLi,575.11,2026-11-27,W48-1,2112", "found U+0009 (a control character) as character 3"),
        ("Ay\x1b@Li,575.11,2026-11-27,W48-1,2112", "found U+001B (a control character) as character 3"),
        ("Ay\x9bLi,575.11,2026-11-27,W48-1,2112", "found U+009B (a control character) as character 3"),
        ("Ay \u202eiL,575.11,2026-11-27,W48-1,2112", "found U+202E RIGHT-TO-LEFT OVERRIDE (a bidirectional control)"),
        ("Ay\u200b Li,575.11,2026-11-27,W48-1,2112", "found U+200B ZERO WIDTH SPACE (a zero-width character)"),
        ("Ay \ue000Li,575.11,2026-11-27,W48-1,2112", "found U+E000 (a private-use character) as character 4"),
        ("Ay ₹Li,575.11,2026-11-27,W48-1,2112", "found U+20B9 INDIAN RUPEE SIGN as character 4; wanted char"),
        ("Ay Li,575.11,2026-11-27,W48-1,E-2112", "line 2, employee: found 'E-2112'; wanted a whole number"),
        ("Ay Li,575.11,2026-11-27,W48-1", "line 2"),
    ],
)  # fmt: skip
def test_what_is_wrong_in_a_line_is_told_with_its_line_its_column_and_what_to_do(
    firm: Firm, row: str, said: str
) -> None:
    told = check(firm, row)
    assert "some.csv is refused: 1 fault." in told
    assert said in told
    # The same line is refused when it is to be accepted, and the attempt is all that is recorded.
    before = firm.events()
    told = firm.run(
        "batch",
        "accept",
        "some.csv",
        "--form",
        "payroll-us",
        "--control-total",
        "575.11",
        "--item-count",
        "1",
        expect=3,
    ).err
    assert said in told
    after = firm.events()
    assert [kind for kind, _ in after[len(before) :]] == ["batch.refused"]
    assert after[-1][1]["given_control_total"] == 57511
    assert firm.run("batch", "list", "--json").json == []


def test_more_than_four_digits_of_an_identity_number_are_never_on_a_stub(firm: Firm) -> None:
    said = check(firm, GOOD + ",123-45-6789", head=HEAD + ",identity")
    assert "line 2, identity: found 9 digits; wanted at most its last 4; take the others out of the register." in said
    assert "6789" not in said  # nor in a message
    check(firm, GOOD + ",6789", head=HEAD + ",identity", expect=0)


def test_net_pay_must_be_earnings_less_deductions(firm: Firm) -> None:
    head = HEAD + ",earning1,earning1_amount,deduction1,deduction1_amount"
    said = check(firm, "Ay Li,575.11,2026-11-27,W48-1,2112,Regular,700.00,Income tax,120.00", head=head)
    assert "line 2, amount: found 575.11; wanted 580.00, which is 700.00 of earnings less 120.00 of deductions" in said


def test_the_same_payment_twice_is_refused_in_the_register_and_allowed_by_name(firm: Firm) -> None:
    said = check(firm, GOOD, GOOD)
    assert "line 3, payee: found the same payee, amount, date and reference as line 2; wanted each payment once" in said
    slip = ("--control-total", "1150.22", "--item-count", "2")
    firm.run("batch", "accept", "some.csv", "--form", "payroll-us", *slip, expect=3)
    firm.run("batch", "accept", "some.csv", "--form", "payroll-us", *slip, "--allow-duplicate", "W48-2", expect=3)
    firm.run("batch", "accept", "some.csv", "--form", "payroll-us", *slip, "--allow-duplicate", "W48-1")
    (body,) = [body for kind, body in firm.events() if kind == "batch.accepted"]
    assert body["allowed"] == ["W48-1"]


def test_a_payment_of_an_earlier_batch_is_refused_by_account_payee_amount_date_and_reference(paid: Firm) -> None:
    row = "Ay Li,575.11,2026-11-27,W48-2112,2112"
    slip = ("--control-total", "575.11", "--item-count", "1")
    name = paid.write("again.csv", row)
    said = paid.run("batch", "accept", name, "--form", "payroll-us", *slip, expect=3)
    assert (
        "found the same payee, amount, date and reference as payment 4 of batch 1, number 100504, printed; wanted"
        " each payment once" in said.err
    )
    assert "found the same payee" in paid.run("register", "check", name, expect=3).err
    paid.run("batch", "accept", name, "--form", "payroll-us", *slip, "--allow-duplicate", "W48-2112")
    for other in (row.replace("575.11", "575.12"), row.replace("-27", "-28"), row.replace("-2112,", "-X,")):
        paid.run("register", "check", paid.write("other.csv", other))


def test_all_the_faults_of_a_register_are_told_together_and_past_a_hundred_counted(firm: Firm) -> None:
    firm.register("payday-faults.csv")
    said = firm.run("register", "check", "payday-faults.csv", expect=3).err
    assert "payday-faults.csv is refused: 10 faults." in said
    lines = [line for line in said.splitlines() if line.startswith("  payday-faults.csv line ")]
    assert len(lines) == 10
    many = [f",{n}.00,2026-11-27,R{n},{n}" for n in range(1, 151)]
    said = check(firm, *many)
    assert "some.csv is refused: 150 faults." in said
    assert "  … and 50 more." in said
    assert len(said.splitlines()) < 110


def test_a_payees_name_is_never_cut_short(firm: Firm) -> None:
    name = "Bartholomew Fetherstone-Quayle of the Lower Slipway"
    firm.write("long.csv", f"{name},575.11,2026-11-27,W48-1,2112")
    said = firm.run(
        "batch",
        "accept",
        "long.csv",
        "--form",
        "payroll-us",
        "--control-total",
        "575.11",
        "--item-count",
        "1",
        expect=3,
    ).err
    assert f"payment 1 ({name}), register line 2, field payee of payroll-us: found '{name}', 51 characters" in said
    assert "wanted at most 40 characters; shorten it at the source, or use another form" in said


def test_an_account_that_does_not_fit_the_form_is_told_once_and_not_for_every_payment(firm: Firm) -> None:
    firm.change("Quillmere Boatyard Company", "Quillmere Boatyard, Chandlery and Ropewalk Company of the Lower Slipway")
    said = firm.run("batch", "accept", firm.register(), "--form", "payroll-us", *TOTALS, expect=3).err
    assert "is refused: 2 faults." in said
    assert said.count("characters; wanted at most 44 characters") == 2  # the stub's field and the cheque's
    assert "account of Quillmere Boatyard, Chandlery" in said


def test_a_letter_that_the_printers_table_lacks_is_refused_and_named(firm: Firm) -> None:
    firm.change('table = "cp437"', 'table = "ascii"')
    said = firm.run("batch", "accept", firm.register(), "--form", "payroll-us", *TOTALS, expect=3).err
    assert "line 3, payee: found U+00E9 LATIN SMALL LETTER E WITH ACUTE as character 4" in said


def test_columns_nobody_knows_are_refused_unless_they_are_named_as_unwanted(firm: Firm) -> None:
    said = check(firm, GOOD + ",blue", head=HEAD + ",colour")
    assert "line 1, column 6, 'colour': found an unknown column" in said
    firm.run("register", "check", "some.csv", "--ignore", "colour")
    said = check(firm, "575.11,2026-11-27,W48-1,2112", head="amount,date,reference,employee")
    assert "payee" in said


def test_a_register_that_is_not_there_or_no_register_is_refused(firm: Firm) -> None:
    said = firm.run("register", "check", "nothere.csv", expect=3).err
    assert "nothere.csv cannot be read: No such file or directory. Name the register that payroll gave." in said
    (firm.folder / "folder.csv").mkdir()
    assert "folder.csv cannot be read: Is a directory" in firm.run("register", "check", "folder.csv", expect=3).err
    (firm.folder / "broken.csv").write_bytes(HEAD.encode() + b"\nAy L\xed,575.11,2026-11-27,W48-1,2112\n")
    assert "UTF-8" in firm.run("register", "check", "broken.csv", expect=3).err
    (firm.folder / "empty.csv").write_bytes(b"")
    firm.run("register", "check", "empty.csv", expect=3)
    assert "no payments" in check(firm)


def test_a_form_an_account_or_a_printer_that_is_not_there_is_refused(firm: Firm) -> None:
    firm.register()
    accept = ("batch", "accept", REGISTER, *TOTALS)
    assert (
        "there is no form 'payrol-us'; did you mean payroll-us?"
        in firm.run(*accept, "--form", "payrol-us", expect=3).err
    )
    said = firm.run(*accept, "--form", "payroll-us", "--account", "yard", expect=3).err
    assert "there is no account 'yard'" in said
    assert "it has: main" in said
    said = firm.run(*accept, "--form", "payroll-us", "--printer", "attic", expect=3).err
    assert "there is no printer 'attic'" in said
    said = firm.run("batch", "accept", REGISTER, expect=2).err
    assert "Missing option '--form'" in said


def test_no_register_is_accepted_for_printers_that_cannot_print_the_form(firm: Firm) -> None:
    accept = ("batch", "accept", firm.register(), "--form", "payroll-us", *TOTALS)
    firm.change("parts = 4", "parts = 2")
    said = firm.run(*accept, expect=3).err
    assert (
        "no printer can print payroll-us: payroom (escp9): the form has 3 parts, and the printer is rated for 2" in said
    )
    firm.change("parts = 2", "parts = 3")
    firm.change('width = "13.6 in"', 'width = "6 in"')
    said = firm.run(*accept, expect=3).err
    assert "ends right of the carriage, which is 6 in wide" in said
    assert said.count("\n") < 110


def test_a_payee_that_ends_with_the_protective_fill_is_refused(firm: Firm) -> None:
    name = firm.write("stars.csv", "Ay Li*,1.00,2026-11-27,R1,2112")
    slip = ("--control-total", "1.00", "--item-count", "1")
    said = firm.run("batch", "accept", name, "--form", "payroll-us", *slip, expect=3).err
    assert "'Ay Li*' begins or ends with the fill '*'" in said
    said = firm.run("register", "check", name, "--form", "payroll-us", expect=3).err
    assert "'Ay Li*' begins or ends with the fill '*'" in said


def test_what_the_form_never_shows_is_told(firm: Firm) -> None:
    head = "payee,amount,date,reference,memo"
    name = firm.write("memo.csv", "Ay Li,1.00,2026-11-27,R1,for the dory", head=head)
    slip = ("--control-total", "1.00", "--item-count", "1")
    said = firm.run("batch", "accept", name, "--form", "payroll-us", *slip).err
    assert "note: the form payroll-us never shows memo (of 1): kept in the book, printed nowhere." in said
    name = firm.write("again.csv", "Ay Li,2.00,2026-11-27,R2,for the dory", head=head)
    said = firm.run("register", "check", name, "--form", "payroll-us").err
    assert "note: the form payroll-us never shows memo (of 1)" in said


def test_papers_that_pay_nothing_are_not_counted_as_cheques(firm: Firm) -> None:
    name = firm.write("notes.csv", "Ay Li,1.00,2026-11-27,R1,2112")
    found = firm.run("register", "check", name, "--form", "petty-cash", expect=None)
    assert "transfer" not in found.err + found.out
    assert "advice" not in found.out
    assert "control total  0.00" in found.out


def test_nothing_on_standard_input_is_told_as_nothing(firm: Firm) -> None:
    assert "standard input is empty: no register came." in firm.run("register", "check", "-", expect=3).err


def test_a_sheet_of_what_has_no_sheets_is_refused(firm: Firm) -> None:
    name = firm.write("plain.csv", "Ada Thwaite,5.00,2026-11-27", head="payee,amount,date")
    said = firm.run("register", "check", name, "--sheet", "Week 48", expect=2).err
    assert "--sheet names a sheet of a spreadsheet, and plain.csv is csv." in said
