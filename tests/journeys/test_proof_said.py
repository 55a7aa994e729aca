"""What `cheque proof` says beside the code: what was drawn, and what was not."""

from journeys.firm import Firm


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
