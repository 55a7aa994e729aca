"""The documents as a site, in a real browser: read by keyboard and screen reader, on a desk and on a telephone."""

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browsing import chromium, visiting
from documents.pages import ROOT

LOOKED_AT = ("index", "how-to/jam", "first-payday", "settings", "commands")


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("site")
    subprocess.run(
        [sys.executable, "-m", "mkdocs", "build", "--quiet", "--strict", "--site-dir", str(folder)],
        cwd=ROOT,
        check=True,
    )
    return folder


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as found:
        yield found


@pytest.mark.parametrize("name", LOOKED_AT)
def test_axe_finds_no_fault_and_nothing_is_wider_than_a_telephone(browser: Any, site: Path, name: str) -> None:
    with visiting(browser, site / f"{name}.html") as visit:
        assert [url for url in visit.asked if not url.startswith(("file:", "data:"))] == []
        assert visit.faults() == []
        visit.page.set_viewport_size({"width": 400, "height": 900})
        wider = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        visit.until(f"{wider} <= 0")
        assert visit.faults() == []
