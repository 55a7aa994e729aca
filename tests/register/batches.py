"""Batches of payments for properties: anything that a register can hold, and some things that it must refuse."""

from unicodedata import normalize

from hypothesis import strategies as st

from cheque.payment import Kind, Payment, Role, StubLine

BIG = 10**12
ANYTHING = st.characters(exclude_categories=["Cs"], exclude_characters="\0")
AWKWARD = "\"',;\t\r\n =é|"


def letters_of(encoding: str, awkward: str = "\"',;=|<>&]") -> st.SearchStrategy[str]:
    """Characters that an encoding of one byte a character has, and that can be seen."""
    every = bytes(range(256)).decode(encoding, "ignore")
    seen = "".join(c for c in every if c.isprintable() and normalize("NFC", c) == c and c != "\xa0")
    return st.sampled_from(seen) | st.sampled_from("".join(c for c in awkward if c in seen))


def texts(least: int = 0, most: int = 12, letters: st.SearchStrategy[str] | None = None) -> st.SearchStrategy[str]:
    """Texts in form C without blanks at the ends: line ends, quotes and separators too, unless letters are given."""
    anything = st.text(ANYTHING if letters is None else letters, min_size=least, max_size=most)
    awkward = st.text(st.sampled_from(AWKWARD) if letters is None else letters, min_size=least, max_size=min(6, most))
    cleaned = st.one_of(anything, awkward).map(lambda text: normalize("NFC", text).strip(" "))
    return cleaned.filter(lambda text: least <= len(text) <= most)


everything = st.integers(-BIG, BIG)
decimals = st.one_of(st.just(""), st.decimals(-999, 999, places=2).map(str))


@st.composite
def stubs(
    draw: st.DrawFn,
    words: st.SearchStrategy[str],
    amounts: st.SearchStrategy[int],
    figures: st.SearchStrategy[str],
    kinds: tuple[Kind, ...],
    most: int = 3,
) -> tuple[StubLine, ...]:
    """Stub lines in the order of kinds; a line has an amount, or the year's."""
    lines: list[StubLine] = []
    for kind in Kind:
        for _ in range(draw(st.integers(0, most)) if kind in kinds else 0):
            text = draw(words)
            if kind is Kind.NOTE:
                lines.append(StubLine(kind, text))
            elif kind is Kind.INVOICE:
                date = draw(st.just("") | st.sampled_from(["2026-11-09", "2026-02-28"]))
                gross, discount = draw(st.none() | amounts), draw(st.none() | amounts)
                lines.append(StubLine(kind, text, draw(amounts), date=date, gross=gross, discount=discount))
            elif kind is Kind.GOODS:
                amount = draw(st.none() | amounts)
                lines.append(StubLine(kind, text, amount, hours=draw(figures), rate=draw(figures)))
            else:
                amount = draw(st.none() | amounts)
                to_date = draw(amounts if amount is None else st.none() | amounts)
                hours, rate = (draw(figures), draw(figures)) if kind is Kind.EARNING else ("", "")
                lines.append(StubLine(kind, text, amount, to_date, hours, rate))
    return tuple(lines)


@st.composite
def one_payment(
    draw: st.DrawFn,
    letters: st.SearchStrategy[str] | None = None,
    amounts: st.SearchStrategy[int] = everything,
    figures: st.SearchStrategy[str] = decimals,
    kinds: tuple[Kind, ...] = tuple(Kind),
    transfers: bool = True,
    most: int = 12,
    splits: bool = True,
) -> Payment:
    """One payment; its item and line are for the test to say. `splits`: some of net pay may go by transfer."""
    word = texts(0, most, letters)
    some = texts(1, most, letters)
    amount = draw(amounts)
    employee = draw(st.integers(0, 10**7 - 1))
    role = Role.ADVICE if amount == 0 or (transfers and draw(st.booleans())) else Role.CHEQUE
    period = draw(st.sampled_from([("", ""), ("2026-11-16", "2026-11-22")]))
    return Payment(
        *(1, draw(some), amount, draw(st.sampled_from(["2026-11-27", "2026-12-04"])), draw(word), role),
        *(draw(st.sampled_from(["", "100501"])), employee, tuple(draw(st.lists(some, max_size=4)))),
        *(str(employee), draw(word), draw(word), *period, draw(word)),
        draw(stubs(some, amounts, figures, kinds)),
        by_transfer=draw(st.just(0) | amounts.map(abs)) if splits else 0,
    )


def batches(**options: object) -> st.SearchStrategy[list[Payment]]:
    """One to four payments, counted as a reader counts them."""
    payments = st.lists(one_payment(**options), min_size=1, max_size=4)  # type: ignore[arg-type]
    return payments.map(lambda batch: [payment._replace(item=item) for item, payment in enumerate(batch, 1)])
