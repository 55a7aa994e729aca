"""Report pages in a real browser: no fault for a keyboard or a screen reader, on a narrow screen too; no network."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browsing import chromium, visiting
from journeys.firm import Firm

REPORTS = ("control", "issued", "numbers", "handover", "outstanding")


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as found:
        yield found


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Path:
    firm = Firm(tmp_path_factory.mktemp("firm")).set_up()
    firm.register()
    firm.accept()
    firm.print()
    firm.run("confirm", "1", "--good-count", "24")
    for name in REPORTS:
        firm.run("report", name, "--format", "html", "-o", f"{name}.html")
    return firm.folder


@pytest.mark.parametrize("name", REPORTS)
def test_a_report_page_has_no_fault_and_asks_for_nothing(browser: Any, pages: Path, name: str) -> None:
    path = pages / f"{name}.html"
    with visiting(browser, path) as visit:
        assert visit.faults() == []
        assert visit.asked == [path.resolve().as_uri()]
        assert visit.said == []


@pytest.mark.parametrize("name", REPORTS)
def test_on_a_narrow_screen_a_wide_table_moves_by_itself_and_not_the_page(browser: Any, pages: Path, name: str) -> None:
    with visiting(browser, pages / f"{name}.html") as visit:
        visit.page.set_viewport_size({"width": 400, "height": 800})
        assert visit.page.evaluate("document.documentElement.scrollWidth") == 400
        assert visit.faults() == []
        if name == "control":
            visit.page.keyboard.press("Tab")
            assert visit.page.evaluate("document.activeElement.className") == "wide"
