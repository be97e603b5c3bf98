"""Guides read back as text."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from nest.domain.room import Guides, Room, Unit
from nest.output.guide import View, drawn_guides
from nest.output.views.facing import Side
from tests.output import sample_plans as samples

if TYPE_CHECKING:
    from nest.domain.plan import Plan


def words_of(
    plan: Plan, view: View, sheet: str, *, side: Side = Side.PRINT, room: Room | None = None, **guides: Any
) -> list[str]:
    """All texts of one view of a sheet in the order they were drawn."""
    room = samples.room() if room is None else room
    room = replace(room, guides=Guides(**guides))
    (guide,) = drawn_guides(plan, room, samples.rows_of(plan), views=[view], sheets=[sheet], sides=[side])
    return [mark.words for mark in guide.canvas.marks if mark.shape == "text"]


def running(*more: Any, **named: Any) -> str:
    """The same as running text."""
    return " ".join(words_of(*more, **named))


def row_after(words: list[str], start: list[str]) -> list[str]:
    """The words that follow a start, as many again."""
    at = next(at for at in range(len(words)) if words[at : at + len(start)] == start)
    return words[at + len(start) :]


INCH = samples.room(Unit.INCH)
