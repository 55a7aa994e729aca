"""What the doors of a book under roles refuse is said in the person's language."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from tongues.brackets import Brackets

from cheque import tongue
from cheque.book import gate
from cheque.book.gate.said import said

_REFUSED = re.compile(r"refuse\((?:format\()?((?:'(?:[^']|'')*'\s*)+)")
#: met only by who writes to the server past this tool
_PAST_THE_TOOL = ("found no text where a reason stands", "beside the chain", "isolation", "payments belong to",
                  "a key for each", "pages belong to", "table of names")  # fmt: skip


@pytest.fixture(autouse=True)
def brackets() -> Iterator[None]:
    """Another language is spoken."""
    tongue.speak(Brackets())
    yield
    tongue.speak(None)


def refused() -> list[str]:
    """Every refusal of the doors, with a value at each place."""
    found = []
    for path in sorted(Path(gate.__file__).parent.glob("*.sql")):
        if path.name == "values.sql":
            continue
        for text in _REFUSED.findall(path.read_text()):
            whole = "".join(re.findall(r"'((?:[^']|'')*)'", text)).replace("''", "'")
            found.append(whole.rstrip("."))
    return found


def test_every_refusal_of_the_doors_is_known_again_by_its_words() -> None:
    all_of_them = refused()
    assert len(all_of_them) > 20
    for text in all_of_them:
        if any(some in text for some in _PAST_THE_TOOL):
            continue
        one = text.replace("once %s other", "once two people other").replace("(%s): %s. N", "(%s): nobody here may. N")
        assert said(one.replace("%s", "7")).startswith("⟦"), one


def test_the_values_stand_in_their_places() -> None:
    law = said("event 12 (run.begun) breaks the law of the book: a run has a form")
    assert law == "⟦event 12 (run.begun) breaks the law of the book: a run has a form⟧"
    assert said("ives may not do this (run.begun): it wants the role printer. Nothing changed").startswith("⟦ives may")
    assert said("number 7 of main is printed: it cannot become on hand") == (
        "⟦number 7 of main is ⟦printed⟧: it cannot become ⟦on hand⟧⟧"
    )


def test_the_servers_own_words_stay_as_they_are() -> None:
    assert said("canceling statement due to lock timeout") == "canceling statement due to lock timeout"
