"""A form written as TOML is the very same form when it is read."""

import doctest
from dataclasses import replace

import pytest
from form.samples import SHIPPED
from form.small_form import small
from hypothesis import given, settings
from hypothesis import strategies as st

from cheque import library
from cheque.form import Area, Column, Field, Form, Grid, Look, Paper, Part, Table, When, load, write
from cheque.form.model import Box, Caption, Cheque, Preprint, Rule
from cheque.form.what import COLUMNS, WHAT
from cheque.form.write import to_toml
from cheque.payment import Kind, Role
from cheque.units import INCH, MILLIMETRE


@pytest.mark.parametrize("name", SHIPPED)
def test_a_shipped_form_written_and_read_is_the_same(name: str) -> None:
    form = library.read(name)
    text = to_toml(form, "A heading\n\nof three lines")
    assert text.startswith("# A heading\n#\n# of three lines\n")
    assert load(text, "x") == form
    assert load(text, "x").digest == form.digest


def test_the_examples_are_true() -> None:
    assert doctest.testmod(write).failed == 0


def test_frames_are_written_by_their_names_and_measured_ones_as_they_were_measured() -> None:
    text = to_toml(small())
    assert 'box = "head"' in text
    assert 'bottom = "line 9"' in text
    measured = replace(small().preprint.boxes[0], area=Area(INCH * 9 // 8, 0, 32 * MILLIMETRE, INCH // 3))
    text = to_toml(replace(small(), preprint=Preprint(boxes=(measured,))))
    assert 'left = "1 1/8 in"\ntop = "0 in"' in text


lengths = st.one_of(
    st.integers(1, 80).map(lambda n: n * INCH // 16),
    st.integers(1, 200).map(lambda n: n * MILLIMETRE),
    st.integers(1, 60).map(lambda n: n * INCH // 10),
    st.integers(1, 40).map(lambda n: n * INCH // 6),
    st.integers(1, 8 * INCH),
)
areas = st.builds(Area, lengths, lengths, lengths, lengths)
texts = st.text(st.sampled_from("AZaz09 É\"\\#=[]'"), min_size=1, max_size=9).filter(lambda t: t.strip() != "")
names = st.integers(0, 999).map(lambda n: f"n{n}")
weights = st.sampled_from((None, 0, 1, 2, 3))
whens = st.builds(
    When,
    st.sampled_from(((), (Role.CHEQUE,))),
    st.sampled_from(("", "two signatures", "5.00")),
    st.sampled_from(("", "9.50")),
    st.sampled_from(((), ("Rigging", "Sail loft"))),
    st.sampled_from(("", "2026-11-01")),
    st.sampled_from(("", "2026-12-31")),
)
parts_of_form = st.sampled_from(((), ("copy",), ("top", "copy")))
PLAIN = sorted(what for what in WHAT if WHAT[what].kind in {"text", "block", "name", "figures", "money"})
fields = st.builds(
    Field,
    names,
    st.sampled_from(PLAIN),
    st.integers(1, 60),
    st.integers(1, 80),
    st.integers(1, 80),
    align=st.sampled_from(("left", "right", "centre")),
    fill=st.sampled_from(("", "*", "=")),
    case=st.sampled_from(("as-is", "upper")),
    prefix=st.sampled_from(("", "$")),
    suffix=st.sampled_from(("", " /")),
    pitch=st.sampled_from((0, INCH // 12, INCH * 7 // 120, INCH * 23 // 216)),
    weight=weights,
    when=whens,
    hidden_from=parts_of_form,
    box=st.none() | areas,
)
columns = st.builds(
    lambda what, column, width, align, hidden: Column(
        what, column, width, align, "DD.MM.YY" if what == "date" else "", (), hidden
    ),
    st.sampled_from(sorted(COLUMNS)),
    st.integers(1, 80),
    st.integers(1, 30),
    st.sampled_from(("left", "right", "centre")),
    parts_of_form,
)
tables = st.builds(
    Table,
    names,
    st.sampled_from(((Kind.GOODS,), (Kind.EARNING, Kind.NOTE))),
    st.integers(1, 60),
    st.integers(1, 30),
    st.lists(columns, min_size=1, max_size=3).map(tuple),
    weight=weights,
    when=st.sampled_from((When(), When((Role.CHEQUE,)))),
    hidden_from=parts_of_form,
    box=st.none() | areas,
)
constants = st.builds(
    lambda text, line, when, box: Field(text, "constant", line, 3, len(text), text=text, when=when, box=box),
    texts,
    st.integers(1, 60),
    whens,
    st.none() | areas,
)


def line(x: int, y: int, size: int, down: bool, parts: tuple[str, ...]) -> Rule:
    return Rule(x, y, 0 if down else size, size if down else 0, INCH // 100, parts)


spacings = st.sampled_from((INCH // 6, INCH * 23 // 216))
printed = st.builds(
    Preprint,
    st.lists(
        st.builds(Caption, lengths, lengths, lengths, texts, st.sampled_from(("text", "number")),
                  st.sampled_from(("left", "centre", "right")), st.booleans(), parts_of_form),
        max_size=3,
    ).map(tuple),
    st.lists(
        st.builds(line, lengths, lengths, lengths, st.booleans(), parts_of_form),
        max_size=3,
    ).map(tuple),
    st.lists(st.builds(Box, names, areas, st.sampled_from(("outline", "shade", "none")), parts=parts_of_form),
             max_size=3, unique_by=lambda box: box.name).map(tuple),
)  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(
    paper=st.builds(Paper, lengths, lengths, lengths, st.lists(lengths, max_size=2, unique=True).map(tuple)),
    grid=st.builds(Grid, st.sampled_from((INCH // 10, INCH // 12)), spacings, lengths),
    look=st.builds(Look, st.sampled_from(("draft", "letter")), st.integers(0, 3), st.booleans()),
    cheque=st.none() | st.builds(Cheque, areas, lengths),
    struck=st.lists(fields, max_size=3, unique_by=lambda f: f.name).map(tuple),
    stub=st.lists(tables, max_size=2, unique_by=lambda t: t.name).map(tuple),
    said=st.lists(constants, max_size=2, unique_by=lambda c: c.name).map(tuple),
    preprint=printed,
    blocked=st.lists(areas, max_size=2).map(tuple),
    payable=st.booleans(),
)  # fmt: skip
def test_whatever_form_is_written_is_read_back_the_same(
    paper: Paper, grid: Grid, look: Look, cheque: Cheque | None, struck: tuple[Field, ...], stub: tuple[Table, ...],
    said: tuple[Field, ...], preprint: Preprint, blocked: tuple[Area, ...], payable: bool
) -> None:  # fmt: skip
    form = Form(
        name="random",
        title='Any "form" \\ of all',
        country="US",
        roles=(Role.CHEQUE, Role.ADVICE) if payable else (Role.ADVICE,),
        paper=paper,
        grid=grid,
        parts=(Part("top", "the payee"), Part("copy", "the file", "COPY", INCH, 2 * INCH, blocked, ("payee",))),
        look=look,
        advice="NON-NEGOTIABLE" if payable else "",
        cheque=cheque,
        fields=struck,
        tables=stub,
        constants=tuple(c for c in said if not (c.when.roles and not payable)),
        preprint=preprint,
        payable=payable,
        set_aside=("length",),
    )
    if not payable:
        bare = replace(When(), roles=())
        form = replace(
            form,
            fields=tuple(replace(f, when=replace(f.when, roles=())) for f in form.fields),
            tables=tuple(replace(t, when=bare) for t in form.tables),
        )
    again = load(to_toml(form), "random.toml")
    assert again == form
