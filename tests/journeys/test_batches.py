"""Between accepting and printing: payments pulled, batches withdrawn, proofs and their codes."""

import pytest
from journeys.firm import REGISTER, TOTALS, Firm

PRINT = ("--paper-loaded", "--after-first", "go-on")


def test_a_payment_pulled_needs_a_new_proof_and_accepted_less_pulled_is_printed(accepted: Firm) -> None:
    old = accepted.proof()
    said = accepted.run("batch", "pull", "1", "24", "--reason", "left the firm on Thursday")
    assert "Payment 24 of batch 1 is pulled: it will not be printed. Make a new proof." in said.err
    said = accepted.run("print", "1", "--first-number", "100501", "--proof-code", old, *PRINT, expect=5)
    assert "batch 1 has no proof, or none since a payment was pulled" in said.err
    new = accepted.proof()
    assert new != old
    said = accepted.run("print", "1", "--first-number", "100501", "--proof-code", old, *PRINT, expect=5)
    assert f"{old} is not the code of batch 1's latest proof, so nothing is printed" in said.err
    accepted.run("print", "1", "--first-number", "100501", "--proof-code", new, *PRINT)
    accepted.run("confirm", "1", "--good-count", "23")
    assert accepted.struck() == [str(number) for number in range(100501, 100524)]
    report = accepted.run("report", "control").out
    steps = [line.split() for line in report[report.index("From the register") :].splitlines()[3:8]]
    assert ["accepted", "from", "the", "register", "24", "18214.77"] in steps
    assert ["less", "pulled", "before", "printing", "-1", "-607.43"] in steps
    assert ["good", "cheques", "23", "17607.34"] in steps
    assert 1821477 - 60743 == 1760734
    assert "left the firm on Thursday" in report
    accepted.run("reconcile", "numbers", "1")


def test_a_payment_is_pulled_once_for_a_reason_and_never_when_it_has_a_form(accepted: Firm) -> None:
    said = accepted.run("batch", "pull", "1", "2", expect=2)
    assert "Missing option '--reason'" in said.err
    said = accepted.run("batch", "pull", "1", "2", "--reason", "  ", expect=2)
    assert "a payment is pulled for a reason: give it with --reason" in said.err
    accepted.run("batch", "pull", "1", "2", "--reason", "hours are wrong")
    said = accepted.run("batch", "pull", "1", "2", "--reason", "once more", expect=5)
    assert "payment 2 of batch 1 was pulled already: hours are wrong." in said.err
    said = accepted.run("batch", "pull", "1", "25", "--reason", "no such one", expect=5)
    assert "batch 1 has no payment 25. `cheque batch show 1` lists them." in said.err
    said = accepted.run("batch", "pull", "7", "1", "--reason", "no such one", expect=5)
    assert "there is no batch 7. `cheque batch list` shows those there are." in said.err
    accepted.print()
    said = accepted.run("batch", "pull", "1", "1", "--reason", "too late", expect=5)
    assert "payment 1 of batch 1 is on number 100501, which is sent: it can only be voided" in said.err


def test_a_batch_withdrawn_makes_room_for_the_corrected_register(accepted: Firm) -> None:
    text = (accepted.folder / REGISTER).read_text("utf-8").replace("22 Slipway Lane", "23 Slipway Lane")
    (accepted.folder / "corrected.csv").write_text(text, "utf-8")
    accept = ("batch", "accept", "corrected.csv", "--form", "payroll-us", *TOTALS)
    accepted.run(*accept, expect=3)  # the same payments twice
    accepted.run("batch", "withdraw", "1", "--reason", "an address was wrong")
    assert accepted.run(*accept).out == "2\n"
    listed = accepted.run("batch", "list", "--json").json
    assert [(one["batch"], one["is"]) for one in listed] == [(1, "withdrawn"), (2, "accepted")]
    said = accepted.run("print", "1", "--proof-code", "2222-2222", "--first-number", "100501", *PRINT, expect=5)
    assert "batch 1 was withdrawn; nothing of it can be printed." in said.err
    said = accepted.run("proof", "1", expect=5)
    assert "batch 1 was withdrawn; nothing more can be done with it." in said.err
    said = accepted.run("batch", "withdraw", "1", "--reason", "again", expect=5)
    assert "batch 1 was withdrawn" in said.err
    assert "WITHDRAWN" in accepted.run("report", "control", "--batch", "1").out


def test_a_batch_is_not_withdrawn_once_anything_of_it_may_have_been_printed(accepted: Firm) -> None:
    accepted.print(1, 100501, "--count", "1")
    said = accepted.run("batch", "withdraw", "1", "--reason", "too late", expect=5)
    assert "batch 1 cannot be withdrawn: number 100501 of it is sent" in said.err
    assert "Pull the payments that are not to be printed, and void the cheques that are wrong." in said.err


def test_nothing_is_printed_without_a_proof_or_with_a_code_that_is_not_its(accepted: Firm) -> None:
    line = ("print", "1", "--first-number", "100501", *PRINT)
    said = accepted.run(*line, "--proof-code", "2222-2222", expect=5)
    assert "batch 1 has no proof" in said.err
    code = accepted.proof()
    for wrong in ("2222-2222", "", code[:-1], code + "2", code.replace("-", "/"), code[::-1]):
        said = accepted.run(*line, "--proof-code", wrong, expect=5)
        assert "is not the code of batch 1's latest proof, so nothing is printed" in said.err
    assert not (accepted.folder / "payroom.prn").exists()
    assert not [kind for kind, _ in accepted.events() if kind.startswith("run.")]
    # Case, blanks and hyphens do not count.
    accepted.run(*line, "--proof-code", f" {code.lower().replace('-', ' ')} ")


def test_a_proof_of_a_batch_that_nothing_changed_in_keeps_its_code(accepted: Firm) -> None:
    assert accepted.proof() == accepted.proof()
    assert [kind for kind, _ in accepted.events()].count("proof.made") == 1


def test_the_proof_code_is_the_same_for_every_printer_language(accepted: Firm) -> None:
    codes = {accepted.proof()}
    for old, new in (("escp9", "escp24"), ("escp24", "ppds"), ("ppds", "plain")):
        accepted.change(f'language = "{old}"', f'language = "{new}"')
        if new == "escp24":
            accepted.change('step = "1/216 in"', 'step = "1/180 in"')
        if new == "ppds":
            accepted.change('step = "1/180 in"', 'step = "1/216 in"')
        if new == "plain":
            accepted.change('step = "1/216 in"', 'step = "1/6 in"\nvouched = ["high-letters"]')
        codes.add(accepted.proof())
    assert len(codes) == 1


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("Quillmere Boatyard Company", "Quillmere Boatyard Limited"),
        ("Tidewrack Savings Bank", "Gullwick Savings Bank"),
        ("1 Slipway Lane", "2 Slipway Lane"),
        ('# two_signatures_over = "5000.00"', 'two_signatures_over = "800.00"'),
    ],
)
def test_settings_changed_after_the_proof_print_nothing_until_there_is_a_new_one(
    accepted: Firm, old: str, new: str
) -> None:
    code = accepted.proof()
    accepted.change(old, new)
    line = ("print", "1", "--first-number", "100501", "--proof-code", code, *PRINT)
    said = accepted.run(*line, expect=5)
    assert "nothing is sent: the bytes of form 100501 do not strike what the proof showed" in said.err
    assert "make a new proof: `cheque proof 1`" in said.err
    assert not (accepted.folder / "payroom.prn").exists()
    assert not [kind for kind, _ in accepted.events() if kind.startswith("run.")]
    assert accepted.state(100501) == "on hand"
    fresh = accepted.proof()
    assert fresh != code
    accepted.run("print", "1", "--first-number", "100501", "--proof-code", fresh, *PRINT)


def test_settings_changed_so_that_only_a_later_form_differs_stop_the_run_at_that_form(accepted: Firm) -> None:
    # Payment 7 is the only one over 1,000: the first six forms are as the proof showed them.
    code = accepted.proof()
    accepted.change('# two_signatures_over = "5000.00"', 'two_signatures_over = "1000.00"')
    said = accepted.run("print", "1", "--first-number", "100501", "--proof-code", code, *PRINT, expect=5)
    assert (
        "the run stopped after 6 of 24 forms: the bytes of form 100507 do not strike what the proof showed" in said.err
    )
    assert "Then `cheque resume 1`." in said.err
    assert accepted.struck() == [str(number) for number in range(100501, 100507)]
    assert accepted.numbers()[7] == (100507, "reserved")
    # A new proof, and the run goes on with what it shows.
    accepted.resume("100506", "100507", "--proof-code", accepted.proof())
    assert len(accepted.struck()) == 24


def test_a_table_that_lost_a_letter_since_the_proof_prints_nothing(accepted: Firm) -> None:
    code = accepted.proof()
    accepted.change('table = "cp437"', 'table = "ascii"')
    said = accepted.run("print", "1", "--first-number", "100501", "--proof-code", code, *PRINT, expect=5)
    assert "the run stopped after 1 of 24 forms: payment 2 cannot be printed exactly on this printer" in said.err
    assert "not in table ascii" in said.err


def test_the_proof_is_a_file_of_its_own_and_never_written_over(accepted: Firm) -> None:
    for name in ("proof.pdf", "proof.svg", "proof.txt"):
        said = accepted.run("proof", "1", "-o", name)
        assert f"The proof is at {name}; only you can read it." in said.err
        assert not (accepted.folder / name).stat().st_mode & 0o077
        said = accepted.run("proof", "1", "-o", name, expect=3)
        assert f"{name} is there already: nothing is written over." in said.err
    accepted.run("proof", "1", "-o", "one.png", "--payment", "7")
    said = accepted.run("proof", "1", "-o", "proof.doc", expect=2)
    assert "wanted a name that ends in .pdf, .html, .svg, .png, .txt" in said.err
    said = accepted.run("proof", "1", "-o", "no/such/proof.pdf", expect=3)
    assert "no/such/proof.pdf cannot be written: No such file or directory. Name another place." in said.err
    said = accepted.run("proof", "1", "--payment", "7", expect=2)
    assert "--payment says which one to draw: say where to with -o" in said.err
    said = accepted.run("proof", "1", "-o", "other.pdf", "--payment", "77", expect=5)
    assert "batch 1 has no payment 77" in said.err
    assert not (accepted.folder / "other.pdf").exists()
    assert not list(accepted.folder.glob(".cheque-*"))


def test_batches_of_which_nothing_is_left_to_do_are_listed_while_they_are_among_the_newest_twenty(firm: Firm) -> None:
    for place in range(1, 24):
        name = firm.write(f"week{place}.csv", f"Ada Thwaite,{place}.00,2026-11-27,W-{place},77")
        totals = ("--control-total", f"{place}.00", "--item-count", "1")
        firm.run("batch", "accept", name, "--form", "payroll-us", *totals)
        if place != 2:
            firm.run("batch", "withdraw", str(place), "--reason", "a trial")
    said = firm.run("batch", "list")
    assert [line.split()[0] for line in said.out.splitlines()[1:]] == ["2", *map(str, range(4, 24))]
    older = "2 older batches are done or withdrawn, and not listed: `cheque batch list --all` lists every batch."
    assert said.err.splitlines() == [older]
    said = firm.run("batch", "list", "--json")
    assert [one["batch"] for one in said.json] == [2, *range(4, 24)]
    assert said.err.splitlines() == [older]
    said = firm.run("batch", "list", "--all", "--json")
    assert [one["batch"] for one in said.json] == list(range(1, 24))
    assert said.err == ""
    firm.run("batch", "withdraw", "2", "--reason", "a trial")
    assert "3 older batches are done or withdrawn" in firm.run("batch", "list").err
