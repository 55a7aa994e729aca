"""Hands kept apart, when the settings ask: who accepts does not approve, who prints does not reconcile, a void takes
two. On one machine with one file it is a habit that the book records."""

import pytest
from journeys.firm import Firm

GO = ("--paper-loaded", "--after-first", "go-on")


@pytest.fixture
def firm(tmp_path):
    firm = Firm(tmp_path).set_up()
    firm.register()
    return firm


def keep_apart(firm, *duties):
    firm.change("[duties]\n", "[duties]\n" + "".join(f"{name} = true\n" for name in duties))


def accepted(firm, person="mara"):
    totals = ("--control-total", "18214.77", "--item-count", "24", "--hash-total", "51877")
    firm.run("--as", person, "batch", "accept", "payday-2026-11-27.csv", "--form", "payroll-us", *totals)
    return firm.run("proof", "1").out.strip()


def printed(firm, code, person="mara", expect=0):
    return firm.run("--as", person, "print", "1", "--first-number", "100501", "--proof-code", code, *GO, expect=expect)


def test_without_duties_one_person_does_it_all(firm):
    code = accepted(firm)
    printed(firm, code)
    firm.run("--as", "mara", "confirm", "1", "--good-count", "24")
    firm.run("--as", "mara", "reconcile", "numbers", "1")
    firm.run("--as", "mara", "void", "100503", "--reason", "wrong hours", "--paper", "in-hand")


def test_a_batch_is_printed_once_another_than_its_acceptor_approved_the_proof(firm):
    keep_apart(firm, "approve")
    code = accepted(firm)
    said = printed(firm, code, expect=5)
    assert "somebody other than mara (" in said.err
    assert "cheque batch approve 1" in said.err
    assert "mara" in firm.run("--as", "mara", "batch", "approve", "1", "--proof-code", code, expect=5).err
    assert (
        "is not the code"
        in firm.run("--as", "ives", "batch", "approve", "1", "--proof-code", "AAAA-AAAA", expect=5).err
    )
    firm.run("--as", "ives", "batch", "approve", "1", "--proof-code", code)
    assert "already" in firm.run("--as", "ives", "batch", "approve", "1", "--proof-code", code, expect=5).err
    printed(firm, code)
    firm.run("book", "verify")
    told = firm.run("report", "control", "--batch", "1").out
    assert "by ives (" in told
    assert f"proof {code}" in told


def test_an_approval_is_of_one_proof_and_no_other(firm):
    keep_apart(firm, "approve")
    code = accepted(firm)
    firm.run("--as", "ives", "batch", "approve", "1", "--proof-code", code)
    firm.run("batch", "pull", "1", "3", "--reason", "left the firm")
    changed = firm.run("proof", "1").out.strip()
    assert changed != code
    assert "cheque batch approve 1" in printed(firm, changed, expect=5).err


def test_an_amount_over_the_limit_needs_two_approvals_by_two_people(firm):
    firm.change('currency = "USD"', 'currency = "USD"\nsecond_approval_over = "1000.00"')
    code = accepted(firm)
    assert "two people" in printed(firm, code, expect=5).err
    said = firm.run("--as", "ives", "batch", "approve", "1", "--proof-code", code)
    assert "not enough yet" in said.err
    assert "ives" in printed(firm, code, expect=5).err
    assert "not enough" not in firm.run("--as", "tobin", "batch", "approve", "1", "--proof-code", code).err
    printed(firm, code)


def test_an_amount_of_just_the_limit_needs_none(firm):
    firm.change('currency = "USD"', 'currency = "USD"\nsecond_approval_over = "1024.44"')  # the largest of them
    printed(firm, accepted(firm))


def test_who_printed_does_not_reconcile(firm):
    keep_apart(firm, "reconcile")
    printed(firm, accepted(firm, "ives"), "tobin")
    firm.run("confirm", "1", "--good-count", "24")
    assert "somebody else has to reconcile" in firm.run("--as", "tobin", "reconcile", "numbers", "1", expect=5).err
    firm.run("--as", "mara", "reconcile", "numbers", "1")
    (firm.folder / "bank.csv").write_text("date,amount\n")
    said = firm.run("--as", "tobin", "reconcile", "bank", "bank.csv", expect=5)
    assert "somebody else has to reconcile its statements" in said.err


def test_a_void_takes_two_people(firm):
    printed(firm, accepted(firm))
    firm.run("confirm", "1", "--good-count", "24")
    keep_apart(firm, "second_person")
    said = firm.run("--as", "mara", "void", "100503", "--reason", "wrong hours", "--paper", "in-hand")
    assert "Asked for" in said.err
    assert firm.run("show", "100503", "--json").json["is"] == "printed"
    assert "asked by mara" in firm.run("report", "handover", "--batch", "1").out
    again = firm.run("--as", "ives", "void", "100503", "--reason", "torn", "--paper", "in-hand", expect=5)
    assert "already" in again.err
    assert "somebody else" in firm.run("--as", "mara", "void", "100503", "--second", expect=5).err
    assert "stands" in firm.run("--as", "ives", "void", "100503", "--second", "--reason", "torn", expect=2).err
    firm.run("--as", "ives", "void", "100503", "--second")
    shown = firm.run("show", "100503", "--json").json
    assert shown["is"] == "voided"
    assert firm.run("--as", "ives", "void", "100503", "--second", expect=5).err.count("waits") == 1
    firm.run("book", "verify")


def test_who_voided_does_not_settle_the_debt_alone(firm):
    printed(firm, accepted(firm))
    firm.run("confirm", "1", "--good-count", "24")
    firm.run("--as", "mara", "void", "100503", "--reason", "wrong hours", "--paper", "in-hand")
    keep_apart(firm, "second_person")
    settle = ("disposition", "100503", "not-owed", "--reason", "was there twice")
    assert "mara (" in firm.run("--as", "mara", *settle, expect=5).err
    assert "somebody else has to say that its payment is not owed" in firm.run("--as", "mara", *settle, expect=5).err
    firm.run("--as", "mara", "disposition", "100503", "still-owed", "--reason", "nobody claimed it")
    firm.run("--as", "ives", *settle)
    assert "was there twice" in firm.run("report", "owed").out


def test_what_was_asked_for_can_be_dropped(firm):
    printed(firm, accepted(firm))
    firm.run("confirm", "1", "--good-count", "24")
    keep_apart(firm, "second_person")
    firm.run("--as", "mara", "void", "100503", "--reason", "wrong hours", "--paper", "in-hand")
    firm.run("--as", "mara", "void", "100503", "--drop")
    assert "nothing of the kind" in firm.run("--as", "ives", "void", "100503", "--second", expect=5).err


def test_a_cheque_by_hand_takes_two_people(firm):
    keep_apart(firm, "second_person")
    accepted(firm)
    firm.run("--as", "mara", "manual", "100501", "--payment", "1:3", "--reason", "the ferry leaves")
    assert firm.run("show", "100501", "--json").json["is"] == "on hand"
    firm.run("--as", "ives", "manual", "100501", "--second")
    assert firm.run("show", "100501", "--json").json["is"] == "printed"
    firm.run("book", "verify")


def test_what_the_first_person_asked_is_judged_again_when_the_second_does_it(firm):
    keep_apart(firm, "second_person")
    code = accepted(firm)
    firm.run("--as", "mara", "manual", "100530", "--payment", "1:3", "--reason", "the ferry leaves")
    printed(firm, code)
    said = firm.run("--as", "ives", "manual", "100530", "--second", expect=5)
    assert "not paid twice" in said.err


def test_a_missing_answer_is_named(firm):
    assert "--reason and --paper" in firm.run("void", "100503", expect=2).err
    assert "one of them" in firm.run("void", "100503", "--second", "--drop", expect=2).err
    assert "--as" in firm.run("--as", "a\x1bb", "stock", "list", expect=2).err


def test_settings_of_duties_are_held_to_their_kind(firm):
    firm.change("[duties]\n", '[duties]\napprove = "yes"\nsecond = true\n')
    said = firm.run("stock", "list", expect=3).err
    assert "duties.approve" in said
    assert "duties.second" in said
