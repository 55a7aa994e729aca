"""For all tests: in CI nothing is skipped.

A test that needs a service, root or a system tool is skipped, with a line that says so, on a machine that cannot
have it. In CI (`CI` set) the same is a failure: a green run must not hide a missing step.
"""

import ast
import os
from collections.abc import Generator
from typing import Any

import pytest

_parse = ast.parse


def _parse_again(*arguments: Any, **named: Any) -> Any:
    """`ast.parse`, tried again when CPython trips over itself.

    Some versions (3.11.7 among them) now and then raise SystemError, "AST constructor recursion depth mismatch", for
    a source that is perfectly good, when something else makes a syntax tree meanwhile. Hypothesis reads the source
    of state machines so. Parsing changes nothing, so trying again is safe.
    """
    for _ in range(5):
        try:
            return _parse(*arguments, **named)
        except SystemError as error:
            if "recursion depth mismatch" not in str(error):
                raise
    return _parse(*arguments, **named)


ast.parse = _parse_again

# whatever the machine speaks, the tests read English; who wants another language says so
os.environ["LANGUAGE"] = "en"


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item, call: pytest.CallInfo[None]
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Turn a skip into a failure in CI."""
    report = yield
    if os.environ.get("CI") and report.skipped and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
        report.longrepr = (
            f"skipped in CI, where everything must run: {call.excinfo.value if call.excinfo else item.name}"
        )
    return report
