"""Ireland: cheques in euro under the Bills of Exchange Act 1882. No standard of their paper was at hand."""

from cheque.form.rules.common import ADVICE_WORDING, CROSSED, DAY_MONTH_YEAR, EURO_SIGN, SIGNATURE_PLACE
from cheque.form.rules.measure import clear_band
from cheque.form.rules.rule import Basis, Rule
from cheque.form.rules.wordings import says
from cheque.units import MILLIMETRE

RULES = (
    Rule("size", "the size of the cheque and where its parts stand", "the clearing's own standard", Basis.UNSEEN),
    Rule(
        "clear-band",
        "the bottom 16 mm of the cheque is clear, its whole length",
        "ISO 1004-1, from memory",
        Basis.MEMORY,
        clear_band(16 * MILLIMETRE),
    ),
    CROSSED,
    Rule(
        "account-payee",
        "the crossing says A/C PAYEE",
        "common practice",
        Basis.PRACTICE,
        says("a/c payee", "account payee"),
    ),
    ADVICE_WORDING,
    DAY_MONTH_YEAR,
    EURO_SIGN,
    SIGNATURE_PLACE,
    Rule(
        "stamp-duty",
        "the cheque says that stamp duty is paid, where it is owed",
        "law of stamp duties, from memory",
        Basis.LAW,
    ),
)
