"""Germany. What a cheque must state is in the Scheckgesetz, articles 1 and 2, cited here from memory."""

from cheque.form.rules.common import DAY_MONTH_YEAR, EURO_SIGN, SIGNATURE_PLACE
from cheque.form.rules.measure import clear_band, once, shows
from cheque.form.rules.rule import Basis, Rule
from cheque.form.rules.wordings import crossed, place_of_issue, says
from cheque.tongue import mark
from cheque.units import INCH

_LAW = mark("Scheckgesetz art. 1 and 2, from memory")

RULES = (
    Rule("word-cheque", "the text itself says Scheck", _LAW, Basis.MEMORY, says("Scheck")),
    Rule("order-to-pay", "the cheque is an order to pay", _LAW, Basis.MEMORY, says("zahlen Sie")),
    Rule("drawee", "the bank that is to pay is named", _LAW, Basis.MEMORY, shows("bank")),
    Rule(
        "place-of-payment",
        "the place of payment is stated, or the bank's own counts",
        _LAW,
        Basis.MEMORY,
        says("Zahlungsort"),
    ),
    Rule("place-of-issue", "the cheque states the place where it was issued", _LAW, Basis.MEMORY, place_of_issue),
    Rule(
        "amounts-once",
        "words and figures stand once each: written several times, the smallest counts",
        "Scheckgesetz art. 9, from course notes and memory",
        Basis.MEMORY,
        once("amount_words", "amount_figures"),
    ),
    Rule(
        "for-account",
        "marked Nur zur Verrechnung, across its face, it is paid into an account only",
        "Scheckgesetz art. 39, from memory",
        Basis.MEMORY,
        says("nur zur Verrechnung"),
    ),
    Rule("crossed", "two parallel lines stand with that mark", "common practice", Basis.PRACTICE, crossed),
    Rule(
        "code-line",
        "the bottom of the cheque is clear for the code line: 5/8 in, the tool's own rule",
        "the banks' rules for their forms",
        Basis.UNSEEN,
        clear_band(INCH * 5 // 8),
    ),
    Rule("size", "the size of the cheque and where its parts stand", "the banks' rules for their forms", Basis.UNSEEN),
    DAY_MONTH_YEAR,
    EURO_SIGN,
    SIGNATURE_PLACE,
    Rule("supply", "banks supply cheque forms, or approve the firm's own", "by agreement with the bank", Basis.BANK),
)
