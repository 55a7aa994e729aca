"""The guided payday at a real terminal: all of it, wrong answers, and leaving and coming back at every question."""

import re
import stat
from pathlib import Path

import pytest
from journeys.attending import USUAL, Attend
from journeys.firm import REGISTER, Firm
from journeys.terminal import CTRL_C, CTRL_D

REPORTS = ["report-control-batch-1.txt", "report-handover-batch-1.txt", "report-issued-batch-1.txt"]


def all_paid(firm: Firm, first: int = 100501) -> None:
    """Every payment is on one good form, and the book is whole."""
    assert firm.numbers() == {item: (first - 1 + item, "printed") for item in range(1, 25)}
    firm.run("reconcile", "numbers", "1")
    firm.run("book", "verify")


def test_a_whole_payday_from_the_register_to_the_signatures(attend: Attend, firm: Firm) -> None:
    firm.register()
    operator = attend(firm)
    assert operator.to_the_end() == 0
    all_paid(firm)
    assert len(firm.struck()) == 24
    for step in range(1, 9):
        assert f"Step {step} of 8" in operator.shown
    assert sorted(path.name for path in firm.folder.glob("report-*")) == REPORTS
    for path in (*firm.folder.glob("report-*"), *firm.folder.glob("proof-*")):
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert firm.run("show", "100524", "--json").json["paper"] == "held"
    assert "Batch 1 is done." in operator.shown
    assert "Still to be seen to" not in operator.shown


def test_the_totals_are_asked_for_before_the_registers_own_are_shown(attend: Attend, firm: Firm) -> None:
    firm.register()
    operator = attend(firm)
    operator.until("What is the hash total")
    for own in ("18214.77", "51877"):
        assert own not in operator.shown.replace("> " + own, "")
    assert "24 payments" not in operator.shown


def test_a_wrong_total_is_explained_and_keyed_in_again(attend: Attend, firm: Firm) -> None:
    firm.register()
    operator = attend(firm, answers={"control total on payroll's slip": ["18241.77", "18214.77"]})
    question = operator.until("Type slip to key in the totals again")
    assert "18241.77 on the slip and 18214.77 in the register, which has 27.00 less" in question
    assert "keyed with two digits exchanged" in question
    assert firm.run("batch", "list", "--json").json == []
    operator.type("slip")
    assert operator.to_the_end() == 0
    all_paid(firm)
    assert [kind for kind, _ in firm.events()].count("batch.refused") == 1


def test_another_register_may_be_chosen_when_totals_differ(attend: Attend, firm: Firm) -> None:
    firm.register()
    firm.register("payday-lost-line.csv")
    operator = attend(firm, answers={"Which register": ["payday-lost-line.csv", REGISTER]})
    question = operator.until("Type slip to key in the totals again")
    assert "one line fewer than the slip counts" in question
    operator.type("register")
    assert operator.to_the_end() == 0
    all_paid(firm)


def test_a_register_full_of_faults_leaves_the_question_on_the_screen(attend: Attend, firm: Firm) -> None:
    firm.register("payday-faults.csv")
    operator = attend(firm, answers={"Which register": "payday-faults.csv"})
    operator.until("What is the hash total")
    operator.type("")
    question = operator.terminal.question("> ")
    assert question is not None
    assert "Type slip" in question
    assert len(question.splitlines()) < 40


def test_a_wrong_code_prints_nothing(attend: Attend, firm: Firm) -> None:
    firm.register()
    operator = attend(firm)
    operator.until("Key in the code")
    operator.type("2222-2222")
    assert "'2222-2222' is not the code of this proof, so nothing is printed." in operator.until("Key in the code")
    assert not (firm.folder / "payroom.prn").exists()
    operator.type(operator.code().lower())
    assert operator.to_the_end() == 0
    all_paid(firm)


def test_a_payment_may_be_left_out_at_the_proof(attend: Attend, firm: Firm) -> None:
    firm.register()
    operator = attend(
        firm,
        answers={"last form that was printed": "100523", "How many good": "23", "Why is it left out": "left in October",
                 "Leave it out": "yes", "Which payment": "7", "Is one payment to be left out": "payment"},
    )  # fmt: skip
    operator.until("Key in the code")
    operator.type("wrong")
    assert operator.to_the_end() == 0
    assert firm.numbers()[7] == (0, "pulled: left in October")
    firm.run("reconcile", "numbers", "1")


def test_a_torn_form_is_printed_again_on_another(attend: Attend, firm: Firm) -> None:
    firm.register()
    operator = attend(
        firm,
        answers={"on the form at the head": ["100501", "100525"], "How many good": ["23", "1"],
                 "last form that was": ["100524", "100525"], "Bad form 1 of 1": "100507",
                 "What is wrong with 100507": "torn at the perforation"},
    )  # fmt: skip
    assert operator.to_the_end() == 0
    assert firm.state(100507) == "spoiled"
    assert firm.numbers()[7] == (100525, "printed")
    firm.run("reconcile", "numbers", "1")


def test_a_wrong_number_shows_on_the_first_form(attend: Attend, firm: Firm) -> None:
    firm.register()
    operator = attend(
        firm,
        answers={"on the form at the head": ["100501", "100506"], "that was just printed": ["100505", "100506"],
                 "bears the number": "yes", "What is true: kept": "kept", "last form that was": "100529",
                 "passed over: count": "count", "do you count in the box": "4"},
    )  # fmt: skip
    assert operator.to_the_end() == 0, operator.terminal.text
    assert "The run printed 100501 on form 100505" in operator.shown
    assert firm.state(100505) == "spoiled"
    assert [firm.state(n) for n in range(100501, 100505)] == ["on hand"] * 4
    all_paid(firm, 100506)
    assert "struck with another number" in firm.run("show", "100505").out


def test_a_good_cheque_spilt_on_later_is_voided_and_printed_again(attend: Attend, firm: Firm) -> None:
    firm.register()
    operator = attend(
        firm,
        answers={"Is any good cheque to be cancelled": ["100503", ""], "Why is it cancelled": "coffee spilt on it",
                 "Is the paper of it in your hands": "yes", "Print its payment again now": "yes",
                 "on the form at the head": ["100501", "100525"], "last form that was": ["100524", "100525"],
                 "How many good": ["24", "1"]},
    )  # fmt: skip
    assert operator.to_the_end() == 0
    assert firm.state(100503) == "voided"
    assert firm.numbers(2) == {1: (100525, "printed")}
    assert "Back to batch 1." in operator.shown
    for batch in ("1", "2"):
        firm.run("reconcile", "numbers", batch)


QUESTIONS = [part for part in USUAL if part not in ("Which batch do you go on with?", "Is that done?")]
QUESTIONS.insert(QUESTIONS.index("Is the paper loaded"), "Key in the code")


@pytest.mark.parametrize(("place", "question"), list(enumerate(QUESTIONS)))
def test_left_at_any_question_it_is_taken_up_again_with_nothing_lost(
    attend: Attend, firm: Firm, place: int, question: str
) -> None:
    firm.register()
    operator = attend(firm)
    operator.until(question)
    terminal = operator.terminal
    way = ("q", CTRL_C, CTRL_D, "hang up")[place % 4]
    if way == "hang up":
        terminal.hang_up()
    elif way == "q":
        terminal.type("q")
    else:
        terminal.press(way)
    status = terminal.ended()
    if way != "hang up":
        assert status == (0 if way == "q" else 4)
    firm.run("book", "verify")
    again = attend(
        firm,
        answers={
            # left while the first form was looked at, it is the only one sent
            "on the form that was printed? Type none": "100501",
            "a good cheque?": "yes",
            "now at the head, not yet printed?": "100502",
            "on the form at the head": ["100501"] if not firm.events_of("run.begun") else ["100502"],
            "that was just printed": ["100501"] if not firm.events_of("run.begun") else ["100502"],
            "last form that was": "100524",
            "How many good": lambda _: str(sum(state == "sent" for _, state in firm.numbers().values())),
        },
    )
    assert again.to_the_end() == 0
    all_paid(firm)
    assert firm.struck() == [str(number) for number in range(100501, 100525)]


def test_it_shows_at_the_start_what_is_unfinished_and_what_must_be_seen_to(attend: Attend, paid: Firm) -> None:
    paid.run("custody", "100504", "--place", "mailed")
    paid.run("void", "100504", "--reason", "lost in the post", "--paper", "not-in-hand")
    operator = attend(paid, "--plain")
    question = operator.until("Which batch do you go on with?")
    assert "Before any cheque is handed over:" in question
    assert "main:100504 is voided: the bank has not confirmed that it stopped it" in question
    assert "batch 1: 23 cheques between 100501 and 100524 to be signed" in question
    operator.type("0")
    assert "Type 1, or new." in operator.until("Which batch do you go on with?")
    operator.type("1")
    assert operator.to_the_end() == 0
    assert "Still to be seen to: main:100504" in operator.shown


def test_the_banks_notice_is_made_and_entered_as_sent(attend: Attend, firm: Firm) -> None:
    firm.register()
    (firm.folder / "bank-notice.toml").write_text(firm.run("notice", "example", "delimited").out)
    firm.change("# notice.layout", "notice.layout")
    operator = attend(
        firm, answers={"Make its notice now": "notice", "When notice 1 is sent": ""}
    )  # fmt: skip
    assert operator.to_the_end() == 0
    assert "Notice 1: 24 cheques, 18214.77 USD, in" in operator.shown
    assert "Still to be seen to: batch 1: notice 1 to the bank is made, and not sent" in operator.shown
    again = attend(firm, answers={"When notice 1 is sent": "by courier, P. Oakum", "save them": "later"})
    assert "batch 1: notice 1 to the bank is made, and not sent" in again.until("Which batch do you go on with?")
    again.type("1")
    assert again.to_the_end() == 0
    assert "Notice 1 is entered as sent." in again.shown
    assert "seen to" not in again.shown
    assert [(body["notice"], body["by"]) for body in firm.events_of("notice.sent")] == [(1, "by courier, P. Oakum")]


def test_a_cheque_handed_out_for_a_missing_form_is_printed_only_after_the_banks_stop(
    attend: Attend, firm: Firm
) -> None:
    firm.register()
    operator = attend(
        firm,
        answers={"How many good": ["23", "1"], "Bad form 1 of 1": "100507", "What is wrong with 100507": "missing",
                 "Was it found, has the bank confirmed": "stop", "Who at the bank": "J. Ledger", "On what day?": "",
                 "on the form at the head": ["100501", "100525"], "last form that was": ["100524", "100525"]},
    )  # fmt: skip
    assert operator.to_the_end() == 0
    assert firm.state(100507) == "missing"
    assert firm.numbers(2) == {1: (100525, "printed")}
    assert [body["by"] for body in firm.events_of("stop.confirmed")] == ["J. Ledger"]
    assert [kind for kind, _ in firm.events() if kind in ("stop.confirmed", "run.begun")][1] == "stop.confirmed"


def test_back_goes_to_the_question_before_and_a_mark_explains(attend: Attend, firm: Firm) -> None:
    firm.register()
    operator = attend(firm)
    operator.until("Which register")
    operator.type("back")
    assert "There is no question here to go back to." in operator.until("Which register")
    operator.type("?")
    assert "The register is the file with one payment a line." in operator.until("Which register")
    operator.type(REGISTER)
    operator.until("What is the item count")
    operator.type("back")
    operator.until("What is the control total")
    operator.type("?")
    assert "back goes to the question before." in operator.until("What is the control total")
    operator.type("back")
    operator.until("Which register")
    operator.type("q")
    assert operator.terminal.ended() == 0


def test_without_a_terminal_it_says_which_commands_do_it_unattended(firm: Firm) -> None:
    said = firm.run("payday", expect=2)
    assert "cheque batch accept, cheque proof, cheque print, cheque resume, cheque confirm" in said.err


@pytest.mark.parametrize(
    ("options", "environment"),
    [(("--plain",), {}), ((), {"TERM": "dumb"}), ((), {"NO_COLOR": "1"}), ((), {})],
    ids=["plain", "dumb", "no colour", "usual"],
)
def test_it_fits_80_columns_and_sends_no_escape_where_none_is_wanted(
    attend: Attend, firm: Firm, options: tuple[str, ...], environment: dict[str, str]
) -> None:
    firm.register()
    operator = attend(
        firm, *options, environment=environment,
        answers={"How many good": ["23", "1"], "last form that was": ["100524", "100525"], "Bad form 1 of 1": "100507",
                 "What is wrong with": "torn", "on the form at the head": ["100501", "100525"]},
    )  # fmt: skip
    assert operator.to_the_end() == 0
    text = operator.terminal.text
    bare = re.sub(r"\x1b\[[01]m", "", text)
    assert "\x1b" not in bare
    if options or environment:
        assert bare == text
    lines = re.split(r"\r\n|\r", bare)
    assert [line for line in lines if len(line) > 80] == []
    if options or "TERM" in environment:
        assert "\r" not in text.replace("\r\n", "")
        assert {letter for letter in text if ord(letter) > 127} <= set("ë")  # of a payee's name


def test_every_question_says_more_when_asked(attend: Attend, firm: Firm) -> None:
    firm.register()
    operator = attend(firm)
    explained = set()
    while (question := operator.question()) is not None:
        key = question[-60:]
        if key not in explained:
            explained.add(key)
            operator.type("?")
            continue
        assert "Answer the question as it stands." not in question, question
        operator.type(operator.answer_to(question))
    assert operator.terminal.ended() == 0
    assert len(explained) > 15


def test_a_narrow_terminal_is_borne(attend: Attend, firm: Firm, tmp_path: Path) -> None:
    firm.register()
    operator = attend(firm, columns=50)
    assert operator.to_the_end() == 0
    lines = re.split(r"\r\n|\r", re.sub(r"\x1b\[[01]m", "", operator.terminal.text))
    assert [line for line in lines if len(line) > 50] == []


@pytest.mark.parametrize("name", ["~nobodyofthisname/payday.csv", "n" * 300, ".", "\x1b[31mred", "~"])
def test_a_name_that_is_no_files_is_asked_for_again(attend: Attend, firm: Firm, name: str) -> None:
    firm.register()
    operator = attend(firm)
    operator.until("Which register did payroll hand over?")
    operator.type(name)
    assert "There is no file" in (operator.question() or "")
    operator.type("q")
    assert operator.terminal.ended() == 0


def test_totals_are_taken_with_their_thousands_parted_as_slips_have_them(attend: Attend, firm: Firm) -> None:
    firm.register()
    operator = attend(firm, answers={"control total on payroll's": "18,214.77", "hash total": ["51,8,77", "51,877"]})
    operator.until("How will you look at the proof")
    assert "Type a whole number" in operator.shown
    assert "Batch 1 is accepted" in operator.shown


def test_numbers_are_told_as_they_are_preprinted_leading_zeros_and_all(attend: Attend, firm: Firm) -> None:
    firm.register()
    firm.run("stock", "receive", "payroll-us", "--account", "main", "--first", "000101", "--last", "000160")
    firm.accept()
    firm.print(1, "000101")
    firm.run("confirm", "1", "--good-count", "24")
    firm.run("custody", "000104", "--place", "mailed")
    firm.run("void", "000104", "--reason", "lost in the post", "--paper", "not-in-hand")
    question = attend(firm).until("Which batch do you go on with?")
    assert "main:000104 is voided" in question
    assert "23 cheques between 000101 and 000124 to be signed" in question


def test_print_streams_and_proofs_are_not_offered_as_registers(attend: Attend, paid: Firm) -> None:
    paid.run("proof", "1", "-o", "friday.txt")
    operator = attend(paid)
    operator.until("Which batch do you go on with?")
    operator.type("new")
    question = operator.question() or ""
    assert "payday-2026-11-27.csv" in question
    assert "payroom.prn" not in question
    assert "friday.txt" not in question
