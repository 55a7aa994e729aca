"""After payday: what is out, how old; what was paid, how soon; what is owed behind void cheques; whom to write to."""

import csv
import io
import re
from datetime import date
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from report.payday import MAIN, Payday, crew, payment
from report.reading import rows, text_of, totals

from cheque.book import cheques, statements
from cheque.book import owed as debts
from cheque.book.verify import as_of
from cheque.errors import InputRefused
from cheque.picture.shapes import Box
from cheque.report import cleared, handover, letters, outstanding, owed, unclaimed, voids
from cheque.report.ages import Limits, title_of, titles
from cheque.report.page import Bar, Bars, Report
from cheque.report.render import render
from cheque.report.render.bars import WIDTH, draw, to_svg
from cheque.report.when import When

THREE_YEARS = (3, "years")


def paid(day: Payday, *items: tuple[int, int, str]) -> None:
    """A statement on which the bank pays numbers: (number, amount, day)."""
    told = {"name": "s", "source": "statement.xml", "digest": "", "first": "2026-11-27", "last": items[-1][2]}
    booked = [statements.Item(on, number, -amount) for number, amount, on in items]
    statements.enter(day.book, booked, account="main", opening=None, closing=None, entries=len(booked), **told)  # type: ignore[arg-type]


def stating(day: Payday, **changes: object) -> Payday:
    """The day with the main account's settings changed."""
    day.settings.accounts["main"] = MAIN._replace(**changes)  # type: ignore[arg-type]
    return day


def on(day: Payday, text: str) -> When:
    """A report read on a day, at its end."""
    return When(day.clock.at.astimezone(), date.fromisoformat(text))


class TestOutstanding:
    def test_what_the_bank_paid_is_not_outstanding(self, day: Payday) -> None:
        day.print(day.accept(crew(3)), 100501)
        text = text_of(outstanding.build(day.book, day.settings, day.when()))
        assert "No statement of the bank for main is in the book" in text
        paid(day, (100502, 67873, "2026-12-01"))
        report = outstanding.build(day.book, day.settings, day.when())
        assert [row["number"] for row in rows(report)] == ["100501", "100503"]
        assert "Statements read to 2026-12-01" in text_of(report)
        assert "No statement" not in text_of(report)

    def test_every_age_is_listed_with_how_many_and_how_much(self, day: Payday) -> None:
        dates = ["2023-11-20", "2026-05-30", "2026-05-31", "2026-11-27"]
        day.print(day.accept([payment(i, f"Payee {i}", 100 * i, date=d) for i, d in enumerate(dates, 1)]), 100501)
        report = outstanding.build(day.book, stating(day, unclaimed_after=THREE_YEARS).settings, day.when())
        assert [(row["age"], row["cheques"], row["amount"]) for row in rows(report, "ages")] == [
            ("0 to 30 days", 1, "4.00"), ("31 to 60 days", 0, "0.00"), ("61 to 90 days", 0, "0.00"),
            ("91 to 180 days", 1, "3.00"), ("Stale: over 180 days", 1, "2.00"),
            ("Ask about unclaimed money: over 3 years", 1, "1.00"),
        ]  # fmt: skip
        assert "is a matter of local law" in text_of(report)
        assert "Unclaimed after 3 years: ask" in text_of(report)

    def test_an_age_that_nobody_has_reached_gets_no_caution(self, day: Payday) -> None:
        day.print(day.accept(crew(1)), 100501)
        report = outstanding.build(day.book, stating(day, unclaimed_after=THREE_YEARS).settings, day.when())
        assert "is a matter of local law" not in text_of(report)

    @given(
        st.dates(date(1950, 1, 1), date(2100, 1, 1)),
        st.dates(date(1950, 1, 1), date(2100, 1, 1)),
        st.none() | st.integers(1, 3650),
        st.none() | st.tuples(st.integers(1, 100), st.sampled_from(["days", "years"])),
    )
    @settings(deadline=None, max_examples=200)
    def test_every_cheque_has_one_group_and_it_is_listed(
        self, dated: date, today: date, stale: int | None, old: tuple[int, str] | None
    ) -> None:
        limit = Limits(stale, old)
        title = title_of(dated.isoformat(), today, limit)
        assert title in (["Dated later than this report", *titles(limit)])
        if dated > today:
            assert title == "Dated later than this report"


class TestCleared:
    def test_it_tells_how_long_after_its_date_each_was_paid(self, day: Payday) -> None:
        day.print(day.accept([*crew(3), payment(4, "Ay Li", 57511, date="2026-12-04")]), 100501)
        paid(day, (100501, 86379, "2026-11-27"), (100502, 67873, "2026-12-05"), (100504, 57511, "2026-12-03"))
        report = cleared.build(day.book, day.settings, day.when())
        assert [(row["number"], row["paid_on"], row["days"]) for row in rows(report)] == [
            ("100501", "2026-11-27", 0), ("100502", "2026-12-05", 8), ("100504", "2026-12-03", -1),
        ]  # fmt: skip
        ages = {row["age"]: (row["cheques"], row["so_far"]) for row in rows(report, "ages")}
        assert (ages["Before its date"], ages["0 to 3 days"]) == ((1, 1), (1, 2))
        assert (ages["8 to 14 days"], ages["Over 90 days"]) == ((1, 3), (0, 3))
        assert "Half of them were paid within 0 days of their date." in text_of(report)
        assert [t["amount"] for t in totals(report, "cheques")] == ["2117.63"]

    def test_it_can_be_asked_for_by_the_days_on_which_they_were_paid(self, day: Payday) -> None:
        day.print(day.accept(crew(2)), 100501)
        paid(day, (100501, 86379, "2026-11-30"), (100502, 67873, "2026-12-05"))
        report = cleared.build(day.book, day.settings, day.when(), paid_from="2026-12-01", paid_to="2026-12-31")
        assert [row["number"] for row in rows(report)] == ["100502"]

    def test_another_amount_than_the_cheques_is_told(self, day: Payday) -> None:
        day.print(day.accept(crew(1)), 100501)
        paid(day, (100501, 86397, "2026-12-01"))
        report = cleared.build(day.book, day.settings, day.when())
        assert rows(report)[0]["paid"] == "863.97"
        assert "The bank paid another amount than the cheque's: 100501." in text_of(report)

    def test_nothing_cleared_is_said(self, day: Payday) -> None:
        assert "No statement in the book pays a cheque." in text_of(cleared.build(day.book, day.settings, day.when()))


class TestOwed:
    def test_a_voided_stale_wage_is_listed_until_it_is_printed_again(self, day: Payday) -> None:
        day.print(day.accept(crew(3)), 100501)
        cheques.void(day.book, account="main", number=100501, reason="stale", paper="not in hand",
                     disposition="still owed")  # fmt: skip
        report = owed.build(day.book, day.settings, day.when())
        (row,) = rows(report, "owed")
        assert (row["number"], row["payee"], row["amount"], row["group"]) == (
            "100501", "Niamh O'Dunmarrow", "863.79", "Still owed")  # fmt: skip
        assert "The bank has confirmed no stop of 100501" in text_of(report)
        assert "Voiding a cheque does not cancel what it was for." in text_of(report)
        day.reprint(100501, 100504, without_stop="the bank says it is stale")
        assert rows(owed.build(day.book, day.settings, day.when()), "owed") == []

    def test_what_nobody_decided_comes_first_and_what_is_settled_apart(self, day: Payday) -> None:
        day.print(day.accept(crew(4)), 100501)
        for number, word in ((100501, "reissue"), (100502, ""), (100503, "not owed"), (100504, "paid otherwise")):
            cheques.void(day.book, account="main", number=number, reason="why", paper="in hand", disposition=word)
        report = owed.build(day.book, day.settings, day.when())
        assert [(row["number"], row["group"]) for row in rows(report, "owed")] == [
            ("100502", "Nothing decided"), ("100501", "To be reissued")]  # fmt: skip
        assert [row["number"] for row in rows(report, "settled")] == ["100503", "100504"]
        replaced = {
            row["number"]: row["replaced_by"] for row in rows(voids.build(day.book, day.settings, day.when()), "voided")
        }
        assert replaced["100504"] == "nothing: paid otherwise (why)"
        assert replaced["100502"] == "nothing: not printed again"

    def test_a_cheque_missing_after_it_was_printed_is_owed(self, day: Payday) -> None:
        run = day.run(day.accept(crew(2)), 100501)
        day.seen(run, missing={100502: "not in the stack"})
        (row,) = rows(owed.build(day.book, day.settings, day.when()), "owed")
        assert (row["number"], row["state"], row["paper"]) == ("100502", "missing", "not found")


class TestUnclaimed:
    def test_no_figure_of_the_law_is_assumed(self, day: Payday) -> None:
        with pytest.raises(InputRefused, match="no figure is assumed: state unclaimed_after_years or"):
            unclaimed.build(day.book, day.settings, day.when())

    def test_it_lists_what_is_out_and_what_is_owed_with_the_last_address(self, day: Payday) -> None:
        old = [payment(i, f"Payee {i}", 100 * i, date=d, address=("3 Ferry Road", "Quillmere"))
               for i, d in enumerate(["2023-11-20", "2023-11-27", "2023-11-26", "2026-11-27"], 1)]  # fmt: skip
        day.print(day.accept(old), 100501)
        day.void(100503)
        report = unclaimed.build(day.book, stating(day, unclaimed_after=THREE_YEARS).settings, on(day, "2026-11-27"))
        assert [(row["number"], row["what"], row["address"]) for row in rows(report, "unclaimed")] == [
            ("100501", "outstanding", "3 Ferry Road, Quillmere"), ("100503", "voided, owed", "3 Ferry Road, Quillmere"),
        ]  # fmt: skip
        assert "is a matter of local law" in text_of(report)

    def test_what_is_not_owed_is_not_unclaimed(self, day: Payday) -> None:
        day.print(day.accept([payment(1, "Ay Li", 100, date="2020-01-02")]), 100501)
        cheques.void(day.book, account="main", number=100501, reason="twice", paper="in hand", disposition="not owed")
        report = unclaimed.build(day.book, stating(day, unclaimed_after=THREE_YEARS).settings, day.when())
        assert "Nothing is old enough." in text_of(report)


class TestLetters:
    def told(self, day: Payday) -> Report:
        home = ("Pier House", "3 Ferry Road", "Quillmere, QM 00411")
        day.print(day.accept([
            payment(1, "Ay Li", 100, date="2026-01-05", address=home),
            payment(2, "=cmd|' /C calc'!A0", 200, date="2026-01-05"),
            payment(3, "Ay Li", 300, date="2026-02-06", address=home), payment(4, "Ay Li", 400, address=home),
            payment(5, "Ay Li", 500, date="2026-02-06", address=("Elsewhere",)),
        ]), 100501)  # fmt: skip
        return letters.build(day.book, day.settings, day.when())

    def test_one_payee_at_one_address_is_one_letter_about_all_stale_cheques(self, day: Payday) -> None:
        found = {(row["payee"], row["address1"]): row for row in rows(self.told(day), "letters")}
        assert len(found) == 3
        one = found["Ay Li", "Pier House"]
        assert (one["numbers"], one["dates"], one["amounts"], one["total"]) == (
            "100501, 100503", "2026-01-05, 2026-02-06", "1.00, 3.00", "4.00")  # fmt: skip
        assert (one["address2"], one["address3"], one["address4"]) == ("3 Ferry Road", "Quillmere, QM 00411", None)

    def test_the_list_for_letters_is_a_heading_and_a_record_a_payee_and_no_formula(self, day: Payday) -> None:
        records = list(csv.DictReader(io.StringIO(render(self.told(day), "merge"), newline="")))
        assert len(records) == 3
        assert {r["payee"] for r in records} == {"Ay Li", "'=cmd|' /C calc'!A0"}
        assert all(r["currency"] == "USD" and None not in r for r in records)

    def test_any_age_can_be_asked_for(self, day: Payday) -> None:
        self.told(day)
        report = letters.build(day.book, day.settings, on(day, "2026-11-28"), over=0)
        assert sum(row["cheques"] for row in rows(report, "letters")) == 5
        assert rows(letters.build(day.book, day.settings, day.when(), over=5000), "letters") == []


def test_a_cleared_cheque_is_not_handed_over(day: Payday) -> None:
    day.print(day.accept(crew(2)), 100501)
    paid(day, (100501, 86379, "2026-12-01"))
    assert [row["number"] for row in rows(handover.build(day.book, day.settings, day.when()))] == ["100502"]


def test_as_of_an_earlier_day_nothing_later_is_known(day: Payday) -> None:
    day.print(day.accept(crew(2)), 100501)
    then = day.clock.at
    day.clock.later(days=1)
    paid(day, (100501, 86379, "2026-12-01"))
    day.void(100502)
    before = as_of(day.book, then)
    try:
        assert [row["number"] for row in rows(outstanding.build(before, day.settings, on(day, "2026-11-27")))] == [
            "100501", "100502"]  # fmt: skip
        assert rows(cleared.build(before, day.settings, on(day, "2026-11-27"))) == []
        assert rows(owed.build(before, day.settings, on(day, "2026-11-27")), "owed") == []
    finally:
        before.store.close()


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.sampled_from(["out", "paid", "void", "settled", "reprint"]), min_size=1, max_size=8))
def test_cleared_and_outstanding_and_owed_and_settled_make_what_was_issued(
    tmp_path_factory: pytest.TempPathFactory, fates: list[str]
) -> None:
    """In number and in money: issued = cleared + outstanding + owed + settled; a reprint stands for its payment."""
    with (day := Payday(tmp_path_factory.mktemp("fates"))).book:
        day.receive()
        day.print(day.accept(crew(len(fates))), 100501)
        number, amounts = 100501 + len(fates), [amount for _, amount in crew_amounts(len(fates))]
        for place, fate in enumerate(fates):
            if fate == "paid":
                paid(day, (100501 + place, amounts[place], "2026-12-01"))
            elif fate != "out":
                word = "not owed" if fate == "settled" else ""
                cheques.void(day.book, account="main", number=100501 + place, reason="w", paper="in hand",
                             disposition=word)  # fmt: skip
            if fate == "reprint":
                day.reprint(100501 + place, number)
                number += 1
        told = {
            "paid": rows(cleared.build(day.book, day.settings, day.when())),
            "out": rows(outstanding.build(day.book, day.settings, day.when())),
            "void": rows(owed.build(day.book, day.settings, day.when()), "owed"),
            "settled": rows(owed.build(day.book, day.settings, day.when()), "settled"),
        }
        for fate, found in told.items():
            wanted = [a for a, f in zip(amounts, fates, strict=True) if f == fate or (fate, f) == ("out", "reprint")]
            assert sorted(row["amount_minor_units"] for row in found) == sorted(wanted)
        assert sum(row["amount_minor_units"] for some in told.values() for row in some) == sum(amounts)
        assert len(list(debts.every(day.book))) == fates.count("void") + fates.count("settled")


def crew_amounts(count: int) -> list[tuple[str, int]]:
    return [(one.payee, one.amount) for one in crew(count)]


class TestPictures:
    PICTURE = Bars("Outstanding by age", (Bar("0 to 30 days", 400, "4.00 in 1 cheque"), Bar("31 to 60 days", 0, "none"),
                                          Bar("Stale", 100, "1.00", True), Bar("A hair", 1, "0.01")))  # fmt: skip

    def test_a_bar_is_as_long_as_its_share_of_the_greatest(self) -> None:
        boxes = [shape for shape in draw(self.PICTURE).shapes if isinstance(shape, Box)]
        assert len(boxes) == 3  # nothing for nought
        assert boxes[1].width == boxes[0].width // 4
        assert 0 < boxes[2].width < boxes[1].width
        assert boxes[1].fill != boxes[0].fill
        assert all(box.x + box.width < WIDTH for box in boxes)

    def test_the_same_figures_give_the_same_bytes_and_well_formed_svg(self) -> None:
        assert to_svg(self.PICTURE) == to_svg(self.PICTURE)
        root = ElementTree.fromstring(to_svg(self.PICTURE))
        assert root.findtext("{http://www.w3.org/2000/svg}title") == "Outstanding by age"

    def test_no_name_in_a_picture_is_markup(self) -> None:
        hostile = Bars("<script>alert(1)</script>", (Bar("</svg><h1>", 1, '"><img src=x>'),))
        ElementTree.fromstring(to_svg(hostile))
        assert "<script" not in to_svg(hostile)

    def test_a_picture_of_nothing_is_drawn(self) -> None:
        ElementTree.fromstring(to_svg(Bars("Nothing", ())))

    def test_the_page_shows_it_and_fetches_nothing(self, day: Payday) -> None:
        day.print(day.accept(crew(3)), 100501)
        page = render(outstanding.build(day.book, day.settings, day.when()), "html")
        assert page.count("<svg") == 1
        assert "Content-Security-Policy" in page
        assert not re.search(r"(?:src|href)=|url\(", page)
        assert "figure" not in render(outstanding.build(day.book, day.settings, day.when()), "text")


@pytest.mark.parametrize(("locale", "days"), [("en_US", 180), ("en_IN", 90), ("de_DE", 8), ("fr_FR", 373)])
def test_stale_is_by_the_accounts_country_unless_stated(tmp_path: Path, locale: str, days: int) -> None:
    """UCC § 4-404 (six months); Reserve Bank of India 2011-11-04 (three months); Germany, France: from memory."""
    from cheque.settings import parse, template

    given = {"drawer": "Q", "address": (), "bank": "T", "routing": "", "number": "", "currency": "USD"}
    text = template(locale=locale, **given)  # type: ignore[arg-type]
    assert f"stale_after_days = {days} " in text
    assert parse(text, tmp_path / "cheque.toml").accounts["main"].stale_after_days == days
    without = re.sub(r"(?m)^stale_after_days.*\n", "", text)
    assert parse(without, tmp_path / "cheque.toml").accounts["main"].stale_after_days == days


def test_the_age_of_unclaimed_money_is_stated_in_days_or_in_years(tmp_path: Path) -> None:
    from cheque.settings import parse, template

    text = template(drawer="Q", address=(), bank="T", routing="", number="", currency="USD", locale="en_US")
    assert parse(text, tmp_path / "cheque.toml").accounts["main"].unclaimed_after is None

    def stated(*lines: str) -> tuple[int, str] | None:
        changed = text.replace('currency = "USD"', "\n".join(['currency = "USD"', *lines]))
        return parse(changed, tmp_path / "cheque.toml").accounts["main"].unclaimed_after

    assert stated("unclaimed_after_years = 3") == (3, "years")
    assert stated("unclaimed_after_days = 400") == (400, "days")
    for wrong in (["unclaimed_after_years = 0"], ["unclaimed_after_days = -1"], ["unclaimed_after_years = 'x'"],
                  ["unclaimed_after_years = 3", "unclaimed_after_days = 4"]):  # fmt: skip
        with pytest.raises(InputRefused):
            stated(*wrong)
