"""The rules of each country: every one broken once, by so much, and what comes of it; every one with its source."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from form.samples import SHIPPED
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque import library
from cheque.errors import InputRefused
from cheque.form import Form
from cheque.form.check import check
from cheque.form.model import Box, When
from cheque.form.model import Rule as Line
from cheque.form.rules import COUNTRIES, Basis, Outcome, Verdict, broken, judge, rules_of
from cheque.form.rules.canada import INDICATORS
from cheque.form.rules.measure import length
from cheque.units import INCH, MILLIMETRE

Change = Callable[[Form], Form]
FORM_OF = {
    "US": "payroll-us",
    "CA": "cheque-ca",
    "GB": "cheque-gb",
    "IE": "remittance-eu",
    "IN": "cheque-in",
    "FR": "cheque-fr",
    "DE": "cheque-de",
}


def field(name: str, **changes: object) -> Change:
    """One field changed."""
    return lambda form: replace(
        form,
        fields=tuple(replace(f, **changes) if f.name == name else f for f in form.fields),  # type: ignore[arg-type]
    )


def without(name: str) -> Change:
    """One field taken out."""
    return lambda form: replace(form, fields=tuple(f for f in form.fields if f.name != name))


def unsaid(*texts: str) -> Change:
    """All preprinted wordings that have one of these texts in them taken out."""
    return lambda form: replace(
        form,
        preprint=replace(
            form.preprint,
            captions=tuple(c for c in form.preprint.captions if not any(t in c.text.casefold() for t in texts)),
        ),
    )


def cheque(**changes: int) -> Change:
    """The cheque's area or band changed."""

    def change(form: Form) -> Form:
        assert form.cheque
        area = replace(form.cheque.area, **{k: v for k, v in changes.items() if k != "clear"})
        return replace(form, cheque=replace(form.cheque, area=area, clear=changes.get("clear", form.cheque.clear)))

    return change


def drawn(*, lines: tuple[Line, ...] = (), boxes: tuple[Box, ...] = ()) -> Change:
    """More preprinted lines and frames."""
    return lambda form: replace(
        form,
        preprint=replace(form.preprint, rules=form.preprint.rules + lines, boxes=form.preprint.boxes + boxes),
    )


def bare(form: Form) -> Form:
    """No preprinted line or frame at all."""
    return replace(form, preprint=replace(form.preprint, rules=(), boxes=()))


def sixteenth(form: Form) -> Form:
    """The paper, and the cheque with it, a sixteenth of an inch deeper."""
    assert form.cheque
    area = replace(form.cheque.area, height=form.cheque.area.height + INCH // 16)
    return replace(form, cheque=replace(form.cheque, area=area))


#: country, rule, what is changed, what is found, by how much
BROKEN: list[tuple[str, str, Change, str, int]] = [
    ("US", "clear-band", cheque(clear=INCH // 2), "1/2 in is kept clear", INCH // 8),
    ("US", "clear-band", field("signature", line=39), "1/2 in is kept clear", INCH // 8),
    ("US", "length", cheque(width=5 * INCH), "the cheque is 5 in long", INCH),
    ("US", "length", cheque(width=9 * INCH), "the cheque is 9 in long", INCH // 4),
    ("US", "height", cheque(height=4 * INCH), "the cheque is 4 in high", INCH // 3),
    ("US", "figures-right", field("amount_figures", column=2), "left", INCH * 32 // 10),
    ("US", "date-order", field("date", pattern="DD/MM/YYYY"), "the date is DD/MM/YYYY", 0),
    ("US", "to-order", unsaid("to the", "order of"), "nowhere 'to the order of'", 0),
    ("US", "dollars", unsaid("dollars"), "nowhere 'dollars'", 0),
    ("US", "sign", field("amount_figures", prefix=""), "no $ at the figures", 0),
    ("US", "signature-place", field("signature", line=28), "in the upper right", INCH * 11 // 12),
    ("US", "signature-named", unsaid("signature"), "no 'signature' beneath", 0),
    ("US", "wage-statement", without("period"), "no period", 0),
    ("CA", "length", cheque(width=6 * INCH), "the cheque is 6 in long", INCH // 4),
    ("CA", "date-digits", field("date", pattern="YYYY-MM-DD"), "the date is YYYY-MM-DD", 0),
    ("CA", "date-indicators", field("date", pattern="D D M M Y Y Y Y"), "'YYYYMMDD', not DDMMYYYY or JJMMAAAA", 0),
    ("CA", "date-indicators", lambda f: replace(f, preprint=replace(f.preprint, captions=())), "no YYYYMMDD or", 0),
    ("CA", "figures-place", field("amount_figures", line=28), "2 1/3 in to 2 1/2 in above the bottom", -1),
    ("CA", "figures-place", field("amount_figures", line=27), "2 1/2 in to 2 2/3 in above the bottom", INCH // 15),
    ("CA", "figures-place", field("amount_figures", column=69), "1/20 in to 1 9/20 in from the right", INCH // 5),
    ("CA", "figures-place", field("amount_figures", column=56), "2 3/4 in from the right", INCH // 4),
    (
        "CA",
        "figures-unboxed",
        drawn(boxes=(Box("", library.read("cheque-ca").preprint.boxes[-3].area),)),
        "a frame round it",
        0,
    ),
    ("CA", "clear-space", field("payee", line=32), "1/6 in between amount_words and payee", INCH // 12),
    (
        "CA",
        "band-border",
        drawn(lines=(Line(0, INCH * 13 // 2, width=INCH),)),
        "a line or frame 1/8 in into the clear band",
        INCH // 8,
    ),
    ("CA", "clear-band", cheque(clear=INCH * 9 // 16), "9/16 in is kept clear", INCH // 16),
    ("CA", "dollars", unsaid("dollars"), "nowhere 'dollars'", 0),
    ("CA", "sign", unsaid("$"), "no $ at the figures", 0),
    ("CA", "signature-place", field("signature", column=2), "in the lower left", INCH * 245 // 100),
    ("CA", "advice-wording", lambda f: replace(f, advice="NOT NEGOTIABLE"), "an advice says 'NOT NEGOTIABLE'", 0),
    ("GB", "clear-band", cheque(clear=15 * MILLIMETRE), "15 mm is kept clear", MILLIMETRE),
    ("GB", "crossed", bare, "no two parallel lines across its face", 0),
    ("GB", "account-payee", unsaid("a/c"), "nowhere 'a/c payee' or 'account payee'", 0),
    ("GB", "advice-wording", lambda f: replace(f, advice="NON-NEGOTIABLE"), "'NON-NEGOTIABLE'", 0),
    ("GB", "date-order", field("date", pattern="MM/DD/YYYY"), "the date is MM/DD/YYYY", 0),
    ("GB", "date-place", field("date", line=17), "in the lower right", INCH * 11 // 12),
    ("GB", "sign", unsaid("£"), "no £ at the figures", 0),
    ("GB", "figures-right", field("amount_figures", column=24), "left", -1),
    ("GB", "signature-place", field("signature", line=3), "in the upper right", -1),
    ("IE", "clear-band", cheque(clear=15 * MILLIMETRE), "15 mm is kept clear", MILLIMETRE),
    ("IE", "crossed", bare, "no two parallel lines across its face", 0),
    ("IE", "account-payee", unsaid("a/c"), "nowhere 'a/c payee' or 'account payee'", 0),
    ("IE", "advice-wording", lambda f: replace(f, advice="NON-NEGOTIABLE"), "'NON-NEGOTIABLE'", 0),
    ("IE", "date-order", field("date", pattern="MM/DD/YYYY"), "the date is MM/DD/YYYY", 0),
    ("IE", "sign", unsaid("€", "euro"), "no € or EUR at the figures", 0),
    ("IE", "signature-place", field("signature", line=51), "in the upper right", -1),
    ("IN", "date-boxes", bare, "0 digits in boxes of their own", 0),
    ("IN", "date-boxes", field("date", pattern="DDMMYYYY"), "0 digits in boxes of their own", 0),
    ("IN", "date-order", field("date", pattern="M M D D Y Y Y Y"), "the date is MMDDYYYY", 0),
    ("IN", "rupee-sign", unsaid("₹"), "no ₹ at the figures", 0),
    ("IN", "sign-above", unsaid("sign above"), "no 'please sign above' beneath", 0),
    ("IN", "signature-place", field("signature", column=2), "in the lower left", -1),
    ("IN", "length", cheque(width=199 * MILLIMETRE), "199 mm long", MILLIMETRE),
    ("IN", "height", cheque(height=90 * MILLIMETRE), "90 mm high", MILLIMETRE),
    ("IN", "clear-band", cheque(clear=15 * MILLIMETRE), "15 mm is kept clear", -1),
    ("IN", "account-payee", unsaid("a/c"), "nowhere 'a/c payee'", 0),
    ("FR", "place-of-issue", without("place"), "nowhere stated", 0),
    ("FR", "word-cheque", unsaid("chèque"), "nowhere 'chèque'", 0),
    ("FR", "drawee", without("bank"), "no bank on the cheque", 0),
    ("FR", "place-of-payment", unsaid("payable"), "nowhere 'payable'", 0),
    (
        "FR",
        "amounts-once",
        lambda f: replace(f, fields=(*f.fields, replace(f.fields[-3], name="again", what="amount_figures"))),
        "amount_figures more than once",
        0,
    ),
    ("FR", "length", cheque(width=174 * MILLIMETRE), "174 mm long", MILLIMETRE),
    ("FR", "height", cheque(height=82 * MILLIMETRE), "82 mm high", 2 * MILLIMETRE),
    ("FR", "clear-band", cheque(clear=15 * MILLIMETRE), "15 mm is kept clear", MILLIMETRE),
    ("FR", "crossed", bare, "no two parallel lines across its face", 0),
    ("FR", "date-order", field("date", pattern="MM/DD/YYYY"), "the date is MM/DD/YYYY", 0),
    ("FR", "sign", unsaid("€"), "no € or EUR at the figures", 0),
    ("FR", "signature-place", field("signature", line=31), "in the upper right", -1),
    ("DE", "word-cheque", unsaid("scheck"), "nowhere 'Scheck'", 0),
    ("DE", "order-to-pay", unsaid("zahlen"), "nowhere 'zahlen Sie'", 0),
    ("DE", "drawee", without("bank"), "no bank on the cheque", 0),
    ("DE", "place-of-payment", unsaid("zahlungsort"), "nowhere 'Zahlungsort'", 0),
    ("DE", "place-of-issue", without("place"), "nowhere stated", 0),
    (
        "DE",
        "amounts-once",
        lambda f: replace(f, fields=(*f.fields, replace(f.fields[0], name="again", what="amount_words"))),
        "amount_words more than once",
        0,
    ),
    ("DE", "for-account", unsaid("verrechnung"), "nowhere 'nur zur Verrechnung'", 0),
    ("DE", "crossed", bare, "no two parallel lines across its face", 0),
    ("DE", "code-line", cheque(clear=INCH * 9 // 16), "9/16 in is kept clear", INCH // 16),
    ("DE", "date-order", field("date", pattern="MM/DD/YYYY"), "the date is MM/DD/YYYY", 0),
    ("DE", "sign", unsaid("€", "eur"), "no € or EUR at the figures", 0),
    ("DE", "signature-place", field("signature", column=2), "in the lower left", -1),
]


def verdict_on(form: Form, country: str, rule: str) -> Verdict:
    (found,) = [verdict for verdict in judge(form, country) if verdict.rule.name == rule]
    return found


@pytest.mark.parametrize(("country", "rule", "change", "said", "off"), BROKEN)
def test_a_form_that_breaks_a_rule_is_told_so_and_by_how_much(
    country: str, rule: str, change: Change, said: str, off: int
) -> None:
    form = library.read(FORM_OF[country])
    assert verdict_on(form, country, rule).outcome is Outcome.KEPT
    found = verdict_on(change(form), country, rule)
    if off == -1 and said.startswith("2 1/3 in"):  # inside by a hair: the edge of what is allowed
        assert found.outcome is Outcome.KEPT
        assert said in found.found
        return
    assert found.outcome is (Outcome.BROKEN if found.rule.basis is Basis.PUBLISHED else Outcome.DOUBTFUL)
    assert said in found.found
    assert found.off > 0 if off == -1 else found.off == off


def test_every_rule_that_can_be_tested_is_broken_by_a_test() -> None:
    tested = {(country, rule.name) for country in COUNTRIES for rule in rules_of(country) if rule.test}
    assert {(country, rule) for country, rule, *_ in BROKEN} == tested


@pytest.mark.parametrize("country", COUNTRIES)
def test_every_rule_has_a_source_and_a_name_of_its_own(country: str) -> None:
    rules = rules_of(country)
    assert len({rule.name for rule in rules}) == len(rules) >= 8
    for rule in rules:
        assert rule.says
        assert rule.source
        assert not rule.says[0].isupper()
        assert ("memory" in rule.source) <= (rule.basis in {Basis.MEMORY, Basis.LAW, Basis.BANK})


@pytest.mark.parametrize("country", COUNTRIES)
def test_what_no_definition_can_show_is_told_so_that_somebody_asks(country: str) -> None:
    asked = [v for v in judge(library.read(FORM_OF[country])) if v.rule.test is None]
    assert asked
    assert {verdict.outcome for verdict in asked} == {Outcome.ASK}


@pytest.mark.parametrize("name", SHIPPED)
def test_a_shipped_form_keeps_every_rule_of_its_country(name: str) -> None:
    form = library.read(name)
    assert broken(form) == []
    assert {v.outcome for v in judge(form)} <= {Outcome.KEPT, Outcome.ASK, Outcome.NOTHING}
    assert bool(judge(form)) == (form.cheque is not None)  # a paper that is no cheque keeps none of its rules


def test_only_a_rule_whose_source_was_at_hand_refuses_a_form() -> None:
    form = library.read("cheque-fr")
    assert broken(cheque(width=174 * MILLIMETRE)(form)) == []  # from memory
    (fault,) = broken(without("place")(form))
    assert str(fault).startswith(
        "form cheque-fr, rule place-of-issue of FR: found nowhere stated; wanted the cheque states the place"
    )


def test_a_rule_may_be_set_aside_when_the_bank_agrees_and_only_a_rule_that_there_is() -> None:
    form = without("place")(library.read("cheque-fr"))
    agreed = replace(form, set_aside=("place-of-issue",))
    assert broken(agreed) == []
    assert verdict_on(agreed, "FR", "place-of-issue").outcome is Outcome.SET_ASIDE
    (fault,) = broken(replace(library.read("cheque-fr"), set_aside=("place-of-isue",)))
    assert "'place-of-isue'; wanted a rule of FR: place-of-issue, word-cheque" in str(fault)
    (fault,) = broken(replace(library.read("payroll-us"), country="NZ", set_aside=("length",)))
    assert "there are no rules of NZ" in str(fault)


def test_a_form_that_breaks_a_published_rule_of_its_country_is_not_put_to_use(tmp_path: object) -> None:
    from pathlib import Path

    assert isinstance(tmp_path, Path)
    text = library.find("cheque-ca").read_text("utf-8").replace('name = "cheque-ca"', 'name = "mine"')
    (tmp_path / "mine.toml").write_text(text.replace('form = "Y Y Y Y M M D D"', 'form = "YYYY-MM-DD"'), "utf-8")
    with pytest.raises(InputRefused) as caught:
        library.load("mine", tmp_path)
    assert "rule date-digits of CA: found the date is YYYY-MM-DD" in str(caught.value)
    (tmp_path / "mine.toml").write_text(
        text.replace('form = "Y Y Y Y M M D D"', 'form = "YYYY-MM-DD"').replace(
            'country = "CA"', 'country = "CA"\nset_aside = ["date-digits", "date-indicators"]'
        ),
        "utf-8",
    )
    assert library.load("mine", tmp_path).set_aside == ("date-digits", "date-indicators")


def test_a_country_without_rules_is_no_fault_and_an_unknown_one_is_an_error() -> None:
    form = replace(library.read("payroll-us"), country="NZ")
    assert broken(form) == []
    with pytest.raises(KeyError):
        judge(form)


def test_what_is_only_struck_on_some_cheques_does_not_count_as_on_the_cheque() -> None:
    form = field("bank", when=When(over="5.00"))(library.read("cheque-fr"))
    assert verdict_on(form, "FR", "drawee").outcome is Outcome.DOUBTFUL


def test_the_place_of_issue_may_be_preprinted() -> None:
    form = without("place")(library.read("cheque-fr"))
    caption = replace(form.preprint.captions[-1], text="Fait à Quillmere")
    form = replace(form, preprint=replace(form.preprint, captions=(*form.preprint.captions, caption)))
    assert verdict_on(form, "FR", "place-of-issue").outcome is Outcome.KEPT


@pytest.mark.parametrize(("rule", "name"), [("date-order", "date"), ("figures-right", "amount_figures")])
def test_what_is_not_on_the_form_at_all_is_not_judged_by_these_rules(rule: str, name: str) -> None:
    form = without(name)(library.read("payroll-us"))
    assert verdict_on(form, "US", rule).outcome is Outcome.NOTHING


def test_the_indicators_are_the_letters_of_their_pattern_in_both_languages() -> None:
    """Canada: YYYYMMDD, MMDDYYYY, DDMMYYYY; JJMMAAAA, MMJJAAAA in French (Standard 006 Part A)."""
    french = str.maketrans("YD", "AJ")
    assert {p: (p, p.translate(french)) for p in INDICATORS} == INDICATORS


@settings(max_examples=100, deadline=None)
@given(st.integers(INCH, 12 * INCH), st.integers(INCH, 12 * INCH), st.integers(0, 2 * INCH))
def test_a_size_is_out_by_exactly_what_would_mend_it(wide: int, low: int, room: int) -> None:
    form = library.read("payroll-us")
    finding = length(low, low + room)(cheque(width=wide)(form))
    mended = wide + finding.off if wide < low else wide - finding.off
    assert low <= mended <= low + room
    assert finding.kept == (finding.off == 0) == (low <= wide <= low + room)


def test_a_form_may_have_faults_of_its_paper_and_of_its_country() -> None:
    form = sixteenth(library.read("payroll-us"))
    assert check(form)
