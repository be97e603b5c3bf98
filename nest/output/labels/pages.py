"""Pages of labels as one HTML page to print at 100 %, or as an SVG drawing for each page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.output.labels.content import LabelText, piece_labels, plate_labels
from nest.output.labels.fitting import Fitting, fitted
from nest.output.pages.shell import page, render

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.job import Row
    from nest.domain.plan import Plan
    from nest.domain.room import Room
    from nest.output.labels.grid import LabelGrid

NAME = "labels.html"


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelPage:
    """One page of labels, mm."""

    number: int
    title: str
    w: float
    h: float
    cells: tuple[Fitting, ...]


def label_pages(
    plan: Plan, room: Room, rows: Sequence[Row], grid: LabelGrid, key: str, *, pieces: bool = True,
    plates: bool = True, start: int = 1,
) -> tuple[LabelPage, ...]:
    """Return the pages: pieces first, then plates on pages of their own.

    Parameters
    ----------
    plan, room, rows
        The plan and what it was made from.
    grid
        Where labels stand on a page.
    key
        Short name of the plan, printed on every label.
    pieces, plates
        Which labels are wanted.
    start
        Number of the first free label on the first page, from 1, for a sheet of labels that has been used before.

    Raises
    ------
    ValueError
        If ``start`` is no label of the grid.
    """  # fmt: skip
    if not 1 <= start <= grid.per_page:
        raise ValueError(f"a page has labels 1 to {grid.per_page}; got {start}")
    by_key = {row.key: row for row in rows}
    kinds = [("Piece labels", piece_labels(plan, room, by_key, key) if pieces else ())]
    kinds.append(("Plate labels", plate_labels(plan, room, key) if plates else ()))
    out: list[LabelPage] = []
    for title, labels in kinds:
        for part in _parted(labels, grid.per_page, 0 if out else start - 1):
            cells = tuple(fitted(label, grid.box(place)) for place, label in part)
            out.append(LabelPage(number=len(out) + 1, title=title, w=grid.paper[0], h=grid.paper[1], cells=cells))
    return tuple(out)


def _parted(labels: Sequence[LabelText], most: int, first: int) -> list[list[tuple[int, LabelText]]]:
    """Return labels by page with their place on it; the first page starts at a place of its own."""
    pages: dict[int, list[tuple[int, LabelText]]] = {}
    for number, label in enumerate(labels, first):
        pages.setdefault(number // most, []).append((number % most, label))
    return list(pages.values())


def labels_html(pages: Sequence[LabelPage], key: str, *, lines: bool) -> str:
    """Return the pages as one HTML page; ``key`` names the plan, ``lines`` draws the edges of the labels."""
    size = f"{pages[0].w:g}mm {pages[0].h:g}mm" if pages else "A4"
    return page(
        "labels.html", ("labels.css",), more_style=f"@page {{ size: {size}; margin: 0; }}\n",
        title="Labels of plan", key=key, pages=pages, lines=lines,
    )  # fmt: skip


def labels_svg(pages: Sequence[LabelPage], *, lines: bool) -> dict[str, str]:
    """Return an SVG drawing at real size for each page by its file name."""
    digits = max(2, len(str(len(pages))))
    return {f"labels-{one.number:0{digits}d}.svg": render("labels.svg", page=one, lines=lines) for one in pages}
