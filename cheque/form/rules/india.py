"""India. Cheques follow CTS-2010, the Reserve Bank's standard for clearing by image."""

from cheque.form.rules.measure import clear_band, height, in_half, length
from cheque.form.rules.rule import Basis, Rule
from cheque.form.rules.wordings import beneath, date_in_boxes, date_pattern, says, sign_at_figures
from cheque.tongue import mark
from cheque.units import INCH, MILLIMETRE

_CTS = mark("Reserve Bank of India, CTS-2010 annexure, 2010-02-22 and 2010-06-22")

RULES = (
    Rule("date-boxes", "the date is in eight boxes", _CTS, Basis.PUBLISHED, date_in_boxes(8)),
    Rule("date-order", "the date is DDMMYYYY", _CTS, Basis.PUBLISHED, date_pattern("DDMMYYYY")),
    Rule("rupee-sign", "the rupee sign stands at the figures", _CTS, Basis.PUBLISHED, sign_at_figures("₹")),
    Rule(
        "sign-above",
        "beneath the place to sign stands: please sign above",
        _CTS,
        Basis.PUBLISHED,
        beneath("signature", "please sign above"),
    ),
    Rule(
        "signature-place",
        "the drawer signs at the lower right",
        _CTS,
        Basis.PUBLISHED,
        in_half("signature", right=True, lower=True),
    ),
    Rule(
        "no-alteration",
        "nothing but the date may be altered, to validate it: a leaf with a mistake is spoiled",
        _CTS,
        Basis.PUBLISHED,
    ),
    Rule(
        "length",
        "a leaf is about 202 mm long",
        "CTS-2010, from memory; older guidance 8 in",
        Basis.MEMORY,
        length(200 * MILLIMETRE, 8 * INCH + MILLIMETRE),
    ),
    Rule(
        "height",
        "a leaf is about 92 mm high",
        "CTS-2010, from memory; older guidance 3 2/3 in",
        Basis.MEMORY,
        height(91 * MILLIMETRE, INCH * 11 // 3),
    ),
    Rule(
        "clear-band",
        "the bottom 5/8 in of the cheque is clear, its whole length",
        "ISO 1004-1, from memory",
        Basis.MEMORY,
        clear_band(INCH * 5 // 8),
    ),
    Rule(
        "paper",
        "watermark, void pantograph and bank's logo in invisible ink are the bank's: it supplies the leaves",
        "CTS-2010, from memory",
        Basis.BANK,
    ),
    Rule("account-payee", "the crossing says A/C PAYEE", "common practice", Basis.PRACTICE, says("a/c payee")),
)
