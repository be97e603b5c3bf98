"""A plate as it goes on the drum: turned so that its lead edge is at the bottom, seen from the print side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.domain.plan import Edge, Rect
from nest.output.words import EDGE_WORDS, length_words, one_line

if TYPE_CHECKING:
    from nest.domain.plan import PlannedPlate
    from nest.domain.room import Unit

_TAIL = {Edge.Y0: Edge.Y1, Edge.Y1: Edge.Y0, Edge.X0: Edge.X1, Edge.X1: Edge.X0}
_LEFT = {Edge.Y0: Edge.X0, Edge.Y1: Edge.X1, Edge.X0: Edge.Y1, Edge.X1: Edge.Y0}
_TURN = {Edge.Y0: 0, Edge.X0: 90, Edge.Y1: 180, Edge.X1: 270}
"""Turn, anticlockwise, that brings the lead edge to the bottom."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Loading:
    """What the operator keys in for one plate; lengths in the room's unit."""

    plate: str
    group: str
    across: str
    around: str
    lead: str
    clamp: str
    tail: str
    left: str
    right: str
    pieces: int


def loaded(plate: PlannedPlate, rect: Rect) -> Rect:
    """Return a rectangle of the sheet's frame in the loaded plate's: x across from its left, y around from its lead.

    Examples
    --------
    A plate of 100 x 60 led by its right edge: what lies nearest that edge comes first around.

    >>> from nest.domain.plan import KeepOut, PlannedPlate
    >>> keep = KeepOut(x0=0.0, x1=0.0, y0=0.0, y1=0.0)
    >>> plate = PlannedPlate(id="S01-A", rect=Rect(x=0.0, y=0.0, w=100.0, h=60.0), lead=Edge.X1, keep_out=keep,
    ...                      process=0.0, pieces=())
    >>> loaded(plate, Rect(x=70.0, y=10.0, w=25.0, h=20.0))
    Rect(x=10.0, y=5.0, w=20.0, h=25.0)
    """
    x, y = rect.x - plate.rect.x, rect.y - plate.rect.y
    right, top = plate.rect.w - x - rect.w, plate.rect.h - y - rect.h
    if plate.lead is Edge.Y0:
        return Rect(x=x, y=y, w=rect.w, h=rect.h)
    if plate.lead is Edge.Y1:
        return Rect(x=right, y=top, w=rect.w, h=rect.h)
    if plate.lead is Edge.X0:
        return Rect(x=top, y=x, w=rect.h, h=rect.w)
    return Rect(x=y, y=right, w=rect.h, h=rect.w)


def loaded_turn(plate: PlannedPlate, turn: int) -> int:
    """Return a piece's turn on the plate as loaded, degrees anticlockwise."""
    return (turn + _TURN[plate.lead]) % 360


def loading(plate: PlannedPlate, unit: Unit) -> Loading:
    """Return the loading facts of a plate: keep-outs are named by the sides of the plate as loaded."""
    tail, left = _TAIL[plate.lead], _LEFT[plate.lead]

    def keep(edge: Edge) -> str:
        return length_words(getattr(plate.keep_out, edge.value), unit)

    return Loading(
        plate=one_line(plate.id),
        group=one_line(plate.group) or "usual",
        across=length_words(plate.across_mm, unit),
        around=length_words(plate.around_mm, unit),
        lead=EDGE_WORDS[plate.lead],
        clamp=keep(plate.lead),
        tail=keep(tail),
        left=keep(left),
        right=keep(_TAIL[left]),
        pieces=len(plate.pieces),
    )
