"""Reports as people and programs read them: one file per format, each with `render(report, ...) -> str`.

Every format shows the same figures; what differs is only how they stand.
"""

from importlib import import_module
from typing import Any

from cheque.report.page import Report, spoken

#: format -> the module of this package that writes it
FORMATS = {"text": "text", "csv": "csvfile", "json": "jsonfile", "html": "html"}
#: read by people, in their language; the others by programs, in English
SPOKEN = ("text", "html")
#: for a list that letters are written from
MERGE = {"merge": "mergefile"}


def render(report: Report, form: str = "text", **options: Any) -> str:
    """A report in one of FORMATS (or MERGE); `options` are that format's own. KeyError for a format that is none."""
    if form in SPOKEN:
        report = spoken(report)
    written: str = import_module(f"cheque.report.render.{(FORMATS | MERGE)[form]}").render(report, **options)
    return written
