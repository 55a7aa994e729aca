"""Only what somebody looked at is printed, also after a stop; and never in another currency than was accepted."""

from journeys.firm import REGISTER, TOTALS, Firm

RESUME = (
    "resume", "1", "--last-good", "100501", "--next-number", "100502", "--power-cycled", "--paper-loaded",
    "--after-first", "go-on",
)  # fmt: skip


def _stopped_and_changed(firm: Firm) -> str:
    """A run that stopped after its first form; then the drawer's name is changed and a new proof made."""
    firm.accept()
    firm.print(1, 100501, "--after-first", "stop", expect=4)
    settings = firm.folder / "cheque.toml"
    settings.write_text(settings.read_text().replace("Quillmere Boatyard Company", "Somebody Else Entirely"))
    return firm.proof()


def test_a_resume_prints_no_proof_that_nobody_keyed_in(firm: Firm) -> None:
    _stopped_and_changed(firm)
    before = firm.stream
    said = firm.run(*RESUME, expect=2)
    assert "A new proof was made since this batch began to print" in said.err
    assert "--proof-code" in said.err
    firm.run(*RESUME, "--proof-code", "2222-2222", expect=5)
    assert firm.stream == before
    assert firm.run("batch", "show", "1", "--json").json["is"] == "stopped: resume it"


def test_a_resume_goes_on_with_a_new_proof_once_its_code_is_keyed_in(firm: Firm) -> None:
    code = _stopped_and_changed(firm)
    firm.run(*RESUME, "--proof-code", code)
    assert b"Somebody Else Entirely" in firm.stream


def test_a_resume_of_what_was_approved_asks_for_no_code(firm: Firm) -> None:
    firm.accept()
    firm.print(1, 100501, "--after-first", "stop", expect=4)
    firm.run(*RESUME)


def test_a_batch_is_not_printed_in_another_currency_than_it_was_accepted_in(firm: Firm) -> None:
    firm.accept()
    settings = firm.folder / "cheque.toml"
    settings.write_text(settings.read_text().replace('currency = "USD"', 'currency = "CAD"'))
    said = firm.run("proof", "1", expect=3)
    assert "batch 1 was accepted in USD, but account main is now in CAD" in said.err


def test_with_several_printers_print_takes_none_by_itself(firm: Firm) -> None:
    settings = firm.folder / "cheque.toml"
    text = settings.read_text()
    second = text[text.index("[printers.payroom]") :].replace("payroom", "store")
    settings.write_text(text + second)
    firm.accept()
    said = firm.print(expect=2)
    assert "which printer? --printer with one of payroom, store" in said.err


def test_the_name_of_a_register_cannot_steer_the_terminal(firm: Firm) -> None:
    firm.register()
    name = "pay\x1b[31m\u202e\nBatch 9 accepted.csv"
    (firm.folder / REGISTER).rename(firm.folder / name)
    said = firm.run("batch", "accept", name, "--form", "payroll-us", *TOTALS)
    listed = firm.run("batch", "list").out
    for text in (said.err, listed, firm.run("report", "control").out):
        assert "\x1b" not in text
        assert "\u202e" not in text
        assert "\nBatch 9" not in text


def test_the_same_register_accepted_twice_is_one_fault_and_not_one_for_every_line(firm: Firm) -> None:
    firm.accept()
    said = firm.run("batch", "accept", firm.register(), "--form", "payroll-us", *TOTALS, expect=3)
    assert f"{REGISTER} is batch 1 already" in said.err
    assert len(said.err.splitlines()) <= 3
    firm.run("batch", "withdraw", "1", "--reason", "wrong week")
    assert firm.accept() == 2
