"""France. What a cheque must state is in the Code monétaire et financier, L131-2 and after."""

from cheque.form.rules.common import DAY_MONTH_YEAR, EURO_SIGN, SIGNATURE_PLACE
from cheque.form.rules.measure import clear_band, height, length, once, shows
from cheque.form.rules.rule import Basis, Rule
from cheque.form.rules.wordings import crossed, place_of_issue, says
from cheque.units import MILLIMETRE

_CODE = "Code monétaire et financier L131-2"

RULES = (
    Rule("place-of-issue", "the cheque states the place where it was issued", _CODE, Basis.PUBLISHED, place_of_issue),
    Rule(
        "word-cheque",
        "the text itself says chèque",
        "Code monétaire et financier L131-2, from memory",
        Basis.MEMORY,
        says("chèque"),
    ),
    Rule(
        "drawee",
        "the bank that is to pay is named",
        "Code monétaire et financier L131-2, from memory",
        Basis.MEMORY,
        shows("bank"),
    ),
    Rule(
        "place-of-payment",
        "the place of payment is stated, or the bank's own counts",
        "Code monétaire et financier L131-2, from memory",
        Basis.MEMORY,
        says("payable"),
    ),
    Rule(
        "amounts-once",
        "words and figures stand once each: written several times, the smallest counts",
        "Code monétaire et financier L131-10, from course notes and memory",
        Basis.MEMORY,
        once("amount_words", "amount_figures"),
    ),
    Rule(
        "length",
        "the cheque is 175 mm long",
        "NF K11-111, from memory",
        Basis.MEMORY,
        length(175 * MILLIMETRE, 175 * MILLIMETRE),
    ),
    Rule(
        "height",
        "the cheque is 80 mm high",
        "NF K11-111, from memory",
        Basis.MEMORY,
        height(80 * MILLIMETRE, 80 * MILLIMETRE),
    ),
    Rule(
        "clear-band",
        "the bottom 16 mm of the cheque is clear for magnetic characters (CMC-7)",
        "ISO 1004-2, from memory",
        Basis.MEMORY,
        clear_band(16 * MILLIMETRE),
    ),
    Rule("crossed", "two parallel lines cross the face (chèque barré)", "L131-44, from memory", Basis.MEMORY, crossed),
    DAY_MONTH_YEAR,
    EURO_SIGN,
    SIGNATURE_PLACE,
    Rule("supply", "banks supply cheque forms, or approve the firm's own", "by agreement with the bank", Basis.BANK),
)
