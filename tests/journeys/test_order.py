"""The order of printing, from the register to the paper, the reports and the slips of the departments."""

from journeys.firm import Firm

ROWS = (
    "Zoë Quay,100.00,2026-11-27,R1,101,Yard,100501",
    "Ay Li,200.00,2026-11-27,R2,102,Loft,100502",
    "Björn Saltängen,300.00,2026-11-27,R3,103,Yard,100503",
    "Aurélie Oar,0.00,2026-11-27,R4,104,,100504",
)
HEAD = "payee,amount,date,reference,employee,department,number"
TOTALS = ("--form", "payroll-us", "--control-total", "600.00", "--item-count", "4")


def accepted(firm: Firm, *how: str) -> str:
    """The register accepted in some order; what was said."""
    return firm.run("batch", "accept", firm.write("crew.csv", *ROWS, head=HEAD), *TOTALS, *how).err


def payees(firm: Firm) -> list[str]:
    return [one["payee"] for one in firm.run("batch", "show", "1", "--json").json["payments"]]


def test_a_batch_is_printed_by_payee_and_says_so_everywhere(firm: Firm) -> None:
    said = accepted(firm, "--order", "payee")
    assert "note: printed by payee." in said
    assert "payroll's expected numbers are in the register's order" in said
    wanted = ["Aurélie Oar", "Ay Li", "Björn Saltängen", "Zoë Quay"]
    assert payees(firm) == wanted
    assert "printed by payee" in firm.run("batch", "show", "1").out
    assert firm.run("report", "control", "--json").json["about"]["order"] == "by payee"
    (body,) = [body for kind, body in firm.events() if kind == "batch.accepted"]
    assert (body["order"], body["collation"], "group" in body) == ("payee", "en_US", False)
    firm.print()
    firm.run("confirm", "1", "--good-count", "4")
    assert firm.numbers() == {n: (100500 + n, "printed") for n in (1, 2, 3, 4)}
    said = firm.run("reconcile", "numbers", "1").out
    assert "The batch was printed by payee: payroll's numbers" in said
    assert "Everything agrees." in said
    firm.run("book", "verify")


def test_the_order_is_part_of_the_proof(firm: Firm) -> None:
    accepted(firm)
    code = firm.proof()
    firm.run("batch", "withdraw", "1", "--reason", "by payee, please")
    accepted(firm, "--order", "payee")
    assert firm.proof(2) != code
    firm.run("batch", "withdraw", "2", "--reason", "as it was")
    accepted(firm, "--order", "register")
    assert firm.proof(3) == code


def test_departments_have_subtotals_and_slips_of_their_own(firm: Firm) -> None:
    said = accepted(firm, "--group", "department", "--order", "payee")
    assert "note: printed department by department, in each by payee." in said
    assert payees(firm) == ["Ay Li", "Björn Saltängen", "Zoë Quay", "Aurélie Oar"]
    report = firm.run("report", "control", "--json").json
    (table,) = [table for table in report["tables"] if table["table"] == "departments"]
    rows = [(r["department"], r["lines"], r["cheques"], r["advices"], r["amount"]) for r in table["rows"]]
    assert rows[:2] == [("Loft", "1", 1, 0, "200.00"), ("Yard", "2-3", 2, 0, "400.00")]
    assert rows[2:] == [("(no department)", "4", 0, 1, "0.00")]
    assert table["totals"][0]["amount"] == "600.00"
    firm.print()
    firm.run("confirm", "1", "--good-count", "4")
    slips = firm.run("report", "handover", "--batch", "1", "--by-department", "--form-feed").out.split("\f")
    assert len(slips) == 2  # the department of an advice alone hands over no cheque
    assert "Loft: 1 cheque, 100501" in slips[0]
    assert "Ay Li" in slips[0]
    assert "Yard: 2 cheques, 100502-100503" in slips[1]
    assert "Björn" in slips[1]
    assert "Ay Li" not in slips[1]
    assert "200.00" not in "".join(slips)


def test_what_has_nothing_to_go_by_comes_last_and_is_told(firm: Firm) -> None:
    said = accepted(firm, "--order", "department")
    assert "1 of the payments has no department to go by: it comes last." in said
    firm.run("batch", "withdraw", "1", "--reason", "by post")
    assert "4 of the payments have no postal code to go by: they come last" in accepted(firm, "--order", "postal-code")


def test_an_order_that_there_is_none_of_is_refused(firm: Firm) -> None:
    said = firm.run("batch", "accept", firm.write("crew.csv", *ROWS, head=HEAD), *TOTALS, "--order", "age", expect=2)
    assert "payee" in said.err
