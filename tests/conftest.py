"""For all tests: in CI nothing is skipped.

A test that needs a service, root or a system tool is skipped, with a line that says so, on a machine that cannot
have it. In CI (`CI` set) the same is a failure: a green run must not hide a missing step.
"""

import os
from collections.abc import Generator

import pytest


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
