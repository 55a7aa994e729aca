"""What `cheque proof` says beside the code: what was drawn, and what was not."""

from pathlib import Path

import pypdf
from journeys.firm import Firm


def words_of(path: Path) -> str:
    """What a PDF says, as text."""
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


def test_a_code_without_a_picture_says_that_nothing_was_drawn(accepted: Firm) -> None:
    said = accepted.run("proof", "1")
    assert "Nothing was drawn: this is the code alone." in said.err
    assert "cheque proof 1 -o proof-1.pdf" in said.err
    drawn = accepted.run("proof", "1", "-o", "proof.txt")
    assert drawn.out == said.out
    assert "Nothing was drawn" not in drawn.err
    assert "Hold payee and amount against the register" in drawn.err


def test_frames_where_they_make_no_difference_are_told_of(accepted: Firm) -> None:
    for name in ("proof.html", "proof.txt"):
        assert "--frames makes no difference" in accepted.run("proof", "1", "--frames", "-o", name).err
    assert "--frames" not in accepted.run("proof", "1", "--frames", "--payment", "1", "-o", "proof.svg").err


def test_one_payment_alone_is_no_proof_to_approve_and_bears_no_code(accepted: Firm) -> None:
    whole = accepted.run("proof", "1", "-o", "whole.html")
    code = whole.out.strip()
    assert code in (accepted.folder / "whole.html").read_text("utf-8")
    said = accepted.run("proof", "1", "--payment", "7", "-o", "one.html")
    assert "Payment 7 alone is drawn: look at the whole proof" in said.err
    page = (accepted.folder / "one.html").read_text("utf-8")
    assert "this is not the proof to approve" in page
    assert "Nothing is printed but what this proof shows" not in page
    assert code not in page
    accepted.run("proof", "1", "--payment", "7", "-o", "one.pdf")
    text = words_of(accepted.folder / "one.pdf")
    assert "this is not the proof to approve" in text
    assert code not in text
    accepted.run("proof", "1", "-o", "whole.pdf")
    assert code in words_of(accepted.folder / "whole.pdf")


def test_payees_gone_since_last_payday_are_not_said_to_be_marked(firm: Firm) -> None:
    firm.write("first.csv", *(f"Payee {place},{place}.00,2026-11-27,A-{place},{place}" for place in range(1, 31)))
    firm.write("second.csv", "Payee 1,1.00,2026-12-04,B-1,1")
    firm.run("batch", "accept", "first.csv", "--form", "payroll-us", "--control-total", "465.00", "--item-count", "30")
    firm.run("batch", "accept", "second.csv", "--form", "payroll-us", "--control-total", "1.00", "--item-count", "1")
    firm.run("proof", "2", "-o", "proof.html")
    page = (firm.folder / "proof.html").read_text("utf-8")
    assert "; and 9 more." in page
    assert "marked in the list" not in page
