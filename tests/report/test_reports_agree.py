"""The same figures on every sheet: text, CSV, JSON and HTML of one report hold the same amounts, as often."""

import csv
import io
import json
import re
from collections import Counter
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest
from report.payday import EUROS, MAIN, Payday, crew, payment, played

from cheque.book import statements
from cheque.reconcile.numbers import reconcile
from cheque.report import (
    cleared,
    control,
    handover,
    issued,
    letters,
    numbers,
    outstanding,
    owed,
    reconciled,
    unclaimed,
    voids,
)
from cheque.report.page import Report
from cheque.report.render import render

_AMOUNT = re.compile(r"(?<![\d.])-?\d+\.\d\d(?!\d)")


def of_text(text: str) -> Counter[str]:
    """The amounts in a text, as often as they stand there."""
    return Counter(_AMOUNT.findall(text))


def of_csv(text: str) -> Counter[str]:
    return of_text("\n".join(cell for row in csv.reader(io.StringIO(text, newline="")) for cell in row))


def of_json(text: str) -> Counter[str]:
    def strings(value: object) -> Iterator[str]:
        if isinstance(value, str):
            yield value
        elif isinstance(value, list):
            for inner in value:
                yield from strings(inner)
        elif isinstance(value, dict):
            for inner in value.values():
                yield from strings(inner)

    return of_text("\n".join(strings(json.loads(text))))


def of_html(text: str) -> Counter[str]:
    class Words(HTMLParser):
        said = ""

        def handle_starttag(self, tag: str, attrs: object) -> None:
            self.said += "\n"

        def handle_data(self, data: str) -> None:
            if self.lasttag != "style":
                self.said += data

    words = Words()
    words.feed(text)
    return of_text(words.said)


def reports(day: Payday) -> dict[str, Report]:
    """Every report there is of a payday."""
    book, settings, when = day.book, day.settings, day.when()
    old = settings._replace(accounts={n: a._replace(unclaimed_after=(0, "days")) for n, a in settings.accounts.items()})
    return {
        "issued": issued.build(book, settings, when),
        "issued of a batch": issued.build(book, settings, when, batch=1),
        "control": control.build(book, settings, when, batch=1),
        "control of a reprint": control.build(book, settings, when, batch=2),
        "numbers": numbers.build(book, settings, when),
        "numbers of a batch": numbers.build(book, settings, when, batch=1),
        "outstanding": outstanding.build(book, settings, when),
        "cleared": cleared.build(book, settings, when),
        "owed": owed.build(book, settings, when),
        "unclaimed": unclaimed.build(book, old, when),
        "letters": letters.build(book, settings, when, over=0),
        "voids": voids.build(book, settings, when),
        "handover": handover.build(book, settings, when),
        "handover with amounts": handover.build(book, settings, when, amounts=True, every=True),
        "reconcile": reconciled.build(reconcile(book, 1), settings, when),
    }


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Payday]:
    """A payday with everything in it, and a second account in another currency."""
    found = played(tmp_path_factory.mktemp("payday"))
    found.settings.accounts["quay"] = EUROS
    found.receive("000201", "000240", account="quay")
    batch = found.accept([payment(1, "Tarn & Tiller Chandlery", 123456, expected="")], account="quay")
    found.print(batch, 201)
    found.void(100504)
    paid = [statements.Item("2026-12-02", 100501, -86379), statements.Item("2026-12-09", 100502, -67800)]
    told = {"name": "December", "source": "statement.xml", "digest": "", "first": "2026-12-01", "last": "2026-12-31"}
    statements.enter(found.book, paid, account="main", opening=None, closing=None, entries=2, **told)
    found.clock.later(days=40)
    with found.book:
        yield found


@pytest.mark.parametrize("name", [
    "issued", "issued of a batch", "control", "control of a reprint", "numbers", "numbers of a batch",
    "outstanding", "cleared", "owed", "unclaimed", "letters", "voids", "handover", "handover with amounts", "reconcile",
])  # fmt: skip
def test_every_rendering_shows_the_same_amounts(day: Payday, name: str) -> None:
    report = reports(day)[name]
    amounts = of_text(render(report, "text"))
    assert of_csv(render(report, "csv")) == amounts
    assert of_json(render(report, "json")) == amounts
    assert of_html(render(report, "html")) == amounts
    if name not in ("handover",):
        assert amounts, "a report of money that shows none proves nothing"


def test_the_account_number_stands_nowhere_in_full(day: Payday) -> None:
    for report in reports(day).values():
        for form in ("text", "csv", "json", "html"):
            text = render(report, form)
            assert MAIN.number not in text
            assert EUROS.number not in text
            assert "3355" in text or "1777" in text


def test_accounts_of_two_currencies_are_never_added_up(day: Payday) -> None:
    text = render(reports(day)["issued"])
    assert "Account main, USD" in text
    assert "Account quay, EUR" in text
    assert "1234.56" in text
    assert "000201" in text


def test_a_report_is_the_same_a_second_time(day: Payday) -> None:
    assert reports(day) == reports(day)


def test_a_hundred_payments_fit_every_rendering(tmp_path: Path) -> None:
    with (day := Payday(tmp_path)).book:
        day.receive("100501", "100800")
        batch = day.accept([one._replace(item=i, reference=f"R{i}") for i in range(1, 131) for one in crew(1)])
        day.print(batch, 100501)
        report = issued.build(day.book, day.settings, day.when())
        assert of_text(render(report, "text"))["863.79"] == 130
        assert of_csv(render(report, "csv"))["863.79"] == 130
