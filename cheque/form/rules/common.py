"""Rules that several countries have word for word: habits of the trade, and the Act that Britain and Ireland share."""

from cheque.form.rules.measure import in_half
from cheque.form.rules.rule import Basis, Rule
from cheque.form.rules.wordings import advice_is_not, crossed, date_pattern, says, sign_at_figures
from cheque.tongue import mark

_PRACTICE = mark("common practice")
_ACT = mark("Bills of Exchange Act 1882 sections 76 and 81, from memory")

SIGNATURE_PLACE = Rule(
    "signature-place",
    "the drawer signs at the lower right",
    _PRACTICE,
    Basis.PRACTICE,
    in_half("signature", right=True, lower=True),
)
FIGURES_RIGHT = Rule(
    "figures-right",
    "the amount in figures stands to the right",
    _PRACTICE,
    Basis.PRACTICE,
    in_half("amount_figures", right=True),
)
DAY_MONTH_YEAR = Rule(
    "date-order",
    "the date is day, month, year",
    _PRACTICE,
    Basis.PRACTICE,
    date_pattern("DD/MM/YYYY", "DD/MM/YY", "DD.MM.YYYY", "DD.MM.YY", "DDMMYYYY", "DD-MM-YYYY"),
)
#: in North America the style of the words leaves the currency's name to the form
DOLLARS = Rule(
    "dollars",
    "the word dollars stands by the amount in words, which does not name the currency",
    _PRACTICE,
    Basis.PRACTICE,
    says("dollars"),
)
DOLLAR_SIGN = Rule("sign", "the figures have a dollar sign", _PRACTICE, Basis.PRACTICE, sign_at_figures("$"))
EURO_SIGN = Rule("sign", "the figures have a euro sign, or EUR", _PRACTICE, Basis.PRACTICE, sign_at_figures("€", "EUR"))
CROSSED = Rule("crossed", "two parallel lines cross the face", _ACT, Basis.MEMORY, crossed)
ADVICE_WORDING = Rule(
    "advice-wording",
    "an advice does not say NOT NEGOTIABLE, which on a cheque is a crossing",
    _ACT,
    Basis.MEMORY,
    advice_is_not("not negotiable", "non-negotiable"),
)
