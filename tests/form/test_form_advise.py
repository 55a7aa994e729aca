"""What is worth knowing about a form that is right."""

import pytest
from form.small_form import small

from cheque import library
from cheque.form.advise import warnings
from cheque.form.preprint import boxes, rules, wordings

PART = '[[part]]\nname = "top"'


def test_the_payroll_form_has_nothing_to_warn_of() -> None:
    assert warnings(library.read("payroll-us")) == []


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            ("line = 2\n", "line = 2\n"),
            "cheque-number, date, amount_words, amount_figures, payee and 3 more: no box is named",
        ),
        (('top = "line 3 1/2", right', 'top = "line 3 3/4", right'), "stub.text: the print may shift only 1/24 in up"),
        (('right = "column 79"', 'right = "column 60 1/4"'), "stub.amount.2: the print may shift only 1/40 in right"),
        (
            ('length = "4 1/2 in"', 'length = "115 mm"'),
            "not to be printed by plain in steps of 1/6 in: 115 mm is no whole number of lines",
        ),
        (('length = "4 1/2 in"', 'length = "115 mm"'), "after 3 forms the print would be half a line out"),
        (('spacing = "6 to the inch"', 'spacing = "1/9 in"'), "lines 1/9 in apart are no whole steps"),
        (
            (PART, "\n".join(f'[[part]]\nname = "p{n}"\ngoes_to = "x"' for n in range(3)) + f"\n{PART}"),
            "5 parts: many printers are rated for original and three",
        ),
        (
            (PART, "\n".join(f'[[part]]\nname = "p{n}"\ngoes_to = "x"' for n in range(3)) + f"\n{PART}"),
            'weight = "double"',
        ),
        (
            ("[cheque]", '[look]\nweight = "double"\nquality = "letter"\n[cheque]'),
            "letter quality overrides double strike",
        ),
        (("column = 60\nwidth = 15", "column = 70\nwidth = 15"), "8 2/5 in wide: a printer of 80 columns"),
        (
            ('what = "number"\ntext = "000000"', 'text = "000000"'),
            "does not say where the stock's own number is preprinted",
        ),
    ],
)
def test_what_will_be_felt_at_the_printer_is_told(change: tuple[str, str], said: str) -> None:
    told = warnings(small(change))
    assert any(said in one for one in told), told


def test_many_tight_places_are_told_as_the_tightest_and_a_count() -> None:
    told = warnings(
        small(
            ('left = "column 1 1/2", top = "line 3 1/2"', 'left = "column 2", top = "line 4"'),
            ('bottom = "line 8 1/2" }', 'bottom = "line 8" }'),
        )
    )
    assert any("more places have less slack" in one for one in told)
    assert sum("the print may shift only" in one for one in told) == 5


def test_each_part_shows_its_own_legend_and_the_number_of_its_form() -> None:
    form = small(('text = "000000"', 'text = "000000"\nparts = ["top"]'))
    top, copy = form.parts
    assert [(w.what, w.text) for w in wordings(form, top, "100501")] == [("number", "100501")]
    assert [(w.what, w.text) for w in wordings(form, top)] == [("number", "000000")]
    assert [(w.what, w.text) for w in wordings(form, copy, "100501")] == [("legend", "COPY")]
    (legend,) = wordings(form, copy)
    assert legend.area.left + legend.area.width // 2 == form.paper.width // 2  # centred at 4 in of 8
    assert len(list(rules(form, top))) == len(list(boxes(form, top))) == 1
