"""Runs that stopped: what the book knows, what a person is asked, which answers it takes and which it does not."""

import pytest
from device.peers import Peer, peer
from journeys.firm import Firm

TOP = b"\x1b@"  # what every form begins with


class Broken:
    """A firm whose run broke in its middle, and what came out of the printer before."""

    def __init__(self, firm: Firm, read: bytes, said: str) -> None:
        self.firm, self.said = firm, said
        self.whole = read.count(TOP) - 1  # forms that came out whole; the next one is in the printer, unfinished
        sent = [number for number, state in firm.numbers().values() if state == "sent"]
        self.last_sent = max(sent)
        self.last_good = 100500 + self.whole


@pytest.fixture
def broken(accepted: Firm) -> Broken:
    """The printer's bridge goes off after eight forms or so; the run is answered for on another address."""

    def behave(printer: Peer) -> None:
        printer.take(14_000)
        printer.reset()

    with peer(behave, buffer=2304) as printer:
        accepted.change("file:payroom.prn", printer.address)
        said = accepted.print(expect=4).err
    accepted.change(printer.address, "file:payroom.prn")
    return Broken(accepted, printer.read, said)


def test_a_connection_that_breaks_ends_the_run_and_the_book_knows_how_far_it_got(broken: Broken) -> None:
    assert "the run stopped after" in broken.said
    assert "the other side broke the connection" in broken.said
    assert "bytes were acknowledged" in broken.said
    assert "then resume. Look at the paper, then `cheque resume 1`." in broken.said
    assert ".." not in broken.said
    assert broken.whole >= 6
    on = broken.firm.numbers()
    assert [state for _, state in on.values()].count("sent") == broken.last_sent - 100500
    assert broken.last_sent > broken.last_good  # the last one is in doubt, and not taken for good
    assert on[24] == (100524, "reserved")
    kinds = [kind for kind, _ in broken.firm.events()]
    assert kinds[-1] == "run.stopped"
    assert broken.firm.run("batch", "list", "--json").json[0]["is"] == "stopped: resume it"


def test_true_answers_print_the_rest_and_pay_everybody_once(broken: Broken) -> None:
    firm, torn = broken.firm, broken.last_good + 1
    said = firm.resume(str(broken.last_good), str(torn + 1), "--between", "torn out of the tractors").err
    assert f"100501 to {broken.last_sent} were sent, and nothing after" in said
    assert "Why it stopped: " in said
    assert ".." not in said
    assert f"Entered: {broken.whole} good, 1 spoiled" in said
    assert "Write VOID across the spoiled ones and keep them for the count." in said
    left = 24 - broken.whole
    assert firm.struck() == [str(torn + 1 + place) for place in range(left)]
    assert firm.state(torn) == "spoiled"
    firm.run("confirm", "1", "--good-count", str(left))
    assert {state for _, state in firm.numbers().values()} == {"printed"}
    firm.run("reconcile", "numbers", "1")
    assert "torn out of the tractors" in firm.run("report", "voids").out
    firm.run("book", "verify")


def test_a_last_good_form_that_was_never_sent_is_not_believed(broken: Broken) -> None:
    never = str(broken.last_sent + 1)
    said = broken.firm.resume(never, str(broken.last_sent + 2), expect=5).err
    assert f"number {never} cannot be good: 100501 to {broken.last_sent} were sent, and nothing after." in said
    assert "a form was skipped and the numbers are off: find the first form whose two numbers differ" in said
    assert broken.firm.run("batch", "list", "--json").json[0]["is"] == "stopped: resume it"


def test_a_last_good_form_of_before_the_run_is_not_of_it(broken: Broken) -> None:
    said = broken.firm.resume("100499", "100501", expect=5).err
    assert "this run began at 100501, so 100499 is not of it: say none if no form of it is good." in said


def test_the_form_at_the_head_comes_after_the_last_good_one(broken: Broken) -> None:
    for head in (broken.last_good, broken.last_good - 1):
        said = broken.firm.resume(str(broken.last_good), str(head), expect=5).err
        assert f"{broken.last_good} is good, so the form at the head comes after it: {head} does not." in said


def test_the_form_at_the_head_is_of_the_box(broken: Broken) -> None:
    said = broken.firm.resume(str(broken.last_good), "101002", expect=5).err
    assert "the box ends at 101000: 101002 is not of it." in said


def test_the_form_at_the_head_is_not_past_numbers_that_are_accounted_for(broken: Broken) -> None:
    broken.firm.run("spoil", "100530", "--reason", "torn in the box")
    said = broken.firm.resume(str(broken.last_good), "100532", "--between", "torn", expect=5).err
    assert "between 100524, the last of the run, and 100532 are numbers that the book has accounted for already" in said
    assert "look at the number at the head again" in said


def test_what_became_of_the_forms_between_must_be_said(broken: Broken) -> None:
    first, head = broken.last_good + 1, broken.last_good + 3
    said = broken.firm.resume(str(broken.last_good), str(head), expect=2).err
    assert f"What became of {first} to {head - 1} (torn, fed by hand, …)? Give it with --between." in said
    assert broken.firm.state(first) in ("sent", "reserved")


def test_a_form_at_the_head_or_after_it_cannot_be_spoiled(broken: Broken) -> None:
    head = str(broken.last_good + 1)
    said = broken.firm.resume(str(broken.last_good), head, "--spoiled", f"{head}=smudged", expect=5).err
    assert f"number {head} is blank, being at the head or after: it cannot be spoiled." in said


def test_nothing_is_said_of_a_form_that_is_not_in_doubt(broken: Broken) -> None:
    head = str(broken.last_good + 1)
    for option in ("--spoiled", "--missing"):
        said = broken.firm.resume(str(broken.last_good), head, option, "100900=smudged", expect=5).err
        assert "number 100900 is not in doubt in this run, so nothing can be said of it here." in said


def test_answers_that_are_no_numbers_are_usage_errors(broken: Broken) -> None:
    said = broken.firm.resume("the third", "100504", expect=2).err
    assert "found 'the third'; wanted the number preprinted on the last good form, or none." in said
    said = broken.firm.resume("100503", "next", expect=2).err
    assert "found 'next'; wanted the number preprinted on the form now at the head." in said
    said = broken.firm.resume("100503", "100504", "--spoiled", "100502", expect=2).err
    assert "found --spoiled '100502'; wanted NUMBER=REASON, such as 100507=torn." in said
    said = broken.firm.resume("100503", "100504", "--spoiled", "100503-100501=x", expect=2).err
    assert "wanted the lower number first" in said
    said = broken.firm.resume("100503", "100504", "--spoiled", "100502=x", "--spoiled", "100502=y", expect=2).err
    assert "number 100502 is told twice with --spoiled: say one thing of it." in said


def test_no_form_good_is_an_answer_and_every_form_is_blank_again(broken: Broken) -> None:
    firm = broken.firm
    last = broken.last_sent
    firm.resume("none", str(last + 1), "--between", "ribbon came off")
    assert firm.state(100501) == "spoiled"
    assert firm.struck()[0] == str(last + 1)
    firm.run("confirm", "1", "--good-count", "24")
    firm.run("reconcile", "numbers", "1")


def test_forms_that_turned_out_blank_are_printed_on_again(broken: Broken) -> None:
    # The bridge had swallowed two forms that it had acknowledged.
    good = broken.last_good - 2
    broken.firm.resume(str(good), str(good + 1))
    assert broken.firm.struck()[0] == str(good + 1)
    assert broken.firm.state(good + 1) == "sent"


def test_forms_torn_off_beyond_the_run_are_accounted_for_too(broken: Broken) -> None:
    firm = broken.firm
    said = firm.resume(str(broken.last_good), "100528", "--between", "torn off with the jam").err
    assert "Entered:" in said
    assert [firm.state(number) for number in (100524, 100525, 100527)] == ["spoiled"] * 3
    assert firm.struck()[0] == "100528"
    firm.run("confirm", "1", "--good-count", str(24 - broken.whole))
    firm.run("reconcile", "numbers", "1")


def test_a_form_that_is_not_there_at_all_waits_for_the_banks_stop(broken: Broken) -> None:
    firm = broken.firm
    said = firm.resume(str(broken.last_good), str(broken.last_good + 1), "--missing", "100503=not in the pile").err
    assert "1 missing" in said
    assert "A missing form may bear a good cheque: ask the bank to stop it" in said
    assert firm.state(100503) == "missing"
    # Its payment was not printed again by the run that went on: only a reprint pays it.
    assert len(firm.struck()) == 24 - broken.whole
    firm.run("confirm", "1", "--good-count", str(24 - broken.whole))
    said = firm.run("reprint", "100503", expect=5).err
    assert "is not in hand and the bank has not confirmed a stop: printing it again could pay it twice" in said
    firm.run("notice", "stopped", "100503", "--confirmed-by", "N. Vault")
    firm.run("reprint", "100503")


def test_a_bad_form_before_the_last_good_one_is_told_by_its_number(broken: Broken) -> None:
    firm, head = broken.firm, broken.last_good + 1
    firm.resume(str(broken.last_good), str(head), "--spoiled", "100502-100503=ribbon slipped")
    assert [firm.state(number) for number in (100501, 100502, 100503)] == ["printed", "spoiled", "spoiled"]
    # Their payments come first again, in the register's order.
    assert firm.numbers()[2] == (head, "sent")
    assert firm.numbers()[3] == (head + 1, "sent")


def test_what_printing_will_want_is_wanted_before_anything_is_entered(broken: Broken) -> None:
    told = ("--power-cycled", "--last-good", str(broken.last_good), "--next-number", str(broken.last_good + 1))
    before = len(broken.firm.events())
    said = broken.firm.run("resume", "1", *told, "--after-first", "go-on", expect=2).err
    assert "Give it with --paper-loaded." in said
    said = broken.firm.run("resume", "1", *told, "--paper-loaded", expect=2).err
    assert "who looks at the first form?" in said
    said = broken.firm.run("resume", "1", *told[1:], "--paper-loaded", "--after-first", "go-on", expect=2).err
    assert "bytes left in somebody's buffer print a cheque again" in said
    assert "Is that done? (yes/no) Give it with --power-cycled." in said
    assert len(broken.firm.events()) == before


def test_every_question_of_a_resume_names_its_option(broken: Broken) -> None:
    line = ("resume", "1", "--power-cycled", "--paper-loaded", "--after-first", "go-on")
    said = broken.firm.run(*line, expect=2).err
    assert "Which number is preprinted on the last good form (or none)? Give it with --last-good." in said
    said = broken.firm.run(*line, "--last-good", str(broken.last_good), expect=2).err
    assert "Which number is on the form now at the head, not yet printed? Give it with --next-number." in said


def test_a_second_break_is_resumed_like_the_first(broken: Broken) -> None:
    firm = broken.firm

    def behave(printer: Peer) -> None:
        printer.take(6_000)
        printer.reset()

    with peer(behave, buffer=2304) as printer:
        firm.change("file:payroom.prn", printer.address)
        firm.resume(str(broken.last_good), str(broken.last_good + 1), expect=4)
    firm.change(printer.address, "file:payroom.prn")
    good = broken.last_good + printer.read.count(TOP) - 1
    firm.resume(str(good), str(good + 2), "--between", "torn")
    firm.run("confirm", "1", "--good-count", str(24 - (good - 100500)))
    numbers = [number for number, _ in firm.numbers().values()]
    assert len(set(numbers)) == 24
    firm.run("reconcile", "numbers", "1")
    firm.run("book", "verify")


def test_resume_needs_something_that_was_sent(accepted: Firm) -> None:
    said = accepted.resume("none", "100501", expect=5).err
    assert "nothing of batch 1 was ever sent: `cheque print 1` begins." in said


def test_when_all_is_printed_a_resume_says_so(paid: Firm) -> None:
    said = paid.run("resume", "1", "--power-cycled").err
    assert "Every payment of batch 1 has its form; nothing is left to print." in said
    assert paid.run("resume", "1", "--power-cycled", "--json").json == {"batch": 1, "sent": 0}
    said = paid.run("resume", "1", "--power-cycled", "--spoiled", "100503=smudged", expect=5).err
    assert "no form of batch 1 is in doubt any more, so nothing can be said of any with --spoiled" in said


def test_a_disk_that_is_full_stops_the_run_with_what_it_took(accepted: Firm, monkeypatch: pytest.MonkeyPatch) -> None:
    import errno
    import os

    written = 0
    write = os.write

    def full(descriptor: int, data: bytes) -> int:
        nonlocal written
        if len(data) > 1000:  # a form, not a lock's few bytes
            if written > 5_000:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            written += len(data)
        return write(descriptor, data)

    monkeypatch.setattr(os, "write", full)
    said = accepted.print(expect=4).err
    monkeypatch.undo()
    assert "the disk is full" in said
    assert "Put it right, then resume" in said
    sent = [number for number, state in accepted.numbers().values() if state == "sent"]
    accepted.resume(str(max(sent) - 1), str(max(sent)))
    accepted.run("confirm", "1", "--good-count", str(24 - (max(sent) - 100501)))
