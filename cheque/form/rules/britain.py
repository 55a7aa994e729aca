"""Britain. Cheques follow the clearing company's Standards 3.1 and 3.3, of which only the titles were at hand."""

from cheque.form.rules.common import ADVICE_WORDING, CROSSED, DAY_MONTH_YEAR, FIGURES_RIGHT, SIGNATURE_PLACE
from cheque.form.rules.measure import clear_band, in_half
from cheque.form.rules.rule import Basis, Rule
from cheque.form.rules.wordings import says, sign_at_figures
from cheque.units import MILLIMETRE

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
    CROSSED,
    Rule(
        "account-payee",
        "the crossing says A/C PAYEE, so that only the payee can be credited",
        "Cheques Act 1992 section 1, from memory",
        Basis.MEMORY,
        says("a/c payee", "account payee"),
    ),
    ADVICE_WORDING,
    DAY_MONTH_YEAR,
    Rule(
        "date-place",
        "the date stands at the upper right",
        "common practice",
        Basis.PRACTICE,
        in_half("date", right=True, lower=False),
    ),
    Rule("sign", "the figures have a pound sign", "common practice", Basis.PRACTICE, sign_at_figures("£")),
    FIGURES_RIGHT,
    SIGNATURE_PLACE,
)
