"""Reports as people and programs read them: one file per format, each with `render(report, ...) -> str`.

Every format shows the same figures; what differs is only how they stand.
"""

from importlib import import_module
from typing import Any

from cheque.report.page import Report

#: format -> the module of this package that writes it
FORMATS = {"text": "text", "csv": "csvfile", "json": "jsonfile", "html": "html"}
#: for a list that letters are written from
MERGE = {"merge": "mergefile"}


def render(report: Report, form: str = "text", **options: Any) -> str:
    """A report in one of FORMATS (or MERGE); `options` are that format's own. KeyError for a format that is none."""
    written: str = import_module(f"cheque.report.render.{(FORMATS | MERGE)[form]}").render(report, **options)
    return written
