"""The report as a browser shows it: on a desk, on a phone, on paper, without script, to a screen reader."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from nest.output.patterns import patterns
from tests.output import sample_plans as samples
from tests.output.browsing import Seen, opened
from tests.output.report import made

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from nest.domain.plan import Plan

NAMES = ("week", "small", "hostile", "extreme")
RIGHT_TO_LEFT = "\u05e9\u05dc\u05d5\u05dd 12 \u0623\u0644\u0641"
ADDRESS = 'x" onmouseover="alert(1)'


def hostile() -> Plan:
    """The hostile sample with a name that reads from right to left and one that tries to leave its attribute."""
    plan = samples.hostile()
    (sheet,) = plan.sheets
    (plate,) = sheet.plates
    pieces = [*plate.pieces]
    pieces[0], pieces[1] = replace(pieces[0], job=RIGHT_TO_LEFT), replace(pieces[1], job=ADDRESS)
    return replace(plan, sheets=(replace(sheet, plates=(replace(plate, pieces=tuple(pieces)),)),))


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with opened() as browser:
        yield browser


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("reports")
    plans = {"week": samples.week(), "small": samples.small(), "hostile": hostile(), "extreme": samples.extreme()}
    paths = {}
    for name, plan in plans.items():
        paths[name] = folder / f"{name}.html"
        paths[name].write_text(made.report(plan), encoding="utf-8")
    return paths


@pytest.mark.parametrize("name", NAMES)
def test_the_page_asks_for_nothing_and_complains_of_nothing(
    browser: Any, written: dict[str, Path], name: str
) -> None:
    with Seen(browser, written[name]) as seen:
        seen.page.mouse.wheel(0, 5000)
        assert seen.asked == [written[name].as_uri()]
        assert seen.told == []


@pytest.mark.parametrize("script", [True, False])
def test_every_layout_has_its_drawing_and_a_small_one(
    browser: Any, written: dict[str, Path], script: bool
) -> None:
    drawn = patterns(samples.week())
    with Seen(browser, written["week"], java_script_enabled=script) as seen:
        for number, pattern in enumerate(drawn, 1):
            large = seen.page.locator(f"#sheet-{number}-drawing")
            large.scroll_into_view_if_needed()
            box = large.bounding_box()
            assert box["width"] > 200
            assert box["height"] > 200
            pieces = sum(len(plate.pieces) for plate in pattern.first.plates)
            assert large.locator(".piece").count() == pieces
        small = seen.page.locator(".overview svg")
        assert small.count() == len(drawn)
        assert all(small.nth(at).bounding_box()["height"] > 100 for at in range(len(drawn)))


def test_without_script_all_of_it_can_be_read(browser: Any, written: dict[str, Path]) -> None:
    with Seen(browser, written["week"], java_script_enabled=False) as seen:
        assert seen.page.locator("#find").is_hidden()
        assert seen.page.locator("tr[data-job]").count() == len({row.job for row in samples.rows_of(samples.week())} | {
            row.job for row in samples.week().unplaced
        })  # fmt: skip
        for tables in (seen.page.locator("#planner table"), seen.page.locator(".sheet-page").nth(0).locator("table")):
            assert tables.count() > 2
            assert all(tables.nth(at).is_visible() for at in range(tables.count()))
        seen.page.get_by_text("All job numbers").click()
        seen.page.locator(".index a", has_text="2433").click()
        assert seen.page.evaluate("document.querySelector(':target').dataset.job") == "2433"


def find(seen: Seen, number: str) -> str:
    seen.page.fill("#find-number", number)
    seen.page.press("#find-number", "Enter")
    return str(seen.page.locator("#found").inner_text())


def test_a_job_is_found_by_its_number_and_marked_on_every_drawing(browser: Any, written: dict[str, Path]) -> None:
    with Seen(browser, written["week"]) as seen:
        assert find(seen, " 2420 ") == "Job 2420: on S03"
        marked = Counter(seen.page.evaluate("[...document.querySelectorAll('.found')].map(one => one.tagName)"))
        # three pieces on the drawing, their rows in the table of pieces and the job's own row
        assert marked == {"rect": 3, "TR": 4}
        assert seen.page.locator("tr[data-job='2420']").is_visible()
        assert find(seen, "243").startswith("8 jobs: 2430, 2431, ")
        assert find(seen, "nobody") == "No job with this number."
        assert seen.page.locator(".found").count() == 0
        seen.page.get_by_role("link", name="S04").first.click()
        assert seen.page.url.endswith("#sheet-3")


def test_tables_sort_by_a_press_on_their_heading(browser: Any, written: dict[str, Path]) -> None:
    with Seen(browser, written["week"]) as seen:
        heading = seen.page.get_by_role("button", name="Share").first
        cells = "[...document.querySelectorAll('tr[data-job]')].map(row => row.dataset.job)"
        before = seen.page.evaluate(cells)
        heading.click()
        heading.click()
        assert seen.page.locator("th[aria-sort='descending']").count() == 1
        after = seen.page.evaluate(cells)
        assert sorted(after) == sorted(before)
        share = {one.job: one.share for one in samples.shares_of(samples.week())}
        costs = [share[job] for job in after if job in share]
        assert costs == sorted(costs, reverse=True)


@pytest.mark.parametrize(("name", "script"), [*((name, True) for name in NAMES), ("week", False)])
def test_a_phone_never_scrolls_the_page_sideways(
    browser: Any, written: dict[str, Path], name: str, script: bool
) -> None:
    with Seen(browser, written[name], width=360, java_script_enabled=script) as seen:
        wide = "document.documentElement.scrollWidth"
        assert seen.page.evaluate(wide) <= 360
        seen.page.evaluate("document.querySelectorAll('.sheet-page').forEach(one => one.scrollIntoView())")
        assert seen.page.evaluate(wide) <= 360


def test_paper_gets_a_page_for_each_sheet(browser: Any, written: dict[str, Path]) -> None:
    with Seen(browser, written["small"]) as seen:
        seen.page.evaluate("document.body.dataset.print = 'sheets'")
        assert seen.pdf_pages() == 1
    with Seen(browser, written["week"]) as seen:
        whole = seen.pdf_pages()
        parts = {}
        for part in ("planner", "sheets", "buyer"):
            seen.page.evaluate(f"document.body.dataset.print = '{part}'")
            parts[part] = seen.pdf_pages()
        assert whole == sum(parts.values())
        # no two sheets share a page: printed alone they take as many
        seen.page.evaluate("document.body.dataset.print = 'sheets'")
        alone = 0
        hide = "at => document.querySelectorAll('.sheet-page').forEach((one, n) => one.hidden = n !== at)"
        for number in range(len(patterns(samples.week()))):
            seen.page.evaluate(hide, number)
            alone += seen.pdf_pages()
        assert parts["sheets"] == alone >= len(patterns(samples.week()))


def test_paper_shows_folded_tables_too(browser: Any, written: dict[str, Path]) -> None:
    with Seen(browser, written["week"]) as seen:
        before = seen.pdf_pages()
        seen.page.get_by_role("button", name="Fold tables", exact=True).click()
        assert not seen.page.locator(".pieces table").first.is_visible()
        assert seen.pdf_pages() == before


def test_the_first_key_leads_past_the_navigation(browser: Any, written: dict[str, Path]) -> None:
    with Seen(browser, written["week"]) as seen:
        seen.page.keyboard.press("Tab")
        assert seen.page.evaluate("document.activeElement.className") == "skip"
        seen.page.keyboard.press("Enter")
        seen.page.keyboard.press("Tab")
        assert seen.page.evaluate("document.querySelector('main').contains(document.activeElement)")


@pytest.mark.parametrize(
    ("name", "width", "scheme"),
    [("week", 1280, "light"), ("week", 360, "dark"), ("hostile", 1280, "dark"), ("hostile", 360, "light")],
)
def test_a_screen_reader_meets_no_serious_fault(
    browser: Any, written: dict[str, Path], name: str, width: int, scheme: str
) -> None:
    with Seen(browser, written[name], width=width, color_scheme=scheme) as seen:
        # what is far down is laid out only when it comes near: a reader meets all of it
        seen.page.evaluate("document.querySelectorAll('.sheet-page').forEach(one => one.scrollIntoView())")
        assert seen.faults() == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_drawings_are_seen_in_light_and_dark(browser: Any, written: dict[str, Path], scheme: str) -> None:
    with Seen(browser, written["week"], color_scheme=scheme) as seen:
        seen.page.locator("#sheet-1-drawing").scroll_into_view_if_needed()
        ink, paper = seen.page.evaluate("""() => {
          const light = text => text.match(/[\\d.]+/g).slice(0, 3).reduce((sum, one) => sum + Number(one), 0) / 765;
          const style = (where, what) => light(getComputedStyle(document.querySelector(where))[what]);
          return [style('#sheet-1-drawing .raw-cuts line', 'stroke'), style('#sheet-1-drawing .sheet rect', 'fill')];
        }""")
        assert (ink < 0.2 and paper > 0.9) if scheme == "light" else (ink > 0.8 and paper < 0.2)


def test_hostile_names_show_as_text_and_do_nothing(browser: Any, written: dict[str, Path]) -> None:
    with Seen(browser, written["hostile"]) as seen:
        jobs = seen.page.evaluate("[...document.querySelectorAll('tr[data-job] > th')].map(one => one.innerText)")
        assert {RIGHT_TO_LEFT, ADDRESS, "x" * 400, "🎨🎨 poster", "]]>&#0;", "=1+1"} <= set(jobs)
        assert seen.page.evaluate("document.querySelectorAll('script').length") == 1
        assert seen.page.evaluate("document.querySelectorAll('[onmouseover]').length") == 0
        for name in (RIGHT_TO_LEFT, ADDRESS, "印刷版" * 30):
            assert find(seen, name).startswith("Job ")
        # a name that reads from right to left stands by itself: what follows keeps its order
        cell = seen.page.locator(f"tr[data-job='{RIGHT_TO_LEFT}'] > th bdi")
        assert seen.page.evaluate("one => getComputedStyle(one).unicodeBidi", cell.element_handle()) == "isolate"
        assert seen.told == []


def large() -> Plan:
    """Sixteen crowded sheets, all different: 736 pieces."""
    copies: Counter[tuple[str, str, str]] = Counter()
    sheets = [replace(samples.dense_sheet(copies), id=f"S{n:02}", lot=f"H-{n}") for n in range(1, 17)]
    return samples.plan_of(sheets)


def test_a_large_week_stays_under_8_mb() -> None:
    assert len(made.report(large()).encode()) < 8e6


def test_a_large_week_opens_in_under_3_seconds(browser: Any, tmp_path: Path) -> None:
    """Seconds of the page's own thread: what else the machine does meanwhile is not the page's fault."""
    path = tmp_path / "large.html"
    path.write_text(made.report(large()), encoding="utf-8")
    with Seen(browser, path) as seen:
        seen.page.evaluate("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
        meter = seen.context.new_cdp_session(seen.page)
        meter.send("Performance.enable", {"timeDomain": "threadTicks"})
        seen.page.reload(wait_until="load")
        seen.page.evaluate("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
        told = {one["name"]: one["value"] for one in meter.send("Performance.getMetrics")["metrics"]}
        assert 0.0 < told["TaskDuration"] < 3.0
