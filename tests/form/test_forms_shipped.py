"""Every form that comes with the tool: usable, printable exactly, fed straight, and nothing to warn of."""

import pytest
from form.samples import SHIPPED, drawer_of, pages_of, payments_of, printers_of, register_of, strikes_of

from cheque import language as languages
from cheque import layout, library, prove
from cheque.form import places
from cheque.form.advise import warnings
from cheque.form.check import check
from cheque.form.feeding import STEPS, feeding
from cheque.form.slack import max_shift
from cheque.language import Printer
from cheque.page import feed_steps
from cheque.payment import Role
from cheque.register.judge import Judge
from cheque.units import INCH

FORMS = {name: library.read(name) for name in SHIPPED}
shipped = pytest.mark.parametrize("name", SHIPPED)
#: what is warned of, and rightly: 92 mm is no whole number of lines
KNOWN = {"cheque-in": ["not to be printed by plain in steps of 1/6 in"]}


def test_the_library_has_a_form_for_each_of_its_trades() -> None:
    """US payroll both ways, advice, remittance, side stub; Canada, Britain, India, France, Germany, euro; papers."""
    assert set(SHIPPED) == {
        *("advice-us", "payroll-us", "payroll-us-above", "remittance-us", "side-stub-us"),
        *("cheque-ca", "cheque-ca-fr", "cheque-gb", "cheque-in", "cheque-fr", "cheque-de", "remittance-eu"),
        *("delivery-note", "petty-cash", "goods-received"),
    }


@shipped
def test_a_shipped_form_can_be_put_to_use_and_has_nothing_to_warn_of(name: str) -> None:
    form = FORMS[name]
    assert check(form) == []
    told = warnings(form)
    assert len(told) == len(KNOWN.get(name, []))
    assert all(told[at].startswith(said) for at, said in enumerate(KNOWN.get(name, [])))


@shipped
def test_the_print_of_a_shipped_form_may_shift_half_a_line_and_half_a_column_each_way(name: str) -> None:
    room = max_shift(FORMS[name])
    assert min(room.left, room.right) >= INCH // 20
    assert min(room.up, room.down) >= INCH // 12


@shipped
def test_its_register_is_right_and_every_payment_of_it_fits(name: str) -> None:
    form = FORMS[name]
    from cheque.register import Reading

    judge = Judge(Reading(register_of(form).name, drawer_of(form).currency))
    assert all(judge.hear(payment) for payment in payments_of(form)), judge.verdict().faults
    for payment in payments_of(form):
        assert layout.lay_out(payment, form, drawer_of(form))
        assert (payment.role is Role.CHEQUE) <= (Role.CHEQUE in form.roles)


@shipped
def test_it_is_read_back_exactly_in_every_language_that_can_print_it_and_the_same_in_all(name: str) -> None:
    form = FORMS[name]
    printers = printers_of(form)
    assert {printer.language for printer in printers} == set(languages.NAMES) - (
        {"plain"} if name == "cheque-in" else set()
    )
    for page in pages_of(form):
        marks = page.numbered("100501")
        seen = set()
        for printer in printers:
            spoken = languages.get(printer.language)
            assert spoken.cannot(layout.look(form), marks, printer) == []
            strikes = strikes_of(form, page, printer)
            assert cells(strikes.marks) == cells(marks)
            seen.add(prove.canonical(strikes.marks))
        assert len(seen) == 1


def cells(marks: object) -> set[tuple[int, int, int, int, str]]:
    """Every character struck, in its place."""
    return {
        (mark.x + at * mark.pitch, mark.y, mark.pitch, mark.weight, letter)
        for mark in marks  # type: ignore[attr-defined]
        for at, letter in enumerate(mark.text)
        if letter != " "
    }


@shipped
def test_what_is_struck_stands_in_the_places_of_the_form(name: str) -> None:
    form = FORMS[name]
    within = [place.area for place in places(form)]
    for page in pages_of(form)[:-1]:  # the last is the rulers of the alignment page
        for x, y, pitch, _, _ in cells(page.numbered("100501")):
            x, y = x + form.grid.left, y + form.grid.top
            assert any(
                area.left <= x and x + pitch <= area.right and area.top <= y and y + form.grid.spacing <= area.bottom
                for area in within
            ), (x, y)


@shipped
def test_after_a_carton_of_10_000_forms_the_feed_is_less_than_a_step_out(name: str) -> None:
    form = FORMS[name]
    straight = {(row.language, row.step) for row in feeding(form) if row.straight}
    for step in STEPS:
        fed = worst = 0
        for k in range(10_000):
            fed += feed_steps(form.paper.length, step.size, k) * step.size
            worst = max(worst, abs((k + 1) * form.paper.length - fed))
        assert worst < step.size
        if (step.language, step.size) in straight and not step.single:
            assert worst == 0


def test_a_form_of_92_mm_is_refused_by_a_printer_that_can_only_feed_lines() -> None:
    form = FORMS["cheque-in"]
    plain = Printer("plain", INCH // 6)
    assert languages.get("plain").cannot(layout.look(form), pages_of(form)[0].numbered("100501"), plain)


def test_the_first_form_shipped_is_what_it_always_was() -> None:
    """Proof codes of batches accepted for it depend on its digest."""
    assert FORMS["payroll-us"].digest == "505066a5a97840ea7b4c9caafb7568189b995ea92258d45d17d90b90b1416b04"


@pytest.mark.parametrize("name", ["delivery-note", "petty-cash", "goods-received"])
def test_a_numbered_paper_pays_nothing(name: str) -> None:
    form = FORMS[name]
    assert not form.payable
    assert form.cheque is None
    assert {payment.role for payment in payments_of(form)} == {Role.ADVICE}


def test_the_four_parts_of_a_delivery_note_show_four_readers_what_is_theirs() -> None:
    form = FORMS["delivery-note"]
    hidden = {part.name: {p.what for p in places(form) if part.name in p.hidden_from} for part in form.parts}
    assert hidden == {
        "customer": set(),
        "carrier": {"price", "amount", "net"},
        "stores": {"price", "amount", "net", "payee", "address"},
        "accounts": set(),
    }
