"""CSV, JSON and HTML: whatever a payee is called, no cell is a formula, no page runs anything, figures stay figures."""

import csv
import io
import json
from html.parser import HTMLParser

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from report.samples import HOSTILE, with_payees

from cheque.report.page import shown
from cheque.report.render import render
from cheque.report.render.csvfile import guarded, unguarded

#: what begins a formula in one spreadsheet or another (OWASP, "CSV Injection", from memory)
TRIGGERS = "=+-@\t\r\n＝＋－＠"

TAGS = {
    "html", "head", "meta", "title", "style", "body", "header", "main", "footer", "p", "h1", "h2", "span", "bdi",
    "div", "dl", "dt", "dd", "code", "br", "table", "thead", "tbody", "tfoot", "tr", "th", "td", "i", "ul", "li",
    "section",
}  # fmt: skip
ATTRIBUTES = {
    "lang", "charset", "http-equiv", "content", "name", "class", "scope", "colspan", "id", "aria-labelledby",
    "aria-label", "role", "tabindex",
}  # fmt: skip


class Page(HTMLParser):
    """What a browser would make of a page: its elements, attributes and text."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: set[str] = set()
        self.attributes: set[str] = set()
        self.said: list[str] = []
        self.open: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}
        if tag not in ("meta", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "style" not in self.open:
            self.said.append(data)


def records(text: str) -> list[dict[str, str]]:
    """A CSV file as a strict reader has it."""
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


@given(st.text())
def test_no_text_becomes_a_formula_and_every_text_can_be_had_back(text: str) -> None:
    cell = guarded(text)
    assert unguarded(cell) == text
    assert not cell.startswith(tuple(TRIGGERS))
    assert not cell.strip().startswith(tuple(TRIGGERS))


@pytest.mark.parametrize("text", ["Niamh O'Dunmarrow", "'t Hoen & Zn", "A=B", "", "12", "Smith-Jones", "a@b.invalid"])
def test_an_ordinary_name_is_left_alone(text: str) -> None:
    assert guarded(text) == text


@pytest.mark.parametrize("separator", [";", "\t", "|"])
@pytest.mark.parametrize("text", ["a;=1+1", "b; @x", "c;'-2", ";|=1", 'd;"=1+1', "e|=1+1", "=1;=2", "; ;＝1"])
def test_no_part_of_a_text_is_a_formula_where_a_spreadsheet_splits_at_another_separator(
    text: str, separator: str
) -> None:
    text = text.replace(";", separator)
    out = io.StringIO()
    csv.writer(out).writerow(["row", guarded(text), "last"])
    assert unguarded(guarded(text)) == text
    for delimiter in ",;\t|":
        for cell in next(csv.reader(io.StringIO(out.getvalue(), newline=""), delimiter=delimiter)):
            assert cell.strip()[:1] not in {*"=+-@＝＋－＠"}


def test_no_cell_of_a_csv_report_begins_a_formula_but_a_negative_amount_stays_a_number() -> None:
    found = records(render(with_payees(HOSTILE), "csv"))
    amounts = [record["amount"] for record in found if record["line"] == "row"]
    assert amounts[:4] == ["-2.50", "-1.50", "-0.50", "0.50"]
    for record in found:
        for key, cell in record.items():
            if key != "amount":
                assert not cell.lstrip(" '").startswith(tuple(TRIGGERS)) or cell.startswith("'"), cell
                assert not cell.startswith(tuple(TRIGGERS))
    payees = [unguarded(record["payee"]) for record in found if record["line"] == "row"]
    assert payees == [shown(name) for name in HOSTILE]


def test_a_csv_report_is_one_rectangle_with_lines_ended_as_the_standard_says() -> None:
    """RFC 4180, section 2: CR LF, and each line with the same number of fields."""
    text = render(with_payees(HOSTILE), "csv")
    rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert {len(row) for row in rows} == {len(rows[0])}
    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "")


def test_json_is_exact_and_safe_to_look_at() -> None:
    text = render(with_payees(HOSTILE), "json")
    assert text.replace("\n", "").isprintable()
    found = json.loads(text, parse_float=pytest.fail)
    rows = found["tables"][0]["rows"]
    assert [row["payee"] for row in rows] == list(HOSTILE)
    assert rows[0]["amount"] == "-2.50"
    assert rows[0]["amount_minor_units"] == -250
    assert rows[0]["currency"] == "USD"
    assert found["about"]["digest"] == "ab" * 32
    assert found["agrees"] is True


@settings(max_examples=60, deadline=None)
@given(st.text(st.characters(codec="utf-8"), min_size=1))
def test_any_name_at_all_comes_through_json_and_csv(name: str) -> None:
    report = with_payees((name,))
    assert json.loads(render(report, "json"))["tables"][0]["rows"][0]["payee"] == name
    row = next(record for record in records(render(report, "csv")) if record["line"] == "row")
    assert unguarded(row["payee"]) == shown(name)


def test_a_page_holds_nothing_that_runs_or_is_fetched() -> None:
    text = render(with_payees(HOSTILE), "html")
    page = Page(text)
    assert page.tags <= TAGS
    assert page.attributes <= ATTRIBUTES
    assert page.open == []
    assert "default-src 'none'" in text
    assert "url(" not in text
    assert "@import" not in text
    said = "".join(page.said)
    assert said.replace("\n", "").isprintable()
    for name in HOSTILE:
        assert shown(name) in said


@settings(max_examples=60, deadline=None)
@given(st.text(st.characters(codec="utf-8"), min_size=1))
def test_no_name_breaks_out_of_its_cell(name: str) -> None:
    page = Page(render(with_payees((name,)), "html"))
    assert page.tags <= TAGS
    assert page.attributes <= ATTRIBUTES
    assert page.open == []
    assert shown(name) in page.said
    assert "".join(page.said).replace("\n", "").isprintable()
