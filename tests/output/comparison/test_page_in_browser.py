from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from nest.output.comparison.facts import compared
from nest.output.comparison.text import comparison_html
from tests.output import sample_plans as samples
from tests.output.browsing import Seen, opened

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with opened() as browser:
        yield browser


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("compared") / "compare.html"
    told = compared(samples.week(), samples.hostile(), ("first", "x" * 300))
    path.write_text(comparison_html(told), encoding="utf-8")
    return path


def test_the_page_asks_for_nothing_and_fits_a_phone(browser: Any, written: Path) -> None:
    with Seen(browser, written, width=360) as seen:
        assert seen.asked == [written.as_uri()]
        assert seen.told == []
        assert seen.page.evaluate("document.documentElement.scrollWidth") <= 360


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_screen_reader_meets_no_serious_fault(browser: Any, written: Path, scheme: str) -> None:
    with Seen(browser, written, color_scheme=scheme) as seen:
        assert seen.faults() == []
