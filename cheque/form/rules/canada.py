"""Canada. Cheques follow Payments Canada Standard 006 Part A, known here from its published summaries."""

from cheque.form.rules.common import DOLLAR_SIGN, DOLLARS, SIGNATURE_PLACE
from cheque.form.rules.measure import apart, clear_band, length, nothing_drawn_in_band, stands, unboxed
from cheque.form.rules.rule import Basis, Rule
from cheque.form.rules.wordings import advice_is_not, date_pattern, field_indicators
from cheque.tongue import mark
from cheque.units import INCH

_STANDARD = mark("Payments Canada Standard 006 Part A, published summaries")
#: pattern -> its field indicators in English and in French
INDICATORS = {
    "YYYYMMDD": ("YYYYMMDD", "AAAAMMJJ"),
    "MMDDYYYY": ("MMDDYYYY", "MMJJAAAA"),
    "DDMMYYYY": ("DDMMYYYY", "JJMMAAAA"),
}

RULES = (
    Rule("length", "the cheque is at least 6 1/4 in long", _STANDARD, Basis.PUBLISHED, length(INCH * 25 // 4)),
    Rule(
        "date-digits",
        "the date is eight digits, YYYYMMDD, MMDDYYYY or DDMMYYYY",
        _STANDARD,
        Basis.PUBLISHED,
        date_pattern(*INDICATORS),
    ),
    Rule(
        "date-indicators",
        "beneath the date stand its field indicators, in English or French",
        _STANDARD,
        Basis.PUBLISHED,
        field_indicators(INDICATORS),
    ),
    Rule(
        "figures-place",
        "the amount in figures stands 1.4 to 2.6 in above the bottom and 0.25 to 2.5 in from the right",
        _STANDARD,
        Basis.PUBLISHED,
        stands(
            "amount_figures", above_bottom=(INCH * 14 // 10, INCH * 26 // 10), from_right=(INCH // 4, INCH * 5 // 2)
        ),
    ),
    Rule(
        "figures-unboxed",
        "no box stands round the amount in figures",
        _STANDARD,
        Basis.PUBLISHED,
        unboxed("amount_figures"),
    ),
    Rule(
        "clear-space",
        "0.25 in is clear round each of date, words, figures, payee and signature (held here between each two)",
        _STANDARD,
        Basis.PUBLISHED,
        apart(INCH // 4, "date", "amount_words", "amount_figures", "payee", "signature"),
    ),
    Rule("band-border", "no border stands under the magnetic line", _STANDARD, Basis.PUBLISHED, nothing_drawn_in_band),
    Rule(
        "slanted-type",
        "no type on the cheque is slanted or reversed: a definition knows neither, the stock may",
        _STANDARD,
        Basis.PUBLISHED,
    ),
    Rule("black-carbon", "no black carbon on the back: ask for carbonless paper", _STANDARD, Basis.PUBLISHED),
    Rule(
        "clear-band",
        "the bottom 5/8 in of the cheque is clear, its whole length",
        "ISO 1004-1, from memory",
        Basis.MEMORY,
        clear_band(INCH * 5 // 8),
    ),
    DOLLARS,
    DOLLAR_SIGN,
    SIGNATURE_PLACE,
    Rule(
        "advice-wording",
        "an advice does not say NOT NEGOTIABLE, which on a cheque is a crossing",
        "Canada Bills of Exchange Act, crossings, from memory",
        Basis.MEMORY,
        advice_is_not("not negotiable", "non-negotiable", "non négociable"),
    ),
)
