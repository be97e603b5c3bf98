"""The guides of a plan: for each pattern of equal sheets the sheet at a glance, raw cutting, loading, finish cutting.

Each guide is one file. Its pages stand one below the other on one drawing in which the sheet is life-size; a page is as
large as its paper enlarged by the page's reduction, so that it prints reduced on one sheet of that paper.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from nest.output.drawing import Canvas
from nest.output.notices import plan_rows, told_warnings, warnings_by_job
from nest.output.patterns import Pattern, patterns
from nest.output.plan_file import dump_plan
from nest.output.sheet_drawing import LAYERS
from nest.output.views.blocks import job_words, subject_of
from nest.output.views.facing import sides_of
from nest.output.views.finish_cutting import finish_cutting
from nest.output.views.loading_card import loading_card
from nest.output.views.page_drawing import Page, Pages
from nest.output.views.raw_cutting import raw_cutting
from nest.output.views.whole_sheet import whole_sheet
from nest.output.words import one_line

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.job import Row
    from nest.domain.plan import Plan
    from nest.domain.room import Room
    from nest.output.views.blocks import Subject
    from nest.output.views.facing import Side
    from nest.output.views.page_drawing import PageSpec

_SIDE_LAYERS = (
    ("title-block", "What this page is, and the tables beside the drawing"),
    ("check-lines", "100 mm check lines both ways"),
    ("references", "Names and lengths of the edges"),
)


class View(StrEnum):
    """What a guide is for; the words stand in file names and are the choices of the command line."""

    SHEET = "sheet"
    RAW = "raw"
    LOAD = "load"
    FINISH = "finish"


@dataclass(frozen=True, slots=True, kw_only=True)
class Guide:
    """One guide: its file's stem, what it is for, the sheet it is of, its drawing and the pages on it."""

    stem: str
    view: View
    sheet_id: str
    canvas: Canvas
    pages: tuple[Page, ...]

    def svg(self) -> str:
        """Return all pages as one SVG drawing at 1:1."""
        return self.canvas.svg()


def guides(plan: Plan, room: Room, rows: Sequence[Row]) -> dict[str, str]:
    """Return the guides of a plan: SVG text by file name, some for each pattern of equal sheets.

    Parameters
    ----------
    plan
        The plan.
    room
        Its room: cutting, holds, and how guides are drawn.
    rows
        The ordered rows, for titles and customers of the pieces.
    """
    return {f"{guide.stem}.svg": guide.svg() for guide in drawn_guides(plan, room, rows)}


def drawn_guides(
    plan: Plan, room: Room, rows: Sequence[Row], *, views: Sequence[View] = tuple(View),
    sheets: Sequence[str] | None = None, sides: Sequence[Side] | None = None,
) -> list[Guide]:
    """Return the guides of a plan as drawings with pages, in the order of the sheets.

    Parameters
    ----------
    plan, room, rows
        As for `guides`.
    views
        Which views.
    sheets
        Ids of the sheets to draw; None for all. Equal sheets share their guides.
    sides
        Sides to draw from; None for the room's. The sheet at a glance is always seen from the print side.
    """
    key, jobs, told = plan_key(plan), job_words(rows), _Warnings(plan)
    used: set[str] = set()
    found = []
    for pattern in patterns(plan):
        stem = _stem(pattern.first.id, used)
        if sheets is None or any(sheet.id in sheets for sheet in pattern.sheets):
            subject = subject_of(pattern, room, jobs, key, told.of(pattern))
            found += [drawn_guide(subject, view, stem, sides) for view in views]
    return found


def guide_svg(pattern: Pattern, room: Room, rows: Sequence[Row], key: str, *, warnings: Sequence[str] = ()) -> str:
    """Return a pattern's sheet at a glance; ``key`` is the plan's short name, ``warnings`` stand on top."""
    return view_svg(pattern, room, rows, key, View.SHEET, warnings=warnings)


def view_svg(
    pattern: Pattern, room: Room, rows: Sequence[Row], key: str, view: View, *, warnings: Sequence[str] = (),
    sides: Sequence[Side] | None = None,
) -> str:  # fmt: skip
    """Return one view of a pattern as one SVG drawing, its pages one below the other.

    Parameters
    ----------
    pattern, room, rows, key, warnings
        As for `guide_svg`.
    view
        Which view.
    sides
        Sides to draw from; None for the room's.
    """
    return drawn_guide(subject_of(pattern, room, job_words(rows), key, warnings), view, "guide", sides).svg()


def drawn_guide(subject: Subject, view: View, stem: str, sides: Sequence[Side] | None = None) -> Guide:
    """Return one view of a pattern as a drawing with pages; ``stem`` is the name of the sheet's files."""
    specs = _specs(subject, view, sides_of(subject.room.guides) if sides is None else sides)
    sheet = subject.pattern.first
    title = specs[0].title
    about = one_line(f"Sheet {sheet.source.ref} of plan {subject.key}, life-size, 1 unit is 1 mm")
    canvas = Canvas(1.0, 1.0, title, about)
    for name, words in (*LAYERS, *_SIDE_LAYERS):
        canvas.layer(name, words)
    pages = Pages(canvas, subject.room.guides.paper, subject.lengths)
    for spec in specs:
        pages.add(spec)
    name = stem if view is View.SHEET else f"{stem}-{view.value}"
    return Guide(stem=name, view=view, sheet_id=sheet.id, canvas=canvas, pages=tuple(pages.pages))


def _specs(subject: Subject, view: View, sides: Sequence[Side]) -> list[PageSpec]:
    if view is View.SHEET:
        return [whole_sheet(subject)]
    if view is View.RAW:
        return [raw_cutting(subject, side) for side in sides]
    page = loading_card if view is View.LOAD else finish_cutting
    return [page(subject, index, side) for index in range(len(subject.pattern.first.plates)) for side in sides]


def sheet_warnings(plan: Plan, pattern: Pattern) -> list[str]:
    """Return the plan's warnings that concern a pattern's pieces, or no row in particular."""
    return _Warnings(plan).of(pattern)


class _Warnings:
    """The warnings of a plan with the rows they name."""

    def __init__(self, plan: Plan) -> None:
        rows = plan_rows(plan)
        self._named = [(text, warnings_by_job([text], rows)[0][1]) for text in plan.warnings]

    def of(self, pattern: Pattern) -> list[str]:
        """Return those that concern a pattern's pieces, or no row in particular."""
        here = {piece.row for plate in pattern.first.plates for piece in plate.pieces}
        texts = [text for text, named in self._named if not named or any(row in here for row in named)]
        return told_warnings(texts, here)


def plan_key(plan: Plan) -> str:
    """Return the short name of a plan's content: the first 8 hex digits of the SHA-256 of its file."""
    return hashlib.sha256(dump_plan(plan).encode()).hexdigest()[:8]


def _stem(sheet_id: str, used: set[str]) -> str:
    """Return the stem of a sheet's files; no two sheets share one in any case, nor with another sheet's view."""
    stem = "guide-" + (re.sub(r"[^A-Za-z0-9_-]+", "_", sheet_id)[:60] or "sheet")
    name, number = stem, 2
    while name.lower() in used:
        name, number = f"{stem}-{number}", number + 1
    used.update(name.lower() + tail for tail in ("", *(f"-{view.value}" for view in View)))
    return name
