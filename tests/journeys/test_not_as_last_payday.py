"""What changed since last payday stands at the top of the proof: a second payday of the boatyard's, altered."""

import re
from html import unescape

import pytest
from journeys.firm import Firm

HEAD = "payee,amount,date,reference,employee"
FIRST = ("Marlow,100.00,2026-11-20,A1,1", "Fenwick,200.00,2026-11-20,A2,2", "Oakum,300.00,2026-11-20,A3,3")


@pytest.fixture
def firm(tmp_path):
    return Firm(tmp_path).set_up()


def accept(firm, name, rows):
    firm.write(name, *rows)
    total = sum(int(row.split(",")[1].replace(".", "")) for row in rows)
    firm.run(
        "batch", "accept", name, "--form", "payroll-us", "--account", "main",
        "--control-total", f"{total // 100}.{total % 100:02d}", "--item-count", str(len(rows)),
    )  # fmt: skip


def changes(firm, batch):
    firm.run("proof", str(batch), "-o", f"proof-{batch}.html")
    text = (firm.folder / f"proof-{batch}.html").read_text("utf-8")
    found = re.search(r'<h2 id="changed">.*?</ul>', text, re.S)
    assert found
    return [unescape(re.sub("<[^>]+>", "", line)) for line in re.findall(r"<li>(.*?)</li>", found.group())], text


def test_the_first_payday_has_nothing_to_compare_with(firm):
    accept(firm, "first.csv", FIRST)
    told, text = changes(firm, 1)
    assert told == ["There is no earlier batch on this form to compare with."]
    assert "new payee" not in text


def test_new_payees_gone_payees_and_amounts_far_from_usual_are_named(firm):
    accept(firm, "first.csv", FIRST)
    rows = ("Marlow,150.00,2026-11-27,B1,1", "Fenwick,210.00,2026-11-27,B2,2", "Rowlock,90.00,2026-11-27,B4,4")
    accept(firm, "second.csv", rows)
    told, text = changes(firm, 2)
    assert told[0].endswith("3 payments, 600.00 USD.")
    assert told[1] == "New payees: Rowlock (90.00)."
    assert told[2].endswith(": Marlow 150.00, more than usual (100.00).")
    assert told[3] == "In that batch and not in this one: Oakum."
    assert "new payee" in text
    assert "Fenwick 210.00" not in told[2]


def test_a_payday_like_the_last_says_so(firm):
    accept(firm, "first.csv", FIRST)
    accept(firm, "second.csv", [row.replace("11-20,A", "11-27,B") for row in FIRST])
    told, _ = changes(firm, 2)
    assert told[1:] == ["No payee is new or gone, and no amount is far from usual."]


def test_a_batch_that_was_withdrawn_is_no_payday(firm):
    accept(firm, "first.csv", FIRST)
    firm.run("batch", "withdraw", "1", "--reason", "the wrong week")
    accept(firm, "second.csv", [row.replace("11-20,A", "11-27,B") for row in FIRST])
    assert changes(firm, 2)[0] == ["There is no earlier batch on this form to compare with."]
