"""The same payday at a real terminal: every question asked, wrong answers corrected, Ctrl-C and Ctrl-D heard."""

import re
import time

from device.peers import Peer, peer, soon
from journeys.firm import REGISTER, Firm
from journeys.terminal import CTRL_C, CTRL_D, Terminal

from cheque.attendant import RIGHT


def at(firm: Firm, *arguments: str, columns: int = 100) -> Terminal:
    """A terminal with a command in the firm's folder."""
    return Terminal(firm.folder, *arguments, columns=columns)


def looked_at(terminal: Terminal, number: int, answer: str) -> None:
    """Answer the question about the first form."""
    terminal.expect(f"form {number} ")
    terminal.asked(RIGHT, answer)


def test_the_slips_totals_are_asked_for_until_they_can_be_read(firm: Firm) -> None:
    firm.register()
    terminal = at(firm, "batch", "accept", REGISTER, "--form", "payroll-us")
    terminal.asked("Control total on payroll's slip?", "eighteen thousand")
    terminal.expect("'eighteen thousand' is not an amount such as 1234.56")
    terminal.asked("Control total on payroll's slip?", "18,214.77")
    terminal.asked("Item count on payroll's slip?", "two dozen")
    terminal.expect("Type a whole number, in digits.")
    terminal.asked("Item count on payroll's slip?", "24")
    terminal.expect("Batch 1 accepted: 24 payments, 18214.77 USD, as the slip says.")
    assert terminal.ended() == 0


def test_printing_asks_for_everything_and_shows_how_far_it_is(accepted: Firm) -> None:
    code = accepted.proof()
    terminal = at(accepted, "print", "1")
    terminal.asked("Proof code?", code.lower())
    terminal.expect("printing on a bare platen damages the print head")
    terminal.asked("Is the paper loaded, its first form at the head? (yes/no)", "y")
    terminal.expect("Type yes or no.")
    terminal.asked("(yes/no)", "yes")
    terminal.asked("Which number is preprinted on the form at the head?", "the first")
    terminal.expect("Type its digits, as they are preprinted.")
    terminal.asked("Which number is preprinted on the form at the head?", "100501")
    terminal.expect("Run 1: 24 forms, 100501 to 100524")
    terminal.expect("On paper about 5 minutes")
    terminal.expect("form 100501 1 of 24 sent")
    terminal.asked("Is form 100501 good: right number and place, last part readable?", "yes")
    terminal.expect("form 100524 24 of 24 sent 0 left")
    terminal.expect("then: cheque confirm 1")
    assert terminal.ended() == 0
    assert "\r" in terminal.text.replace("\r\n", "")  # progress over itself
    assert max(len(line) for line in re.split(r"[\r\n]+", terminal.text)) <= 100
    assert len(accepted.struck()) == 24


def test_no_paper_no_print(accepted: Firm) -> None:
    terminal = at(accepted, "print", "1", "--proof-code", accepted.proof())
    terminal.asked("Is the paper loaded", "no")
    terminal.expect("paper is not loaded: load it, then print.")
    assert terminal.ended() == 2
    assert not (accepted.folder / "payroom.prn").exists()


def test_a_first_form_that_is_not_right_stops_the_run_and_the_resume_asks_its_questions(accepted: Firm) -> None:
    code = accepted.proof()
    terminal = at(accepted, "print", "1", "--first-number", "100501", "--proof-code", code, "--paper-loaded")
    looked_at(terminal, 100501, "no")
    terminal.expect("the run stopped after 1 of 24 forms: the first form was not right.")
    assert terminal.ended() == 4
    assert accepted.struck() == ["100501"]

    terminal = at(accepted, "resume", "1")
    terminal.expect("bytes left in somebody's buffer print a cheque again")
    terminal.asked("Is that done? (yes/no)", "yes")
    terminal.expect("100501 was sent, and nothing after.")
    terminal.expect("Why it stopped: the first form was not right.")
    terminal.asked("Which number is preprinted on the last good form (or none)?", "100502")
    terminal.expect("number 100502 cannot be good: 100501 was sent, and nothing after.")
    terminal.asked("Which number is preprinted on the last good form (or none)?", "nothing")
    terminal.expect("found 'nothing'; wanted the number preprinted on the last good form, or none.")
    terminal.asked("Which number is preprinted on the last good form (or none)?", "none")
    terminal.asked("Which number is on the form now at the head, not yet printed?", "100500")
    terminal.expect("this run began at 100501, and 100500 comes before it.")
    terminal.asked("Which number is on the form now at the head, not yet printed?", "100502")
    terminal.asked("What became of 100501 to 100501 (torn, fed by hand, …)?", "")
    terminal.expect("Say it in a word or two.")
    terminal.asked("What became of", "a column too far right")
    terminal.expect("Entered: 0 good, 1 spoiled, 23 still blank.")
    terminal.asked("Is the paper loaded", "yes")
    looked_at(terminal, 100502, "yes")
    terminal.expect("24 forms sent")
    assert terminal.ended() == 0
    assert accepted.state(100501) == "spoiled"
    accepted.run("confirm", "1", "--good-count", "24")
    accepted.run("reconcile", "numbers", "1")


def test_bad_forms_are_told_of_one_at_a_time(accepted: Firm) -> None:
    accepted.print()
    terminal = at(accepted, "confirm", "1", "--spoiled", "100524=smudged")
    terminal.asked("How many good forms do you count?", "20")
    terminal.asked("Bad form 1 of 3: its number?", "100524")
    terminal.expect("That one was told of already.")
    terminal.asked("Bad form 1 of 3: its number?", "100600")
    terminal.expect("It is not one of them: 100501 to 100524 were sent, and nothing after.")
    terminal.asked("Bad form 1 of 3: its number?", "100503")
    terminal.asked("What is wrong with it (missing, blank, or a reason such as torn)?", "torn at the perforation")
    terminal.asked("Bad form 2 of 3: its number?", "100503")
    terminal.expect("That one was told of already.")
    terminal.asked("Bad form 2 of 3: its number?", "100507")
    terminal.asked("What is wrong with it", "Missing")
    terminal.asked("Bad form 3 of 3: its number?", "100523")
    terminal.asked("What is wrong with it", "blank")
    terminal.expect("To be entered, for good: 20 good forms; 100503 torn at the perforation;")
    terminal.asked("Is that right?", "yes")
    terminal.expect("Entered: 20 good, 2 spoiled, 1 missing, 1 still blank.")
    assert terminal.ended() == 0
    assert [accepted.state(n) for n in (100503, 100507, 100523, 100524)] == ["spoiled", "missing", "on hand", "spoiled"]
    assert "torn at the perforation" in accepted.run("show", "100503").out


def test_more_good_forms_than_were_sent_are_not_believed(accepted: Firm) -> None:
    accepted.print()
    terminal = at(accepted, "confirm", "1")
    terminal.asked("How many good forms do you count?", "25")
    terminal.expect("so 24 ought to be good; found a count of 25. Count again")
    assert terminal.ended() == 2


def test_ctrl_c_at_the_question_about_the_first_form_stops_the_run(accepted: Firm) -> None:
    for key in (CTRL_C, CTRL_D):
        first = 100501 if key == CTRL_C else 100502
        code = accepted.proof()
        terminal = at(accepted, "print", "1", "--first-number", str(first), "--proof-code", code, "--paper-loaded")
        terminal.expect(f"orm {first}")
        terminal.expect(RIGHT)
        terminal.press(key)
        terminal.expect("the run stopped after 1 of")
        assert terminal.ended() == 4
        cause = [body["cause"] for kind, body in accepted.events() if kind == "run.stopped"][-1]
        assert cause == ("stopped by the operator (Ctrl-C)" if key == CTRL_C else "stopped by the operator")
        accepted.run("confirm", "1", "--good-count", "1")


def test_ctrl_c_at_any_other_question_ends_the_command_and_enters_nothing(accepted: Firm) -> None:
    accepted.print(1, 100501, "--count", "3")
    before = len(accepted.events())
    for key in (CTRL_C, CTRL_D):
        terminal = at(accepted, "confirm", "1")
        terminal.expect("How many good forms do you count?")
        terminal.press(key)
        terminal.expect("stopped by the operator; nothing more was done.")
        assert terminal.ended() == 4
    assert len(accepted.events()) == before


def test_a_printer_that_takes_nothing_is_waited_for_when_somebody_puts_it_right(accepted: Firm) -> None:
    accepted.change("# stall_seconds = 164", "stall_seconds = 5")
    code = accepted.proof()

    def behave(printer: Peer) -> None:
        printer.take(5_000)
        printer.wait()
        printer.take_all()

    with peer(behave, buffer=2304) as printer:
        accepted.change("file:payroom.prn", printer.address)
        terminal = at(
            accepted, "print", "1", "--first-number", "100501", "--proof-code", code, "--paper-loaded",
            "--after-first", "go-on",
        )  # fmt: skip
        terminal.expect("nothing was taken for 5 s")
        terminal.asked("The printer takes nothing (paper out, cover open, off line?).", "yes")
        terminal.expect("Type go or stop.")
        printer.go.set()
        terminal.type("go")
        terminal.expect("24 forms sent in")
        assert terminal.ended() == 0
    assert printer.read.count(b"\x1b@") == 24


def test_a_printer_that_takes_nothing_is_given_up_when_somebody_says_so(accepted: Firm) -> None:
    accepted.change("# stall_seconds = 164", "stall_seconds = 5")
    code = accepted.proof()

    def behave(printer: Peer) -> None:
        printer.take(5_000)
        printer.wait()

    with peer(behave, buffer=2304) as printer:
        accepted.change("file:payroom.prn", printer.address)
        terminal = at(
            accepted, "print", "1", "--first-number", "100501", "--proof-code", code, "--paper-loaded",
            "--after-first", "go-on",
        )  # fmt: skip
        terminal.asked("The printer takes nothing", "stop")
        terminal.expect("the run stopped after")
        assert terminal.ended() == 4
        printer.go.set()
    assert accepted.run("batch", "list", "--json").json[0]["is"] == "stopped: resume it"


def test_a_terminal_that_goes_away_stops_the_run_at_the_end_of_the_form_in_hand(accepted: Firm) -> None:
    code = accepted.proof()

    def behave(printer: Peer) -> None:
        printer.take(5_000)
        printer.wait()
        printer.take_all()

    with peer(behave, buffer=2304) as printer:
        accepted.change("file:payroom.prn", printer.address)
        terminal = at(
            accepted, "print", "1", "--first-number", "100501", "--proof-code", code, "--paper-loaded",
            "--after-first", "go-on",
        )  # fmt: skip
        soon(lambda: len(printer.read) >= 5_000, 15)
        time.sleep(0.3)
        terminal.hang_up()
        time.sleep(0.2)
        printer.go.set()
        assert terminal.ended() == 4
    begun = printer.read.count(b"\x1b@")
    cause = [body["cause"] for kind, body in accepted.events() if kind == "run.stopped"]
    assert cause == ["stopped because its terminal went away (SIGHUP)"]
    assert [state for _, state in accepted.numbers().values()].count("sent") == begun < 24


def test_a_narrow_terminal_breaks_between_words(accepted: Firm) -> None:
    terminal = at(accepted, "print", "1", "--proof-code", accepted.proof(), columns=50)
    terminal.expect("(yes/no)")
    terminal.press(CTRL_C)
    assert terminal.ended() == 4
    assert "printing on a bare platen damages the print head" in terminal.shown
    lines = terminal.text.split("\r\n")
    assert [line for line in lines if len(line) > 50] == []


def test_lining_up_asks_how_the_print_stands(accepted: Firm) -> None:
    terminal = at(accepted, "align", "payroll-us", "--on", "plain")
    terminal.asked("Is the paper loaded", "yes")
    terminal.expect("A dot is")
    terminal.asked("How does it stand", "2 dots right, 1 dot low")
    terminal.expect("payroll-us on payroom: shifted 1/30 in left and 1/216 in up.")
    assert terminal.ended() == 0


def test_a_count_of_the_box_is_asked_for(accepted: Firm) -> None:
    terminal = at(accepted, "stock", "count", "100501-101000")
    terminal.asked("How many forms of 100501-101000 did you count?", "all")
    terminal.expect("Type a whole number")
    terminal.type("499")
    terminal.expect("1 fewer than the book has")
    assert terminal.ended() == 1
