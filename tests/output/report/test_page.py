from __future__ import annotations

import re
from html.parser import HTMLParser
from typing import TYPE_CHECKING

import pytest

from nest.output.patterns import patterns
from tests.output import sample_plans as samples
from tests.output.report import made

if TYPE_CHECKING:
    from nest.domain.plan import Plan

VOID = {"meta", "input", "br"}


class Outline(HTMLParser):
    """Reads a page strictly: every element is closed, ids and what points to them are kept."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.targets: set[str] = set()
        self.words: list[str] = []
        self.addresses: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = dict(attrs)
        self.ids += [values["id"] or ""] if "id" in values else []
        if tag in ("a", "use"):
            self.targets.add((values["href"] or "").removeprefix("#"))
            self.addresses.append(values["href"] or "")
        for key in ("aria-labelledby", "for"):
            self.targets |= set((values.get(key) or "").split())
        self.addresses += [value or "" for key, value in attrs if key in ("src", "action", "data", "srcset")]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def outline(text: str) -> Outline:
    reader = Outline()
    reader.feed(text)
    reader.close()
    assert reader.open == []
    return reader


@pytest.mark.parametrize("plan", [samples.week(), samples.small(), samples.hostile(), samples.plan_of([])])
def test_the_page_is_well_formed_and_every_reference_leads_somewhere_in_it(plan: Plan) -> None:
    read = outline(made.report(plan))
    assert len(set(read.ids)) == len(read.ids)
    assert read.targets <= set(read.ids)
    assert all(address.startswith("#") for address in read.addresses)


def test_the_same_plan_gives_the_same_bytes_and_no_clock_is_read() -> None:
    assert made.report(samples.week()) == made.report(samples.week())
    assert not re.search(r"20(2[0-68-9]|[3-9]\d)-\d\d", made.report(samples.week()))


def test_every_pattern_has_one_drawing_and_a_small_one_of_the_same() -> None:
    text = made.report(samples.week())
    count = len(patterns(samples.week()))
    assert text.count('-drawing" viewBox') == count
    assert len(re.findall(r'<use href="#sheet-\d+-drawing"', text)) == count


def test_what_must_be_acted_on_comes_before_all_figures() -> None:
    words = " ".join(" ".join(outline(made.report(samples.week())).words).split())
    order = ["Not placed: 3 pieces", "Late", "Warnings", "Cost, EUR", "Take from the store", "Layouts",
             "Where each square metre", "What each job costs", "Sets split", "Free for rush work", "Loading",
             "Left in the store", "Expires soon", "What waste costs"]  # fmt: skip
    places = [words.index(one) for one in order]
    assert places == sorted(places)


def test_the_bound_is_told_in_words() -> None:
    assert "this one is at most 41 EUR above the best possible" in made.report(samples.week())


def test_hostile_names_are_text_and_nothing_else() -> None:
    plan = samples.hostile()
    text = made.report(plan)
    assert "<script>alert" not in text
    words = "".join(outline(text).words)
    assert "<script>alert(1)</script>" in words
    assert "A&B \"quoted\" 'single'" in words
    assert "x" * 400 in words
    assert "]]>&#0;" in words
    assert "🎨🎨 poster" in words
    assert "\u202e" not in text
