"""The United States. The law of the cheque is the Uniform Commercial Code; its paper, the standards of ANSI X9."""

from cheque.form.rules.common import DOLLAR_SIGN, DOLLARS, FIGURES_RIGHT, SIGNATURE_PLACE
from cheque.form.rules.measure import clear_band, height, length, shown_somewhere
from cheque.form.rules.rule import Basis, Rule
from cheque.form.rules.wordings import beneath, date_pattern, says
from cheque.units import INCH

RULES = (
    Rule(
        "clear-band",
        "the bottom 5/8 in of the cheque is clear, its whole length, for magnetic characters",
        "ANSI X9.100-160-1",
        Basis.PUBLISHED,
        clear_band(INCH * 5 // 8),
    ),
    Rule(
        "length",
        "the cheque is 6 to 8 3/4 in long",
        "ANSI X9.13 and its successor, from memory",
        Basis.MEMORY,
        length(6 * INCH, INCH * 35 // 4),
    ),
    Rule(
        "height",
        "the cheque is 2 3/4 to 3 2/3 in high",
        "ANSI X9.13 and its successor, from memory",
        Basis.MEMORY,
        height(INCH * 11 // 4, INCH * 11 // 3),
    ),
    Rule(
        "magnetic-line",
        "the preprinted magnetic line is 3/16 to 7/16 in above the bottom, its first character 5/16 in from the right",
        "published placement guides of X9.13 and X9.100-160-1; an impact printer's ribbon prints none of it",
        Basis.PUBLISHED,
    ),
    Rule(
        "figures-place",
        "the amount in figures stands where scanners look for it",
        "ANSI X9.7:1999 and its successor; X9/TG-2: titles only",
        Basis.UNSEEN,
    ),
    FIGURES_RIGHT,
    Rule(
        "date-order",
        "the date is month, day, year",
        "common practice",
        Basis.PRACTICE,
        date_pattern("MM/DD/YYYY", "MM/DD/YY", "MMDDYYYY", "MM-DD-YYYY"),
    ),
    Rule(
        "to-order",
        "the cheque says that it is payable to the order of its payee",
        "Uniform Commercial Code section 3-104, from memory",
        Basis.MEMORY,
        says("to the order of"),
    ),
    DOLLARS,
    DOLLAR_SIGN,
    SIGNATURE_PLACE,
    Rule(
        "signature-named",
        "the place to sign says so",
        "common practice",
        Basis.PRACTICE,
        beneath("signature", "signature"),
    ),
    Rule(
        "wage-statement",
        "with wages stand the pay period and the employer's legal name and address",
        "e.g. California Labor Code section 226(a); each state has its own law",
        Basis.LAW,
        shown_somewhere("period", "drawer_name", "drawer_address"),
    ),
)
