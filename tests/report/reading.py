"""Reads a report back, as a program or as a person would."""

import json
from typing import Any

from cheque.report.page import Report
from cheque.report.render import render


def rows(report: Report, table: str = "cheques") -> list[dict[str, Any]]:
    """The rows of a report's tables of that key, as a program reads them."""
    found = json.loads(render(report, "json"))
    return [row for one in found["tables"] if one["table"] == table for row in one["rows"]]


def totals(report: Report, table: str) -> list[dict[str, Any]]:
    """The totals of a report's tables of that key."""
    found = json.loads(render(report, "json"))
    return [total for one in found["tables"] if one["table"] == table for total in one["totals"]]


def text_of(report: Report) -> str:
    """The text, its lines joined, so that a sentence can be looked for."""
    return " ".join(render(report, page_lines=0).split())
