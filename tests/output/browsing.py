"""A headless browser for tests that look at pages as people do; tests are skipped where there is none.

`NEST_AXE` may name the file ``axe.min.js`` of the npm package axe-core, which `.ci/run` fetches.
"""

from __future__ import annotations

import json
import os
import re
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

BROWSER = Path("/usr/bin/chromium")
FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking"]
SERIOUS = ("serious", "critical")
_RUN_AXE = """axe.run(document, {resultTypes: ['violations']}).then(found => JSON.stringify(
  found.violations.map(one => [one.impact, one.id, one.nodes.slice(0, 3).map(node => node.html)])))"""


@contextmanager
def opened() -> Iterator[Any]:
    """A started browser."""
    api = pytest.importorskip("playwright.sync_api")
    if not BROWSER.exists():
        pytest.skip("no headless browser here")
    with api.sync_playwright() as started:
        browser = started.chromium.launch(executable_path=str(BROWSER), args=FLAGS)
        yield browser
        browser.close()


class Seen:
    """A page that was opened, with what it asked for and what it complained of."""

    def __init__(self, browser: Any, path: Path, *, width: int = 1280, **context: Any) -> None:
        self.context = browser.new_context(viewport={"width": width, "height": 900}, **context)
        self.page = self.context.new_page()
        self.asked: list[str] = []
        self.told: list[str] = []
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.on("console", lambda message: self.told.append(message.text))
        self.page.on("pageerror", lambda error: self.told.append(str(error)))
        self.page.on("dialog", self._dialog)
        self.page.goto(path.as_uri())

    def _dialog(self, dialog: Any) -> None:
        self.told.append(dialog.message)
        dialog.dismiss()

    def __enter__(self) -> Seen:
        return self

    def __exit__(self, *_: object) -> None:
        self.context.close()

    def pdf_pages(self) -> int:
        """How many pages it prints."""
        return len(re.findall(rb"/Type\s*/Page\b(?!s)", self.page.pdf(prefer_css_page_size=True)))

    def faults(self) -> list[Any]:
        """Serious faults of accessibility that axe-core finds; the test is skipped where axe-core is not there."""
        file = os.environ.get("NEST_AXE")
        if not file or not Path(file).is_file():
            pytest.skip("NEST_AXE names no axe.min.js")
        self.page.evaluate(Path(file).read_text(encoding="utf-8") + ";0")
        return [one for one in json.loads(self.page.evaluate(_RUN_AXE)) if one[0] in SERIOUS]
