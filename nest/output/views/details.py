"""Details: the parts of a drawing whose numbers found no room, to be drawn once more and larger."""

from __future__ import annotations

from dataclasses import dataclass, replace
from string import ascii_uppercase
from typing import TYPE_CHECKING

from nest.domain.plan import Rect
from nest.output.paper import MARGIN

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.plan import Cut, PlannedSheet
    from nest.output.sheet_drawing import Item

_LARGER = 3.0
"""How much larger than on the whole drawing a detail is."""
_HEAD = 24.0
_MOST = len(ascii_uppercase)


@dataclass(frozen=True, slots=True, kw_only=True)
class Detail:
    """A part of a drawing to show larger: its letter, the window in the drawing's frame, its reduction."""

    letter: str
    window: Rect
    k: float


def windows(
    sheet: PlannedSheet, items: Sequence[Item], missing: tuple[Sequence[int], Sequence[int]], k: float,
    paper: tuple[float, float],
) -> list[Detail]:
    """Return the windows that together show every piece and cut whose number is missing on the whole drawing."""
    pieces, orders = (set(numbers) for numbers in missing)
    wanted = [item.piece.rect for item in items if item.number in pieces]
    wanted += [_middle(cut) for cut in sheet.cuts if cut.order in orders]
    larger = max(1.0, k / _LARGER)
    if not wanted or larger >= k:
        return []
    most_w, most_h = (paper[1] - 2 * MARGIN - 4.0) * larger, (paper[0] - 2 * MARGIN - _HEAD) * larger
    left = sorted(wanted, key=lambda rect: (-rect.y - rect.h, rect.x))
    found: list[Rect] = []
    while left and len(found) < _MOST:
        window = _window(left[0], left, most_w, most_h)
        left = [rect for rect in left[1:] if not _inside(rect, window)]
        found.append(_kept_in(window, sheet, 6.0 * larger))
    return [Detail(letter=ascii_uppercase[at], window=window, k=larger) for at, window in enumerate(found)]


def _middle(cut: Cut) -> Rect:
    return Rect(x=(cut.x1 + cut.x2) / 2, y=(cut.y1 + cut.y2) / 2, w=0.0, h=0.0)


def _window(first: Rect, wanted: Sequence[Rect], most_w: float, most_h: float) -> Rect:
    """Return the smallest window around the first and, in order, every other one that keeps it within its limits."""
    window = first
    for rect in wanted:
        joined = _joined(window, rect)
        if joined.w <= max(most_w, first.w) and joined.h <= max(most_h, first.h):
            window = joined
    return window


def _joined(one: Rect, other: Rect) -> Rect:
    x, y = min(one.x, other.x), min(one.y, other.y)
    return Rect(x=x, y=y, w=max(one.x + one.w, other.x + other.w) - x, h=max(one.y + one.h, other.y + other.h) - y)


def _inside(rect: Rect, window: Rect) -> bool:
    return _joined(rect, window) == window


def _kept_in(window: Rect, sheet: PlannedSheet, margin: float) -> Rect:
    """Return a window with a margin, cut off at the edges of the sheet."""
    x, y = max(0.0, window.x - margin), max(0.0, window.y - margin)
    right = min(sheet.across_mm, window.x + window.w + margin)
    top = min(sheet.around_mm, window.y + window.h + margin)
    return Rect(x=x, y=y, w=right - x, h=top - y)


def clipped(rect: Rect, window: Rect) -> Rect | None:
    """Return the part of a rectangle inside a window, from the window's corner; None where there is none."""
    x, y = max(rect.x, window.x), max(rect.y, window.y)
    w = min(rect.x + rect.w, window.x + window.w) - x
    h = min(rect.y + rect.h, window.y + window.h) - y
    return Rect(x=x - window.x, y=y - window.y, w=w, h=h) if w > 0 and h > 0 else None


def cropped(sheet: PlannedSheet, items: Sequence[Item], window: Rect) -> tuple[PlannedSheet, list[Item]]:
    """Return what a window shows of a sheet as a sheet of its own: pieces and cuts end at its edges."""
    shown = []
    for item in items:
        rect = clipped(item.piece.rect, window)
        if rect is not None:
            image = clipped(item.piece.image, window) or rect
            shown.append(replace(item, piece=replace(item.piece, rect=rect, image=image, outline=None)))
    cuts = tuple(cut for whole in sheet.cuts if (cut := _clipped_cut(whole, window)) is not None)
    return replace(sheet, across_mm=window.w, around_mm=window.h, plates=(), rests=(), cuts=cuts), shown


def _clipped_cut(cut: Cut, window: Rect) -> Cut | None:
    thin = Rect(x=min(cut.x1, cut.x2), y=min(cut.y1, cut.y2), w=abs(cut.x1 - cut.x2), h=abs(cut.y1 - cut.y2))
    fat = replace(thin, w=max(thin.w, 1e-6), h=max(thin.h, 1e-6))
    part = clipped(fat, window)
    if part is None:
        return None
    level = thin.w >= thin.h
    return replace(cut, x1=part.x, y1=part.y, x2=part.x + (part.w if level else 0.0),
                   y2=part.y + (0.0 if level else part.h))  # fmt: skip
