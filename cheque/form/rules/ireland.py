"""Ireland: cheques in euro under the Bills of Exchange Act 1882. No standard of their paper was at hand."""

from cheque.form.rules.measure import clear_band, in_half
from cheque.form.rules.rule import Basis, Rule
from cheque.form.rules.wordings import advice_is_not, crossed, date_pattern, says, sign_at_figures
from cheque.units import MILLIMETRE

_ACT = "Bills of Exchange Act 1882 sections 76 and 81, from memory"

RULES = (
    Rule("size", "the size of the cheque and where its parts stand", "the clearing's own standard", Basis.UNSEEN),
    Rule(
        "clear-band",
        "the bottom 16 mm of the cheque is clear, its whole length",
        "ISO 1004-1, from memory",
        Basis.MEMORY,
        clear_band(16 * MILLIMETRE),
    ),
    Rule("crossed", "two parallel lines cross the face", _ACT, Basis.MEMORY, crossed),
    Rule(
        "account-payee",
        "the crossing says A/C PAYEE",
        "common practice",
        Basis.PRACTICE,
        says("a/c payee", "account payee"),
    ),
    Rule(
        "advice-wording",
        "an advice does not say NOT NEGOTIABLE, which on a cheque is a crossing",
        _ACT,
        Basis.MEMORY,
        advice_is_not("not negotiable", "non-negotiable"),
    ),
    Rule(
        "date-order",
        "the date is day, month, year",
        "common practice",
        Basis.PRACTICE,
        date_pattern("DD/MM/YYYY", "DD/MM/YY", "DD.MM.YYYY", "DDMMYYYY", "DD-MM-YYYY"),
    ),
    Rule(
        "sign",
        "the figures have a euro sign, or the word",
        "common practice",
        Basis.PRACTICE,
        sign_at_figures("€", "EUR"),
    ),
    Rule(
        "signature-place",
        "the drawer signs at the lower right",
        "common practice",
        Basis.PRACTICE,
        in_half("signature", right=True, lower=True),
    ),
    Rule(
        "stamp-duty",
        "the cheque says that stamp duty is paid, where it is owed",
        "law of stamp duties, from memory",
        Basis.LAW,
    ),
)
