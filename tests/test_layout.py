"""Payment and form to page: everything in its place, closed, whole, or refused with its field and payee."""

from dataclasses import replace

import pytest
from form.small_form import small
from hypothesis import event, given, settings
from hypothesis import strategies as st

from cheque import fill, layout, library, money, wording
from cheque import language as languages
from cheque.form import Field, Form, places
from cheque.form.feeding import feeding
from cheque.form.model import Column, Table, When
from cheque.form.what import COLUMNS, WHAT
from cheque.language import Look
from cheque.layout import Drawer, LayoutError, values
from cheque.page import Mark, Page, Slot
from cheque.payment import Kind, Payment, Role, StubLine
from cheque.units import INCH

PAYROLL = library.read("payroll-us")
DRAWER = Drawer(
    name="Quillmere Boatyard, Inc.",
    address=("1 Slipway Lane", "Quillmere, QM 00411"),
    bank="Quillmere Harbour Bank",
    account_masked="******4321",
    currency="USD",
    locale="en_US",
    two_signatures_over=500_000,
    place="Quillmere",
    stale_after_days=180,
)
STUB = (
    StubLine(Kind.EARNING, "Regular", 111_400, 5_217_698, "40.00", "27.85"),
    StubLine(Kind.EARNING, "Overtime", 8_354, 229_735, "2.00", "41.77"),
    StubLine(Kind.DEDUCTION, "Income tax, federal", 11_987, 554_127),
    StubLine(Kind.DEDUCTION, "Refund, tool fund", -350, 16_450),
    StubLine(Kind.EMPLOYER, "Pension, employer's share", 4_790, 216_350),
    StubLine(Kind.NOTE, "Yard closed 24 December to 1 January."),
)
NIAMH = Payment(
    item=3,
    payee="Niamh O'Dunmarrow",
    amount=108_117,
    date="2026-11-27",
    reference="W48-2101",
    address=("22 Slipway Lane", "Quillmere, QM 00416"),
    employee="2101",
    identity="9921",
    department="Joinery",
    period_from="2026-11-16",
    period_to="2026-11-22",
    stub=STUB,
    line=4,
)


def page_of(payment: Payment, form: Form = PAYROLL, drawer: Drawer = DRAWER) -> Page:
    (page,) = layout.lay_out(payment, form, drawer)
    return page


def struck(marks: tuple[Mark, ...], form: Form = PAYROLL) -> list[str]:
    """The printed lines of a page whose marks stand on the chart."""
    lines = [[" "] * 90 for _ in range(form.paper.length // form.grid.spacing + 1)]
    for mark in marks:
        line, first = mark.y // form.grid.spacing, mark.x // form.grid.pitch
        for offset, character in enumerate(mark.text):
            if character != " ":
                assert lines[line][first + offset] == " ", f"{mark} is struck over something"
                lines[line][first + offset] = character
    return ["".join(line).rstrip() for line in lines]


def shown(name: str, page: Page, form: Form = PAYROLL) -> list[str]:
    """What stands in a field's cells, line by line."""
    place = next(place for place in places(form) if place.name == name)
    first = (place.area.left - form.grid.left) // form.grid.pitch
    width = place.area.width // form.grid.pitch
    lines = place.area.height // form.grid.spacing
    text = struck(page.marks, form)[place.line - 1 : place.line - 1 + lines]
    return [line.ljust(first + width)[first : first + width] for line in text]


def faults_of(payment: Payment, form: Form = PAYROLL, drawer: Drawer = DRAWER) -> list[str]:
    with pytest.raises(LayoutError) as caught:
        layout.lay_out(payment, form, drawer)
    assert caught.value.status == 3
    return [str(fault) for fault in caught.value.faults]


# ---------------------------------------------------------------- what stands where


def test_a_cheque_with_its_stub() -> None:
    """The whole page, as it is struck: read it with a spacing chart beside."""
    page = page_of(NIAMH)
    assert struck(page.numbered("100501"))[:38] == [
        "",
        "Quillmere Boatyard, Inc.                                              100501",
        "1 Slipway Lane, Quillmere, QM 00411                                   11/27/2026",
        "",
        "       Niamh O'Dunmarrow                               Joinery",
        "       2101             9921                           11/16/2026 - 11/22/2026",
        "",
        "",
        "Regular                    40.00   27.85  1,114.00                     52,176.98",
        "Overtime                    2.00   41.77     83.54                      2,297.35",
        "Income tax, federal                                   119.87            5,541.27",
        "Refund, tool fund                                      -3.50              164.50",
        "Pension, employer's share                                       47.90   2,163.50",
        "",
        "",
        "",
        "",
        "",
        "",
        "",
        "",
        "Yard closed 24 December to 1 January.           1,197.54      116.37    1,081.17",
        "                                               54,474.33    5,705.77   48,768.56",
        "",
        "",
        "Quillmere Boatyard, Inc.                                              100501",
        "1 Slipway Lane, Quillmere, QM 00411                           W48-2101",
        "Quillmere Harbour Bank                                                11/27/2026",
        "",
        "     One thousand eighty-one and 17/100********************",
        "     ******************************************************       *****$1,081.17",
        "",
        "     Niamh O'Dunmarrow***********************",
        "     22 Slipway Lane",
        "     Quillmere, QM 00416",
        "",
        "",
        "",
    ]


def test_the_forms_number_is_a_place_and_not_yet_a_number() -> None:
    page = page_of(NIAMH)
    column, line = INCH // 10, INCH // 6
    assert page.slots == (Slot(70 * column, line, column, 0, 10), Slot(70 * column, 25 * line, column, 0, 10))
    assert not any("100501" in mark.text for mark in page.marks)


def test_the_page_is_the_same_every_time() -> None:
    assert page_of(NIAMH) == page_of(NIAMH)


def test_the_look_is_what_the_languages_are_told() -> None:
    assert layout.look(PAYROLL) == Look(7 * INCH, INCH // 6, "draft", False)


def test_two_signatures_are_wanted_over_the_limit_and_not_at_it() -> None:
    stubless = NIAMH._replace(stub=())
    assert "TWO SIGNATURES REQUIRED" not in str(page_of(stubless._replace(amount=500_000)))
    assert "TWO SIGNATURES REQUIRED" in str(page_of(stubless._replace(amount=500_001)))
    without = DRAWER._replace(two_signatures_over=None)
    assert "TWO SIGNATURES REQUIRED" not in str(page_of(stubless._replace(amount=99_999_999), drawer=without))


def test_a_limit_in_the_form_is_an_amount_of_the_accounts_currency() -> None:
    form = small(('over = "two signatures"', 'over = "25.50"'))
    plain = Payment(1, "Ay Li", 2_550, "2026-11-27", "W48")
    assert "TWO SIGNATURES" not in str(page_of(plain, form))
    assert "TWO SIGNATURES" in str(page_of(plain._replace(amount=2_551), form))
    up_to = small(('when = { roles = ["cheque"], over = "two signatures" }', 'when = { up_to = "25.50" }'))
    assert "TWO SIGNATURES" in str(page_of(plain, up_to))
    assert "TWO SIGNATURES" not in str(page_of(plain._replace(amount=2_551), up_to))


def test_all_conditions_of_a_constant_hold_together() -> None:
    between = small(('over = "two signatures"', 'over = "25.50", up_to = "99.00"'))
    plain = Payment(1, "Ay Li", 2_550, "2026-11-27", "W48")
    for amount, times in ((2_550, 0), (2_551, 1), (9_900, 1), (9_901, 0)):
        assert str(page_of(plain._replace(amount=amount), between)).count("TWO SIGNATURES") == times


def test_a_message_to_all_stands_from_its_first_day_to_its_last() -> None:
    form = small(('roles = ["cheque"], over = "two signatures"', 'since = "2026-12-01", until = "2026-12-24"'))
    days = {"2026-11-30": 0, "2026-12-01": 1, "2026-12-24": 1, "2026-12-25": 0}
    for day, times in days.items():
        assert str(page_of(Payment(1, "Ay Li", 5, day, ""), form)).count("TWO SIGNATURES") == times


def test_a_message_to_some_departments_stands_on_their_forms_alone() -> None:
    form = small(('roles = ["cheque"], over = "two signatures"', 'departments = ["Rigging", "Sail loft"]'))
    for department, times in {"Rigging": 1, "Sail loft": 1, "Office": 0, "": 0}.items():
        payment = Payment(1, "Ay Li", 5, "2026-11-27", "", department=department)
        assert str(page_of(payment, form)).count("TWO SIGNATURES") == times


def test_a_constant_says_after_how_many_days_the_accounts_cheques_are_stale() -> None:
    form = small(
        ('text = "TWO SIGNATURES"', 'text = "VOID AFTER {days} DAYS"'), ('over = "two signatures"', 'over = "0"')
    )
    assert "VOID AFTER 180 DAYS" in str(page_of(NIAMH._replace(stub=()), form))
    assert form.constants[0].width == len("VOID AFTER 0000 DAYS")
    (told,) = faults_of(NIAMH, form, DRAWER._replace(stale_after_days=None))
    assert "state stale_after_days for the account" in told


def test_the_place_of_issue_is_the_accounts_and_must_be_stated_where_a_form_shows_it() -> None:
    form = small(('what = "address"', 'what = "place"'), ("width = 30\nlines = 4", "width = 30"))
    assert shown("place", page_of(NIAMH._replace(stub=()), form), form) == ["Quillmere".ljust(30)]
    (told,) = faults_of(NIAMH, form, DRAWER._replace(place=""))
    assert "field place of small: found nothing; wanted the place of issue; add place" in told


SLIP = (
    ('roles = ["cheque", "advice"]', "payable = false"),
    ('when = { roles = ["cheque"], over = "two signatures" }', 'when = { over = "1000.00" }'),
)


def test_a_paper_that_pays_nothing_shows_its_amounts_and_is_never_money_out() -> None:
    form = small(*SLIP)
    bought = Payment(1, "Ay Li", 2_550, "2026-11-27", "W48")
    borne = form.bears(bought)
    assert borne.role is Role.ADVICE
    assert form.bears(borne) is borne
    assert small().bears(bought) is bought
    page = page_of(borne, form)
    assert shown("amount_figures", page, form) == ["*********$25.50"]
    assert shown("amount_words", page, form)[0] == "Twenty-five and 50/100".ljust(50, "*")
    assert shown("signature", page, form) == [" " * 25]
    assert "a cheque; wanted a advice" in faults_of(bought, form)[0]


def test_words_too_long_for_one_line_go_on_in_the_second_and_both_are_closed() -> None:
    page = page_of(NIAMH._replace(amount=77_777_777, stub=()), PAYROLL)
    assert shown("amount_words", page) == [
        "Seven hundred seventy-seven thousand seven hundred****",
        "seventy-seven and 77/100******************************",
    ]


def test_words_too_long_for_their_lines_are_written_in_the_next_shorter_lawful_way() -> None:
    pounds = DRAWER._replace(currency="GBP", locale="en_GB")
    cheque = Payment(1, "Ay Li", 123_456, "2026-11-27", "W48")
    narrow = small(
        ("column = 2\nwidth = 50\nlines = 2", "column = 2\nwidth = 60"),
        ("line = 14\ncolumn = 60", "line = 13\ncolumn = 60"),
    )
    assert shown("amount_words", page_of(cheque, narrow, pounds), narrow) == [
        "One thousand two hundred and thirty-four pounds and 56p only"
    ]


def test_words_that_fit_in_no_lawful_way_are_refused_and_never_shortened() -> None:
    narrow = small(("column = 2\nwidth = 50\nlines = 2", "column = 2\nwidth = 20"))
    (told,) = faults_of(NIAMH._replace(stub=(), amount=123_456), narrow)
    assert "field amount_words of small: found 'Twelve hundred thirty-four and 56/100', 37 characters" in told
    figures = small(("column = 60\nwidth = 15", "column = 60\nwidth = 8"))
    (told,) = faults_of(NIAMH._replace(stub=(), amount=123_456), figures)
    assert "field amount_figures of small: found '$1,234.56', 9 characters; wanted at most 8 characters" in told


def test_a_form_may_have_figures_without_words_or_words_without_figures() -> None:
    for kept, dropped in (("amount_words", "amount_figures"), ("amount_figures", "amount_words")):
        form = replace(small(), fields=tuple(f for f in small().fields if f.what != dropped))
        for payment in (NIAMH._replace(stub=()), NIAMH._replace(stub=(), amount=0)):
            assert shown(kept, page_of(payment, form), form)[0].strip("*")
    assert "amount_figures" in faults_of(NIAMH._replace(stub=(), amount=10**17), form)[0]


def test_amounts_may_be_left_open_on_a_form_that_is_no_cheque() -> None:
    open_fields = tuple(replace(f, fill="") if f.what == "amount_words" else f for f in small().fields)
    page = page_of(NIAMH._replace(stub=()), replace(small(), fields=open_fields))
    assert shown("amount_words", page, small()) == ["One thousand eighty-one and 17/100".ljust(50), " " * 50]


def test_every_open_column_of_amount_and_payee_is_closed() -> None:
    page = page_of(NIAMH)
    for name in ("amount_words", "amount_figures", "payee"):
        assert all(" " not in line.strip() or name != "amount_figures" for line in shown(name, page))
        assert all(line == line.strip() for line in shown(name, page))


def test_a_payee_on_two_lines_is_broken_at_a_blank_and_both_are_closed() -> None:
    two = small(
        (
            'what = "payee"\nline = 17\ncolumn = 2\nwidth = 30',
            'what = "payee"\nline = 16\ncolumn = 2\nwidth = 20\nlines = 2',
        )
    )
    page = page_of(Payment(1, "Tarn & Tiller Chandlery", 1, "2026-11-27", ""), two)
    assert shown("payee", page, two) == ["Tarn & Tiller*******", "Chandlery***********"]
    page = page_of(Payment(1, "Ay Li", 1, "2026-11-27", ""), two)
    assert shown("payee", page, two) == ["Ay Li***************", "*" * 20]
    (told,) = faults_of(Payment(1, "Hollowbeam Timber Co-operative of Upper Quillmere", 1, "2026-11-27", ""), two)
    assert "wanted at most 2 lines of 20 characters" in told


def test_a_field_may_be_centred_pushed_right_dressed_and_in_capitals() -> None:
    form = small(
        ('what = "address"', 'what = "reference"\nalign = "right"\nprefix = "Ref. "\nsuffix = " /"'),
        ("width = 30\nlines = 4", "width = 30"),
        ('what = "payee"\n', 'what = "payee"\nalign = "centre"\ncase = "upper"\nfill = "="\n'),
    )
    page = page_of(Payment(1, "Björn Saltängen", 2_550, "2026-11-27", "W48-2107"), form)
    assert shown("payee", page, form) == ["=======BJÖRN SALTÄNGEN========"]
    assert shown("reference", page, form) == ["Ref. W48-2107 /".rjust(30)]
    assert shown("reference", page_of(Payment(1, "Ay Li", 1, "2026-11-27", ""), form), form) == [" " * 30]


def test_an_address_of_several_lines_stands_line_by_line_and_is_joined_where_there_is_one() -> None:
    assert shown("address", page_of(NIAMH))[:2] == ["22 Slipway Lane".ljust(40), "Quillmere, QM 00416".ljust(40)]
    assert "1 Slipway Lane, Quillmere, QM 00411" in struck(page_of(NIAMH).marks)[26]


def test_half_a_period_says_which_half() -> None:
    assert shown("period", page_of(NIAMH._replace(period_to="")))[0].strip() == "11/16/2026 -"
    assert shown("period", page_of(NIAMH._replace(period_from="")))[0].strip() == "- 11/22/2026"
    assert shown("period", page_of(NIAMH._replace(period_from="", period_to="")))[0].strip() == ""


def test_a_note_too_long_for_its_line_goes_on_in_the_next() -> None:
    note = StubLine(Kind.NOTE, "Please hand in your yard keys before the winter holidays.")
    assert [line.rstrip() for line in shown("notes.text", page_of(NIAMH._replace(stub=(note,))))] == [
        "Please hand in your yard keys before",
        "the winter holidays.",
    ]


def test_sums_are_shown_only_when_every_line_has_what_is_summed() -> None:
    line = StubLine(Kind.EARNING, "Regular", 100_000, None)
    page = page_of(NIAMH._replace(stub=(line,), amount=100_000))
    assert [shown(name, page)[0].strip() for name in ("gross", "deductions", "net")] == ["1,000.00", "0.00", "1,000.00"]
    assert [shown(f"{name}_to_date", page)[0].strip() for name in ("gross", "deductions", "net")] == ["", "", ""]
    bare = page_of(NIAMH._replace(stub=()))
    assert [shown(name, bare)[0].strip() for name in ("gross", "deductions", "net")] == ["", "", "1,081.17"]
    no_deduction = page_of(NIAMH._replace(stub=(line._replace(to_date=900_000),), amount=100_000))
    assert [shown(f"{n}_to_date", no_deduction)[0].strip() for n in ("gross", "deductions", "net")] == [
        "9,000.00",
        "0.00",
        "9,000.00",
    ]


def test_what_stands_beside_a_sum_is_struck_with_it_and_not_without_it() -> None:
    form = library.read("advice-us")
    advice = NIAMH._replace(role=Role.ADVICE)
    (page,) = layout.lay_out(advice, form, DRAWER)
    assert [mark.text for mark in page.marks if "$" in mark.text] == ["$1,081.17"]
    (page,) = layout.lay_out(advice._replace(amount=0, stub=()), form, DRAWER)
    assert not [mark.text for mark in page.marks if "$" in mark.text]


SUPPLIER = replace(
    small(),
    tables=(
        Table(
            "invoices",
            (Kind.INVOICE,),
            4,
            4,
            (
                Column("date", 2, 10, "left", "DD.MM.YYYY"),
                Column("text", 13, 12, "centre"),
                Column("gross", 26, 12, "right"),
                Column("discount", 39, 10, "right"),
                Column("amount", 50, 12, "right"),
            ),
        ),
    ),
    fields=(
        *small().fields,
        Field("invoices", "invoices", 9, 26, 12, align="right"),
        Field("discounts", "discounts", 9, 39, 10, align="right"),
    ),
)


def test_invoices_with_date_gross_discount_and_net() -> None:
    stub = (
        StubLine(Kind.INVOICE, "TT-4471", 47_246, date="2026-10-28", gross=48_210, discount=964),
        StubLine(Kind.INVOICE, "TT-4503 CR", -8_600, date="2026-11-10", gross=-8_600, discount=0),
    )
    page = page_of(Payment(1, "Tarn & Tiller Chandlery", 38_646, "2026-11-30", "26110307", stub=stub), SUPPLIER)
    lines = struck(page.marks, SUPPLIER)
    assert lines[3] == " 28.10.2026   TT-4471          482.10       9.64       472.46"
    assert lines[4] == " 10.11.2026  TT-4503 CR        -86.00       0.00       -86.00"
    assert lines[8] == "                               396.10       9.64"


@pytest.mark.parametrize(
    ("currency", "locale", "amount", "written"),
    [
        ("USD", "en_US", 123_456_789, "1,234,567.89"),
        ("KWD", "en_GB", 1_234_567, "1,234.567"),
        ("JPY", "en_US", 1_234_567, "1,234,567"),
        ("INR", "en_IN", 123_456_789, "12,34,567.89"),
        ("USD", "en_US", -5, "-0.05"),
        ("INR", "en_IN", -123_456_789, "-12,34,567.89"),
    ],
)
def test_amounts_of_a_stub_are_written_as_the_country_does(
    currency: str, locale: str, amount: int, written: str
) -> None:
    assert values.figures_of(currency, locale)(amount) == written


@given(st.integers(0, 10**15))
def test_the_quick_way_to_write_an_amount_is_the_styles_way(minor: int) -> None:
    assert values.figures_of("USD", "en_US")(minor) == wording.figures(minor, "USD", "en_US")
    assert values.figures_of("USD", "en_US")(-minor) in {"-" + wording.figures(minor, "USD", "en_US"), "0.00"}


# ---------------------------------------------------------------- advices, VOID, alignment


@pytest.mark.parametrize("payment", [NIAMH._replace(role=Role.ADVICE), NIAMH._replace(amount=0)])
def test_an_advice_can_never_be_paid(payment: Payment) -> None:
    page = page_of(payment)
    assert shown("amount_words", page) == ["NON-NEGOTIABLE" + "*" * 40, "*" * 54]
    assert shown("amount_figures", page) == ["**********VOID"]
    assert shown("signature", page) == shown("second-signature", page) == ["VOID*VOID*VOID*VOID*VOID*VOID"]
    assert shown("payee", page) == ["Niamh O'Dunmarrow" + "*" * 23]
    assert shown("net", page)[0].strip() == money.plain(payment.amount, "USD").replace("1081", "1,081")


def test_an_advice_on_its_own_stock_needs_no_void() -> None:
    form = small(('["cheque", "advice"]', '["advice"]'), ('when = { roles = ["cheque"], over', "when = { over"))
    page = page_of(NIAMH._replace(role=Role.ADVICE, stub=()), form)
    assert "VOID" not in str(page)
    assert shown("amount_figures", page, form) == ["*" * 15]
    assert shown("amount_words", page, form)[0].startswith("NON-NEGOTIABLE***")


def test_a_form_that_takes_no_advice_refuses_one() -> None:
    form = small(('["cheque", "advice"]', '["cheque"]'))
    (told,) = faults_of(NIAMH._replace(amount=0, stub=()), form)
    assert told.startswith("payment 3 (Niamh O'Dunmarrow), register line 4, field roles of small: found an advice")
    (told,) = faults_of(NIAMH._replace(role=Role.CONTINUATION, stub=()), form)
    assert "found a continuation; wanted a cheque: the form takes no other" in told


def test_void_goes_through_payee_amount_and_signature_and_the_number_is_still_struck() -> None:
    page = layout.void_page(PAYROLL)
    for name in ("payee", "amount_words", "amount_figures", "signature", "second-signature"):
        assert all("VOID" in line and " " not in line for line in shown(name, page))
    assert page.slots == page_of(NIAMH).slots
    assert PAYROLL.cheque is not None
    top = PAYROLL.cheque.area.top - PAYROLL.grid.top
    assert all(mark.y >= top for mark in page.marks)
    assert layout.void_page(replace(PAYROLL, cheque=None)).marks == ()


def test_a_field_too_narrow_for_void_is_crossed_out() -> None:
    narrow = replace(
        SUPPLIER, fields=tuple(replace(f, width=3) if f.what == "signature" else f for f in SUPPLIER.fields)
    )
    assert shown("signature", layout.void_page(narrow), narrow) == ["XXX"]


@pytest.mark.parametrize("form", [PAYROLL, small(), SUPPLIER])
def test_the_alignment_page_shows_the_corners_of_every_place_and_stays_out_of_the_clear_band(form: Form) -> None:
    page = layout.alignment_page(form)
    lines = struck(page.marks, form)
    for place in places(form):
        first = (place.area.left - form.grid.left) // form.grid.pitch
        last = first + place.area.width // form.grid.pitch - 1
        text = lines[place.line - 1]
        assert text[first] in "[+"
        assert text[last] in "]+"
    assert form.cheque is not None
    assert all(mark.y + form.grid.top + form.grid.spacing <= form.cheque.clear_band.top for mark in page.marks)
    assert "  10|" in lines[0]
    assert page.slots == ()


def test_the_rulers_keep_out_of_the_clear_band_of_a_cheque_above_its_stub_too() -> None:
    assert PAYROLL.cheque is not None
    area = PAYROLL.cheque.area
    above = replace(PAYROLL, cheque=replace(PAYROLL.cheque, area=replace(area, top=0)), fields=(), tables=())
    page = layout.alignment_page(above)
    assert above.cheque is not None
    band = above.cheque.clear_band
    assert all(mark.y + PAYROLL.grid.spacing <= band.top or mark.y >= band.bottom for mark in page.marks)
    assert any(mark.y >= band.bottom for mark in page.marks)


def test_the_corners_of_a_field_of_another_pitch_stand_on_its_own_cells() -> None:
    form = small(('prefix = "$"', 'pitch = "12 to the inch"'))
    left, right = [mark for mark in layout.alignment_page(form).marks if mark.pitch == INCH // 12]
    assert (left.text, right.text) == ("[", "]")
    assert right.x - left.x == 14 * INCH // 12


# ---------------------------------------------------------------- what does not fit


REFUSED = [
    (
        {"payee": "Marisol Quiñónez de la Ribera-Whitcombe y Salinas"},
        ["field payee of payroll-us", "49 characters; wanted at most 40"],
    ),
    ({"payee": "Ay  Li"}, ["field payee of payroll-us", "opening in itself"]),
    (
        {"reference": "W" * 19},
        ["field reference", "19 characters; wanted at most 18 characters; shorten it at the source"],
    ),
    ({"department": "x" * 26}, ["field department", "26 characters"]),
    ({"address": ("a", "b", "c", "d", "e")}, ["field address", "5 lines: a, b, c, d, e; wanted at most 4 lines"]),
    ({"address": ("a" * 41,)}, ["field address", "41 characters"]),
    ({"amount": 100_000_000_000_000_00}, ["field amount_words", "is more than the words go to"]),
    ({"stub": STUB * 3}, ["field stub of payroll-us: found 15 lines; wanted at most 11", "no line is ever left out"]),
    ({"stub": (STUB[0]._replace(text="T" * 26),)}, ["field stub.text", "'TTTTTTTTTTTTTTTTTTTTTTTTTT', 26 characters"]),
    (
        {"stub": (STUB[0]._replace(amount=123_456_789),)},
        ["field stub.amount", "'1,234,567.89' of 'Regular', 12 characters; wanted at most 9"],
    ),
    ({"stub": (STUB[0]._replace(rate="1234.5678"),)}, ["field stub.rate", "'1234.5678' of 'Regular'"]),
    (
        {"stub": (StubLine(Kind.INVOICE, "TT-4471", 5),)},
        ["field stub of", "invoice line 'TT-4471'; wanted lines of the kinds that the form has"],
    ),
    ({"stub": (StubLine(Kind.NOTE, "n" * 38),)}, ["field notes", "38 characters; wanted at most 37"]),
    ({"stub": (StubLine(Kind.NOTE, "one two three " * 9),)}, ["field notes", "lines; wanted at most 2"]),
    ({"stub": (STUB[0]._replace(amount=1, to_date=10**12),)}, ["field stub.to_date", "field gross_to_date"]),
]


@pytest.mark.parametrize(("change", "said"), REFUSED)
def test_what_does_not_fit_is_refused_with_field_and_payee(change: dict[str, object], said: list[str]) -> None:
    payment = NIAMH._replace(**change)  # type: ignore[arg-type]
    told = faults_of(payment)
    assert all(fault.startswith(f"payment 3 ({payment.payee}), register line 4, field ") for fault in told)
    for piece in said:
        assert piece in "\n".join(told)


def test_everything_of_a_payment_that_does_not_fit_is_told_together() -> None:
    told = faults_of(NIAMH._replace(payee="N" * 41, department="D" * 26, reference="R" * 19, stub=STUB * 3))
    assert [fault.split(", field ")[1].split(" of ")[0] for fault in told] == [
        "stub-payee",
        "department",
        "reference",
        "payee",
        "stub",
        "notes",
    ]


def test_a_place_on_the_stub_is_too_narrow_though_the_cheque_has_room() -> None:
    wide = replace(PAYROLL, fields=tuple(replace(f, width=45) if f.name == "payee" else f for f in PAYROLL.fields))
    (told,) = faults_of(NIAMH._replace(payee="N" * 41), wide)
    assert "field stub-payee of payroll-us" in told


ACCOUNTS = [
    ({"currency": "CAD"}, ["field currency of payroll-us: found CAD; wanted USD"]),
    ({"locale": "xx_XX"}, ["field amount_words", "'xx_XX' has no wording"]),
    ({"substitute": "spelled"}, ["field amount_words", "'spelled' is no substitute"]),
    ({"name": "Q" * 45}, ["field stub-drawer", "45 characters; wanted at most 44", "field drawer_name"]),
    ({"bank": "B" * 45}, ["field bank", "45 characters"]),
    (
        {"address": ("1 Slipway Lane, Upper Quillmere", "Quillmere Haven, QM 00411")},
        ["field stub-drawer-address", "58 characters"],
    ),
]


@pytest.mark.parametrize(("change", "said"), ACCOUNTS)
def test_an_account_that_does_not_fit_is_told_once_and_not_for_each_payment(
    change: dict[str, object], said: list[str]
) -> None:
    drawer = DRAWER._replace(**change)  # type: ignore[arg-type]
    told = faults_of(NIAMH, drawer=drawer)
    assert told == faults_of(NIAMH._replace(item=4, payee="Ay Li"), drawer=drawer)
    assert all(fault.startswith(f"account of {drawer.name}, field ") for fault in told)
    assert len(told) == len(set(told))
    for piece in said:
        assert piece in "\n".join(told)


def test_a_limit_that_is_no_amount_of_the_currency_is_told() -> None:
    form = small(('over = "two signatures"', 'over = "25.505"'))
    (told,) = faults_of(NIAMH._replace(stub=()), form)
    assert "field TWO SIGNATURES of small: found '25.505' has 3 decimals, but USD has 2" in told


# ---------------------------------------------------------------- properties


letters = st.sampled_from("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789'-.,&/éöüñçß")
words = st.text(letters, min_size=1, max_size=14)


def texts(most: int) -> st.SearchStrategy[str]:
    return st.lists(words, min_size=1, max_size=4).map(" ".join).filter(lambda text: len(text) <= most)


amounts = st.integers(1, 9_999) | st.integers(1, 10**9) | st.integers(1, 10**12)
days = st.dates().map(lambda day: day.isoformat()).filter(lambda text: len(text) == 10)
stub_lines = st.builds(
    StubLine,
    kind=st.sampled_from([Kind.EARNING, Kind.EARNING, Kind.DEDUCTION, Kind.DEDUCTION, Kind.EMPLOYER, Kind.NOTE]),
    text=texts(25),
    amount=st.none() | st.integers(-(10**5), 10**6 - 1),
    to_date=st.none() | st.integers(-(10**6), 10**7 - 1),
    hours=st.sampled_from(["", "40.00", "7.5", "160.00"]),
    rate=st.sampled_from(["", "27.85", "28.5000"]),
)
payments = st.builds(
    Payment,
    item=st.integers(1, 10_000),
    payee=texts(45),
    amount=amounts | st.just(0),
    date=days,
    reference=texts(20),
    role=st.sampled_from([Role.CHEQUE, Role.CHEQUE, Role.ADVICE]),
    address=st.lists(texts(42), max_size=5).map(tuple),
    employee=texts(11) | st.just(""),
    department=texts(26) | st.just(""),
    period_from=days,
    period_to=days,
    stub=st.lists(stub_lines, max_size=9).map(tuple),
)


@settings(max_examples=150, deadline=None)
@given(payments)
def test_a_payment_lies_wholly_inside_its_fields_or_is_refused(payment: Payment) -> None:
    try:
        page = page_of(payment)
    except LayoutError as error:
        event("refused")
        refused = error
    else:
        refused = None
    if refused is not None:
        assert refused.faults
        assert all(payment.payee in fault.where for fault in refused.faults)
        return
    cells = [place.area for place in places(PAYROLL)]
    assert PAYROLL.cheque is not None
    for mark in page.marks:
        for offset, character in enumerate(mark.text):
            if character == " ":
                continue
            x, y = mark.x + offset * mark.pitch + PAYROLL.grid.left, mark.y + PAYROLL.grid.top
            assert any(a.left <= x < a.right and a.top <= y < a.bottom for a in cells), (mark, offset)
            assert y + PAYROLL.grid.spacing <= PAYROLL.cheque.clear_band.top
    struck(page.numbered("1234567890"))  # which finds nothing struck over anything else


@settings(max_examples=150, deadline=None)
@given(payments)
def test_every_letter_of_the_payee_and_every_figure_is_there_and_nothing_else_in_its_field(payment: Payment) -> None:
    try:
        page = page_of(payment)
    except LayoutError:
        return
    assert shown("payee", page)[0] == fill.closed(payment.payee, 40, "left", "*")
    assert shown("stub-payee", page)[0].rstrip() == payment.payee
    figures, words_shown = shown("amount_figures", page)[0], shown("amount_words", page)
    if payment.role is Role.ADVICE or not payment.amount:
        assert figures.strip("*") == "VOID"
        assert not any(character.isdigit() for line in words_shown for character in line)
        return
    assert money.parse(figures.strip("*").removeprefix("$"), "USD", group=",") == payment.amount
    said = wording.word(payment.amount, "USD", "en_US")
    assert " ".join(filter(None, (line.strip("*") for line in words_shown))) in (said.legal, *said.shorter)
    assert shown("address", page)[: len(payment.address)] == [line.ljust(40) for line in payment.address]


@settings(max_examples=100, deadline=None)
@given(payments)
def test_no_line_of_a_stub_is_ever_lost(payment: Payment) -> None:
    try:
        page = page_of(payment)
    except LayoutError:
        return
    listed = [line.rstrip() for line in shown("stub.text", page)]
    assert (
        listed[: len(listed)] == ([line.text for line in payment.stub if line.kind is not Kind.NOTE] + [""] * 11)[:11]
    )
    notes = " ".join(line.strip() for line in shown("notes.text", page)).split()
    assert notes == " ".join(line.text for line in payment.stub if line.kind is Kind.NOTE).split()


@pytest.mark.parametrize("what", sorted(WHAT))
def test_everything_that_a_field_can_show_can_be_laid_out(what: str) -> None:
    field = Field("it", what, 1, 1, 60, lines=1, pattern="YYYY-MM-DD" if WHAT[what].kind == "date" else "")
    if WHAT[what].kind in {"words", "figures", "name"}:
        field = replace(field, fill="*")
    form = replace(small(), fields=(field,), tables=SUPPLIER.tables, constants=())
    stub = (
        StubLine(Kind.EARNING, "Regular", 5, 6),
        StubLine(Kind.DEDUCTION, "Tools", 1, 2),
        StubLine(Kind.INVOICE, "TT", 5, gross=6, discount=1),
    )
    payment = NIAMH._replace(memo="a memo", stub=stub, by_transfer=100)
    form = replace(form, tables=(replace(form.tables[0], shows=(Kind.EARNING, Kind.DEDUCTION, Kind.INVOICE)),))
    page = page_of(payment, form)
    first = [mark for mark in page.marks if mark.y == 0]
    assert bool(page.slots) == (what == "number")
    of_several = {"sheet", "next_number", "first_number", "listed"}  # and this is the only form of its payment
    assert bool(first) == (what not in {"number", "signature", *of_several})


@pytest.mark.parametrize("what", sorted(COLUMNS))
def test_everything_that_a_column_can_show_is_shown(what: str) -> None:
    column = Column(what, 1, 20, COLUMNS[what][0], "DD.MM.YYYY" if what == "date" else "")
    form = replace(small(), fields=(), tables=(Table("t", (Kind.INVOICE,), 1, 1, (column,)),), constants=())
    line = StubLine(Kind.INVOICE, "TT-1", 5, 7, "8.5", "9.5", "2026-11-03", 11, 13)
    wanted = dict(
        zip(COLUMNS, ["TT-1", "8.5", "9.5", "8.5", "9.5", "0.05", "0.07", "03.11.2026", "0.11", "0.13"], strict=True)
    )
    (mark,) = page_of(NIAMH._replace(stub=(line,)), form).marks
    assert mark.text.strip() == wanted[what]


# ---------------------------------------------------------------- the printers


def cells_of(marks: tuple[Mark, ...]) -> set[tuple[int, int, int, int, str]]:
    """Every character struck, in its place."""
    return {
        (mark.x + offset * mark.pitch, mark.y, mark.pitch, mark.weight, character)
        for mark in marks
        for offset, character in enumerate(mark.text)
        if character != " "
    }


@pytest.mark.parametrize("language", languages.NAMES)
@pytest.mark.parametrize("page", [page_of(NIAMH), layout.void_page(PAYROLL), layout.alignment_page(PAYROLL)])
def test_the_payroll_form_can_be_printed_exactly_in_every_language(language: str, page: Page) -> None:
    step = next(row.step for row in feeding(PAYROLL) if row.language == language)
    printer, spoken = languages.Printer(language, step), languages.get(language)
    marks = page.numbered("100501")
    assert spoken.cannot(layout.look(PAYROLL), marks, printer) == []
    data = spoken.encode(marks, layout.look(PAYROLL), printer, PAYROLL.paper.length)
    strikes = spoken.decode(data, printer)
    assert cells_of(strikes.marks) == cells_of(marks)
    assert strikes.advance == PAYROLL.paper.length


# ---------------------------------------------------------------- conditions


whens = st.builds(
    When,
    roles=st.sampled_from(((), (Role.CHEQUE,), (Role.ADVICE,), (Role.CHEQUE, Role.ADVICE))),
    over=st.sampled_from(("", "two signatures", "5.00", "10")),
    up_to=st.sampled_from(("", "two signatures", "5.00", "7.50")),
    departments=st.sampled_from(((), ("Rigging",), ("Office",), ("Rigging", "Office"))),
    since=st.sampled_from(("", "2026-11-01", "2026-12-01")),
    until=st.sampled_from(("", "2026-11-30", "2026-12-31")),
)


@settings(max_examples=300, deadline=None)
@given(
    whens, whens, st.integers(0, 1200), st.sampled_from(("Rigging", "Office", "")), st.sampled_from(("11-15", "12-15"))
)
def test_two_conditions_that_exclude_each_other_never_hold_together(
    one: When, other: When, amount: int, department: str, day: str
) -> None:
    constants = tuple(
        Field(text, "constant", line, 1, len(text), text=text, when=when)
        for line, text, when in ((1, "ONE", one), (2, "TWO", other))
    )
    form = replace(small(), fields=(), tables=(), constants=constants)
    payment = Payment(1, "Ay Li", amount, f"2026-{day}", "", department=department)
    said = str(page_of(payment, form, DRAWER._replace(two_signatures_over=600)))
    assert one.excludes(other) == other.excludes(one)
    assert not (one.excludes(other) and "ONE" in said and "TWO" in said)
