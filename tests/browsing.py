"""A real headless Chromium for the tests, as Debian packages it, that may reach nothing but the file it is given."""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest

_ARGUMENTS = ["--disable-gpu", "--disable-quic", "--disable-background-networking", "--disable-component-update"]


class Visit:
    """One page open in the browser: `page`, and what it asked for and complained of."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.asked: list[str] = []
        self.said: list[str] = []
        page.on("request", lambda request: self.asked.append(request.url))
        page.on("console", lambda message: self.said.append(message.text))
        page.on("pageerror", lambda error: self.said.append(str(error)))
        page.on("dialog", lambda dialog: (self.said.append(f"dialog: {dialog.message}"), dialog.dismiss()))

    def until(self, expression: str) -> None:
        """Wait until an expression is true (the page forbids the waiting that evaluates text inside it)."""
        for _ in range(400):
            if self.page.evaluate(expression):
                return
            self.page.wait_for_timeout(25)
        raise AssertionError(f"never true: {expression}")

    def faults(self) -> list[str]:
        """What axe-core finds wrong with the page for a keyboard or a screen reader (WCAG 2.1 A and AA, and its own
        good practice)."""
        self.page.evaluate(axe().read_text("utf-8"))
        found = self.page.evaluate("axe.run(document, {resultTypes: ['violations']})")
        return [
            f"{one['id']}: {one['help']}: {node['html'][:200]}" for one in found["violations"] for node in one["nodes"]
        ]


def axe() -> Path:
    """axe-core's own script, as its Python package carries it."""
    spec = find_spec("axe_playwright_python")
    assert spec
    assert spec.origin
    return Path(spec.origin).with_name("axe.min.js")


@contextmanager
def chromium() -> Iterator[Any]:
    """The browser; skips where there is none."""
    found = shutil.which("chromium")
    if not found:
        pytest.skip("no Chromium here: apt-get install chromium")
    from playwright.sync_api import sync_playwright

    arguments = [*_ARGUMENTS, *(["--no-sandbox"] if os.geteuid() == 0 else [])]
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=found, args=arguments)
        try:
            yield browser
        finally:
            browser.close()


@contextmanager
def visiting(browser: Any, path: Path, **options: Any) -> Iterator[Visit]:
    """A page of a file, in a context of its own."""
    context = browser.new_context(viewport={"width": 1200, "height": 900}, **options)
    try:
        visit = Visit(context.new_page())
        visit.page.goto(path.resolve().as_uri())
        yield visit
    finally:
        context.close()
