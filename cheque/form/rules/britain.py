"""Britain. Cheques follow the clearing company's Standards 3.1 and 3.3, of which only the titles were at hand."""

from cheque.form.rules.measure import clear_band, in_half
from cheque.form.rules.rule import Basis, Rule
from cheque.form.rules.wordings import advice_is_not, crossed, date_pattern, says, sign_at_figures
from cheque.units import MILLIMETRE

_ACT = "Bills of Exchange Act 1882 sections 76 and 81, from memory"

RULES = (
    Rule(
        "size", "the size of the cheque and where its parts stand", "Standards 3.1 and 3.3, titles only", Basis.UNSEEN
    ),
    Rule(
        "clear-band",
        "the bottom 16 mm of the cheque is clear, its whole length",
        "Standard 3.3, from memory",
        Basis.MEMORY,
        clear_band(16 * MILLIMETRE),
    ),
    Rule("crossed", "two parallel lines cross the face", _ACT, Basis.MEMORY, crossed),
    Rule(
        "account-payee",
        "the crossing says A/C PAYEE, so that only the payee can be credited",
        "Cheques Act 1992 section 1, from memory",
        Basis.MEMORY,
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
        "date-place",
        "the date stands at the upper right",
        "common practice",
        Basis.PRACTICE,
        in_half("date", right=True, lower=False),
    ),
    Rule("sign", "the figures have a pound sign", "common practice", Basis.PRACTICE, sign_at_figures("£")),
    Rule(
        "figures-right",
        "the amount in figures stands to the right",
        "common practice",
        Basis.PRACTICE,
        in_half("amount_figures", right=True),
    ),
    Rule(
        "signature-place",
        "the drawer signs at the lower right",
        "common practice",
        Basis.PRACTICE,
        in_half("signature", right=True, lower=True),
    ),
)
