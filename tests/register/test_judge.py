"""What a payment must fulfil, whatever register it came from, with the message of every refusal."""

import unicodedata

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from register.registers import HEADER, LINE, judged, messages, reading

from cheque.errors import Fault, InputRefused
from cheque.payment import Kind, Payment, Role, StubLine
from cheque.register import checks
from cheque.register.characters import reason
from cheque.register.judge import Judge
from cheque.register.twice import PaidBefore

GOOD = Payment(1, "Niamh O'Dunmarrow", 81240, "2026-11-27", "W48-2101", hash_value=2101, line=2)
STUB = (
    StubLine(Kind.EARNING, "Regular", 100000, 4700000, "40.00", "25.00"),
    StubLine(Kind.DEDUCTION, "Income tax", 18760, 881720),
    StubLine(Kind.EMPLOYER, "Pension", 4000, 188000),
    StubLine(Kind.NOTE, "Yard closed on Monday."),
)
INVOICES = (
    StubLine(Kind.INVOICE, "TT-4471", 79240, None, "", "", "2026-10-28", 80000, 760),
    StubLine(Kind.INVOICE, "TT-4502", 2000, None, "", "", "2026-11-09"),
)


def found(**changes: object) -> list[str]:
    """Messages for one payment like the good one but for these changes, without file and line."""
    start = "payday.csv line 2, "
    said = messages([GOOD._replace(**changes)])
    assert all(message.startswith(start) for message in said)
    return [message.removeprefix(start) for message in said]


@pytest.mark.parametrize("stub", [(), STUB, STUB[:1] + STUB[1:2], INVOICES, STUB[3:]])
def test_a_payment_that_adds_up_is_good(stub: tuple[StubLine, ...]) -> None:
    judge = Judge(reading())
    payment = GOOD._replace(stub=stub, period_from="2026-11-16", period_to="2026-11-22", identity="4471")
    assert list(judge.payments([payment])) == [payment]
    verdict = judge.verdict()
    assert (verdict.fault_count, verdict.warning_count, verdict.notes, verdict.complete) == (0, 0, (), True)
    assert (verdict.totals.item_count, verdict.totals.control_total, verdict.totals.hash_total) == (1, 81240, 2101)
    verdict.refuse("payday.csv")


def test_a_cheque_has_a_payee() -> None:
    assert found(payee="") == ["payee: found nothing; wanted a payee; write whom it is paid to."]


def test_there_is_no_open_space_in_a_payee() -> None:
    assert found(payee="Ay  Li") == [
        "payee: found an open space in 'Ay  Li'; wanted one blank between words; close it."
    ]


@pytest.mark.parametrize(
    "text", ["27/11/2026", "2026-11-31", "2026-02-29", "20261127", "2026-W48-5", "2026-1-7", "٢٠٢٦-١١-٢٧", "x"]
)
def test_a_date_is_real_and_iso(text: str) -> None:
    wanted = "wanted a real date as YYYY-MM-DD, such as 2026-11-27; correct it."
    assert found(date=text) == [f"date: found '{text}'; {wanted}"]
    line = StubLine(Kind.INVOICE, "TT-1", 81240, date=text)
    assert found(stub=(line,)) == [f"invoice 'TT-1', date: found '{text}'; {wanted}"]


def test_a_cheque_has_a_date() -> None:
    assert found(date="") == ["date: found nothing; wanted the date of the cheque; write it."]


def test_a_pay_period_is_whole_and_in_order() -> None:
    whole = "found nothing; wanted both ends of the pay period; write it."
    assert found(period_from="2026-11-16") == [f"period_to: {whole}"]
    assert found(period_to="2026-11-22") == [f"period_from: {whole}"]
    assert found(period_from="2026-11-22", period_to="2026-11-16") == [
        "period_from: found 2026-11-22, after period_to 2026-11-16; wanted a period that ends after it begins; "
        "correct it."
    ]
    assert found(period_from="2026-11-22", period_to="2026-11-22") == []
    assert len(found(period_from="16 Nov", period_to="22 Nov")) == 2


@pytest.mark.parametrize(
    ("identity", "digits"), [("123-45-6789", 9), ("12345", 5), ("***-**-4471", 0), ("4471", 0), ("AB 12 34 C", 0)]
)
def test_a_stub_shows_at_most_four_digits_of_an_identity_number(identity: str, digits: int) -> None:
    """California Labor Code § 226(a). The message does not repeat the number."""
    wanted = [f"identity: found {digits} digits; wanted at most its last 4; take the others out of the register."]
    assert found(identity=identity) == (wanted if digits else [])


@pytest.mark.parametrize("number", ["A100501", "-5", "1 2", "1" * 19, "١٢"])
def test_an_expected_number_is_digits(number: str) -> None:
    assert found(expected=number) == [f"number: found '{number}'; wanted the digits of a form's number; correct it."]


def test_hours_and_rates_are_exact_decimals() -> None:
    line = StubLine(Kind.EARNING, "Regular", 81240, None, "40h", "1e3")
    wanted = "wanted a number such as 37.50; write digits and a point."
    assert found(stub=(line,)) == [
        f"earning 'Regular', hours: found '40h'; {wanted}",
        f"earning 'Regular', rate: found '1e3'; {wanted}",
    ]


@pytest.mark.parametrize(
    ("character", "what"),
    [
        ("\x1b", "U+001B (a control character)"),
        ("\n", "U+000A (a control character)"),
        ("\t", "U+0009 (a control character)"),
        ("\x7f", "U+007F (a control character)"),
        ("\x9b", "U+009B (a control character)"),
        ("\u202e", "U+202E RIGHT-TO-LEFT OVERRIDE (a bidirectional control)"),
        ("\u2066", "U+2066 LEFT-TO-RIGHT ISOLATE (a bidirectional control)"),
        ("\u200b", "U+200B ZERO WIDTH SPACE (a zero-width character)"),
        ("\ufeff", "U+FEFF ZERO WIDTH NO-BREAK SPACE (a zero-width character)"),
        ("\u00ad", "U+00AD SOFT HYPHEN (an invisible format character)"),
        ("\u3164", "U+3164 HANGUL FILLER (an invisible character)"),
        ("\ufe0f", "U+FE0F VARIATION SELECTOR-16 (an invisible character)"),
        ("\ue000", "U+E000 (a private-use character)"),
        ("\u0378", "U+0378 (an unassigned code point)"),
        ("\ud800", "U+D800 (a surrogate)"),
        ("\u2028", "U+2028 LINE SEPARATOR (a line separator)"),
        ("\u2029", "U+2029 PARAGRAPH SEPARATOR (a paragraph separator)"),
        ("\u00a0", "U+00A0 NO-BREAK SPACE (a blank other than the ordinary one)"),
        ("\u202f", "U+202F NARROW NO-BREAK SPACE (a blank other than the ordinary one)"),
        ("\ufffd", "U+FFFD REPLACEMENT CHARACTER (the mark of text damaged earlier)"),
    ],
)
def test_nothing_that_steers_or_hides_passes(character: str, what: str) -> None:
    said = f"found {what} as character 4; wanted characters that can be seen; take it out."
    assert found(payee=f"Ay {character}Li") == [f"payee: {said}"]
    assert found(address=("7 Tar Street", f"Qui{character}llmere")) == [f"address2: {said}"]
    assert found(stub=(StubLine(Kind.NOTE, f"Yar{character}d"),)) == [f"note: {said}"]


FIELDS = [
    *("payee", "reference", "employee", "identity", "department", "memo"),
    *("date", "expected", "period_from", "period_to"),
]


@pytest.mark.parametrize("field", FIELDS)
def test_no_field_is_left_out_of_the_search_for_such_characters(field: str) -> None:
    name = {"expected": "number"}.get(field, field)
    said = (
        f"{name}: found U+0007 (a control character) as character 1; wanted characters that can be seen; take it out."
    )
    assert said in found(**{field: "\x07"})


@settings(max_examples=300, deadline=None)
@given(st.characters(), st.sampled_from(["payee", "reference", "memo"]))
def test_every_character_of_a_dangerous_category_is_refused(character: str, field: str) -> None:
    """Categories of the Unicode Character Database, as Python has it, and no table of ours."""
    category = unicodedata.category(character)
    said = found(**{field: f"A{character}b"})
    if category in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp") or (category == "Zs" and character != " "):
        assert said
        assert f"U+{ord(character):04X}" in said[0]
    elif not reason(character) and unicodedata.is_normalized("NFC", f"A{character}b"):
        assert said == []


def test_texts_from_any_reader_are_in_form_c_without_outer_blanks() -> None:
    assert found(payee="Esme\u0301 Larkwater") == [
        "payee: found 'Esme\u0301 Larkwater'; wanted Unicode normalisation form C; the reader must bring it there."
    ]
    assert found(memo=" wages") == ["memo: found ' wages'; wanted no blanks at its ends; the reader must drop them."]
    assert found(memo="a | b") == []


def cp437(text: str) -> list[tuple[int, str]]:
    """What code page 437 does not have, asked of Python's codec."""
    return [(place, c) for place, c in enumerate(text, 1) if not c.encode("cp437", "ignore")]


def test_a_character_the_printer_does_not_have_is_named() -> None:
    payment = GOOD._replace(payee="Ragnhild Fjordløkken", memo="€ and ₹", department="Señor")
    start, wanted = "payday.csv line 2, ", "wanted characters that the printer has"
    do = "spell it otherwise, or choose a table that has it."
    assert messages([payment], unprintable=cp437) == [
        f"{start}payee: found U+00F8 LATIN SMALL LETTER O WITH STROKE as character 16; {wanted}; {do}",
        f"{start}memo: found U+20AC EURO SIGN as character 1; {wanted}; {do}",
        f"{start}memo: found U+20B9 INDIAN RUPEE SIGN as character 7; {wanted}; {do}",
    ]
    assert messages([payment]) == []


def test_a_hidden_character_is_told_once() -> None:
    (said,) = messages([GOOD._replace(payee="Ay\u202eLi")], unprintable=cp437)
    assert "RIGHT-TO-LEFT" in said


def test_a_printer_may_lack_even_a_character_of_ascii() -> None:
    def without_at(text: str) -> list[tuple[int, str]]:
        return [(place, c) for place, c in enumerate(text, 1) if c == "@"]

    said = messages([GOOD, GOOD._replace(payee="Tarn @ Tiller", line=3)], unprintable=without_at)
    assert said == [
        "payday.csv line 3, payee: found U+0040 COMMERCIAL AT as character 6; wanted characters that the printer has; "
        "spell it otherwise, or choose a table that has it."
    ]


def test_the_printer_is_asked_about_each_character_once() -> None:
    asked: list[str] = []

    def tables(text: str) -> list[tuple[int, str]]:
        asked.append(text)
        return []

    same = [GOOD._replace(payee=f"Zoë {number}", line=number) for number in range(2, 9)]
    assert messages(same, unprintable=tables) == []
    assert asked[1:] == ["ë"]


def test_nobody_is_paid_less_than_nothing() -> None:
    assert found(amount=-100) == ["amount: found -1.00; wanted an amount above zero; ask payroll; it cannot be paid."]


def test_a_cheque_is_never_for_nothing() -> None:
    assert found(amount=0) == [
        "amount: found a cheque for nothing; wanted an amount above zero, or an advice; ask payroll."
    ]
    assert found(amount=0, role=Role.ADVICE) == []


def test_net_is_earnings_less_deductions() -> None:
    assert found(amount=81204, stub=STUB) == [
        "amount: found 812.04; wanted 812.40, which is 1000.00 of earnings less 187.60 of deductions; "
        "ask who made the register which is right."
    ]


def test_a_suppliers_amount_is_the_sum_of_the_invoices() -> None:
    assert found(amount=79240, stub=INVOICES) == [
        "amount: found 792.40; wanted 812.40, the sum of its invoices; ask who made the register which is right."
    ]


def test_wages_and_invoices_are_not_paid_together() -> None:
    assert found(stub=STUB + INVOICES) == [
        "amount: found invoices and pay together; wanted one payment for either; divide it in two."
    ]


def test_an_invoices_net_is_gross_less_discount() -> None:
    line = StubLine(Kind.INVOICE, "TT-1", 81240, None, "", "", "", 82000, 670)
    assert found(stub=(line,)) == [
        "invoice 'TT-1', net: found 812.40; wanted 813.30, which is 820.00 less 6.70; ask which is right."
    ]
    other = line._replace(text="TT-2", amount=82000, gross=None)
    assert found(amount=82000, stub=(line._replace(amount=None, discount=None), other)) == [
        "invoice 'TT-1', net: found nothing; wanted 820.00, which is 820.00 less 0.00; ask which is right."
    ]


def test_a_year_to_date_below_this_period_is_a_warning_only() -> None:
    line = StubLine(Kind.EARNING, "Regular", 81240, 80000)
    verdict = judged([GOOD._replace(stub=(line,))])
    assert verdict.faults == ()
    assert [str(w) for w in verdict.warnings] == [
        "payday.csv line 2, earning 'Regular', to date: found 800.00; wanted at least this period's 812.40; "
        "it is right if there was a refund."
    ]


def test_all_the_faults_of_a_payment_are_told_together() -> None:
    bad = GOOD._replace(payee="", amount=-1, date="x", identity="12345", memo="\x07")
    assert len(found(**bad._asdict())) == 5


def test_a_line_with_an_unreadable_amount_is_still_judged_for_the_rest() -> None:
    said = messages("payee,amount,date,earning1,earning1_amount\nAy\u202eLi,x,31/11,Regular,5.00\n")
    assert [message.partition(": ")[0] for message in said] == [
        "payday.csv line 2, amount",
        "payday.csv line 2, date",
        "payday.csv line 2, payee",
    ]
    assert not judged("payee,amount,date\nAy Li,x,2026-11-27\n").complete


def test_a_payment_is_there_once() -> None:
    text = (
        HEADER + LINE + "Ay Li,1.00,2026-11-27,R9\n" + LINE.replace("Niamh", "NIAMH") + "Ay Li,1.00,2026-11-27,\n" * 2
    )
    assert messages(text) == [
        "payday.csv line 4, payee: found the same payee, amount, date and reference as line 2; wanted each payment "
        "once; take it out, or allow the reference 'W48-2101' to be paid again.",
        "payday.csv line 6, payee: found the same payee, amount, date and reference as line 5; wanted each payment "
        "once; take it out, or give each payment a reference of its own.",
    ]
    assert len(messages(text, allow_duplicate=["W48-2101"])) == 1


def test_a_payment_differing_in_any_one_fact_is_another() -> None:
    others = [
        GOOD._replace(payee="Ay Li"),
        GOOD._replace(amount=81241),
        GOOD._replace(date="2026-11-28"),
        GOOD._replace(reference="W48-2102"),
    ]
    assert messages([GOOD, *others]) == []


def test_a_payment_of_an_earlier_batch_is_refused_unless_allowed_by_name() -> None:
    def earlier(payment: Payment) -> str:
        return "number 100412 of batch 12" if payment.reference == "W48-2101" else ""

    before = PaidBefore(earlier)

    assert messages(HEADER + LINE, before=before) == [
        "payday.csv line 2, payee: found the same payee, amount, date and reference as number 100412 of batch 12; "
        "wanted each payment once; take it out, or allow the reference 'W48-2101' to be paid again."
    ]
    assert messages(HEADER + LINE, before=before, allow_duplicate=["W48-2101"]) == []
    assert messages(HEADER + LINE.replace("2101", "2102"), before=before) == []


def test_gaps_and_steps_back_in_the_expected_numbers_are_noted() -> None:
    numbers = ["100501", "100502", "100504", "100508", "100507", "", "100508"]
    rows = "".join(f"Ay Li,{item}.00,2026-11-27,{number}\n" for item, number in enumerate(numbers, 1))
    verdict = judged("payee,amount,date,number\n" + rows)
    assert verdict.faults == ()
    assert verdict.notes == (
        "payday.csv line 4, number: the register expects 100504 after 100502; 100503 is left out.",
        "payday.csv line 5, number: the register expects 100508 after 100504; 100505 to 100507 are left out.",
        "payday.csv line 6, number: the register expects 100507 after 100508, which does not go up.",
        "1 of 7 payments carry no expected number.",
    )


def test_advices_are_items_but_no_money_out() -> None:
    text = "payee,amount,date,paid_by\nAy Li,5.00,2026-11-27,\nZoë,7.00,2026-11-27,transfer\nNed,0.00,2026-11-27,\n"
    verdict = judged(text)
    totals = verdict.totals
    assert (totals.item_count, totals.control_total, totals.advices, totals.transfer_total) == (3, 500, 2, 700)
    assert verdict.notes == (
        "2 payments are advices: counted as items, but not in the control total; 7.00 of the register goes by "
        "transfer.",
    )


def test_the_verdict_may_be_asked_again() -> None:
    judge = Judge(reading())
    judge.hear(GOOD._replace(role=Role.ADVICE))
    assert judge.verdict() == judge.verdict()
    assert Judge(reading()).verdict().fault_count == 1


def test_a_register_without_payments_is_refused() -> None:
    assert messages(HEADER) == ["payday.csv: found no payments; wanted one at least."]


def test_the_first_hundred_faults_are_kept_and_the_others_counted() -> None:
    verdict = judged(HEADER + "Ay Li,x,2026-11-27,R1\n" * 250)
    assert (len(verdict.faults), verdict.fault_count) == (100, 250)
    with pytest.raises(InputRefused) as refusal:
        verdict.refuse("payday.csv")
    assert refusal.value.status == 3
    assert str(refusal.value).startswith("payday.csv is refused: 250 faults.\n  payday.csv line 2, amount")
    assert str(refusal.value).endswith("… and 150 more.")


def test_a_fault_that_somebody_else_found_is_counted_with_the_others() -> None:
    judge = Judge(reading())
    assert judge.hear(GOOD)
    judge.refuse(Fault("payday.csv line 2, payee", "too long a name", "at most 40 characters"))
    with pytest.raises(InputRefused, match="1 fault"):
        judge.verdict().refuse("payday.csv")


def test_every_check_is_in_a_list() -> None:
    listed = {check.__name__ for check in (*checks.ALL_CHECKS, *checks.WARNINGS)}
    written = {
        name
        for name, thing in vars(checks).items()
        if getattr(thing, "__annotations__", {}).get("payment") is Payment
        and thing.__annotations__["return"] == list[Fault]
    }
    assert listed == written
