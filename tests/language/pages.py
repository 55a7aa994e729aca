"""Random pages for the tests of languages: marks that fit somewhere, and marks that may not."""

from hypothesis import strategies as st

from cheque.language import HIGH_LETTERS, Look, Printer
from cheque.language.tables import NOTHING, table_of
from cheque.page import Mark, Page, Slot
from cheque.units import INCH

TENTH, SIXTH = INCH // 10, INCH // 6
PITCHES = (TENTH, INCH // 12, INCH // 15, 7 * INCH // 120, INCH // 20)

#: language -> the steps a printer of it may have
STEPS = {
    "plain": (INCH // 6, INCH // 72),
    "escp9": (INCH // 216, INCH // 72),
    "escp24": (INCH // 180, INCH // 360),
    "ppds": (INCH // 216, INCH // 72),
}


def printers(name, table="cp437", without=()):
    """A printer of each step; plain text's with a panel seen to print letters at 80 to 9F, the first, and without."""
    lacks = frozenset(without)
    if name == "plain":
        seen = frozenset({HIGH_LETTERS})
        return [
            Printer(name, step, table, lacks, vouched=seen if step == SIXTH else frozenset()) for step in STEPS[name]
        ]
    return [Printer(name, step, table, lacks) for step in STEPS[name]]


def letters(table="cp437"):
    return "".join(sorted(set(table_of(table).letters) - {NOTHING}))


def texts(table="cp437"):
    return st.text(alphabet=st.sampled_from(letters(table)), min_size=1, max_size=14)


@st.composite
def plain_pages(draw, length=7 * INCH, weights=(0, 1), table="cp437"):
    """Marks at whole columns and lines: what every language can strike, unless letters repeat in one place."""
    marks = draw(
        st.lists(
            st.builds(
                lambda column, line, weight, text: Mark(column * TENTH, line * SIXTH, TENTH, weight, text),
                st.integers(0, 100),
                st.integers(0, length // SIXTH - 1),
                st.sampled_from(weights),
                texts(table),
            ),
            max_size=12,
        )
    )
    return tuple(marks)


@st.composite
def any_pages(draw, step, length=7 * INCH, table="cp437"):
    """Marks of any pitch and weight, some of them in places that nothing reaches."""
    marks = draw(
        st.lists(
            st.builds(
                lambda x, y, pitch, weight, text: Mark(x, y, pitch, weight, text),
                st.one_of(
                    st.integers(0, 780).map(lambda n: n * INCH // 60),
                    st.integers(-3, 1600).map(lambda n: n * INCH // 120),
                    st.integers(0, 130).map(lambda n: n * TENTH),
                ),
                st.one_of(
                    st.integers(0, 12).map(lambda n: n * SIXTH),
                    st.integers(-2, length // step).map(lambda n: n * step),
                ),
                st.sampled_from(PITCHES),
                st.integers(0, 3),
                texts(table),
            ),
            max_size=10,
        )
    )
    return tuple(marks)


def looks(length=7 * INCH):
    return st.builds(
        Look,
        st.just(length),
        st.sampled_from((SIXTH, INCH // 8, INCH // 4)),
        st.sampled_from(("draft", "letter")),
        st.booleans(),
    )


#: how `form_of` is printed
SHORT = Look(3 * INCH, SIXTH)


def cells(marks, name):
    """What a printer is to strike; plain text strikes a double letter twice."""
    found = [
        (m.y, m.x + i * m.pitch, m.pitch, int(m.weight), letter)
        for m in marks
        for i, letter in enumerate(m.text)
        if letter != " "
    ]
    if name == "plain":
        found = [(y, x, pitch, 0, letter) for y, x, pitch, weight, letter in found for _ in range(1 + weight)]
    return sorted(found)


def form_of(name):
    """A form with a bit of everything: weights, letters beyond ASCII, letters over letters, a number."""
    step = STEPS[name][0]
    marks = [
        Mark(5 * TENTH, SIXTH, TENTH, 0, "Pay J. Marlow"),
        Mark(30 * TENTH, SIXTH, TENTH, 1, "**1.00 £"),
        Mark(5 * TENTH, 3 * SIXTH, TENTH, 0, "x/y"),
        Mark(6 * TENTH, 3 * SIXTH, TENTH, 0, "|"),
    ]
    if name != "plain":
        marks += [
            Mark(23 * INCH // 60, 4 * SIXTH + 7 * step, 7 * INCH // 120, 2, "condensed"),
            Mark(40 * TENTH, 4 * SIXTH + 7 * step, INCH // 12, 3, "twelve"),
            Mark(77 * INCH // 60, 5 * SIXTH, TENTH, 0, "beside"),
        ]
    return Page(tuple(marks), (Slot(50 * TENTH, 2 * SIXTH, TENTH, 0, 8),))
