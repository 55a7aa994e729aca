"""The states of a numbered form, and which may follow which.

    on hand ⇄ reserved ⇄ sent ─▶ printed ─▶ voided
       │         │         └───▶ spoiled ◀── missing (found)
       └─────────┴─────────────▶ spoiled | missing        on hand ─▶ destroyed

*Sent* means that bytes may have left and nobody has looked yet. Only a person who looked at the paper makes a
form *printed*. Every form is in one of these states at every moment, which is what makes the numbers add up.
The database holds the diagram too: `cheque.book.schema` makes its triggers from `FOLLOWS`.
"""

from enum import StrEnum


class State(StrEnum):
    """Where a numbered form is in its life."""

    ON_HAND = "on hand"
    RESERVED = "reserved"
    SENT = "sent"
    PRINTED = "printed"
    SPOILED = "spoiled"
    VOIDED = "voided"
    MISSING = "missing"
    DESTROYED = "destroyed"


FOLLOWS: dict[State, frozenset[State]] = {
    State.ON_HAND: frozenset({State.RESERVED, State.SPOILED, State.MISSING, State.DESTROYED, State.PRINTED}),
    State.RESERVED: frozenset({State.ON_HAND, State.SENT, State.SPOILED, State.MISSING}),
    State.SENT: frozenset({State.RESERVED, State.ON_HAND, State.PRINTED, State.SPOILED, State.MISSING}),
    State.PRINTED: frozenset({State.VOIDED}),
    State.MISSING: frozenset({State.ON_HAND, State.SPOILED}),
    State.SPOILED: frozenset(),
    State.VOIDED: frozenset(),
    State.DESTROYED: frozenset(),
}
"""ON_HAND may become PRINTED in one step only for a cheque written by hand."""

#: a payment has at most one form with the role of cheque in one of these
LIVE = frozenset({State.RESERVED, State.SENT, State.PRINTED})

#: in SQL, word for word as the indexes of such forms have it, or they are not used: a good form that nobody has given
#: out yet; and one that is used and is no good cheque
IN_HOUSE = "state = 'printed' AND custody IN ('to be signed', 'held')"
WASTE = "state IN ('missing', 'spoiled', 'voided')"
