"""What was decided: a plan as plan.json states it. Lengths in mm in the sheet's own frame, areas in m2.

The frame is seen from the print side, origin bottom-left, x across, y around, turns anticlockwise.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from nest.domain.calendar import PlannedCalendar
    from nest.domain.job import Need, RowKey


class Edge(StrEnum):
    """An edge of a rectangle in the sheet's frame."""

    X0 = "x0"
    X1 = "x1"
    Y0 = "y0"
    Y1 = "y1"


class StoppedBy(StrEnum):
    """The rule that ended the search."""

    WORK_LIMIT = "work-limit"
    TIME_LIMIT = "time-limit"
    INTERRUPT = "interrupt"
    OPTIMAL = "optimal"


class SourceKind(StrEnum):
    """Where raw material is drawn from."""

    SHEET = "sheet"
    OFFCUT = "offcut"


class CutStage(StrEnum):
    """Raw cuts part a sheet, finish cuts part a finished plate."""

    RAW = "raw"
    FINISH = "finish"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rect:
    """A rectangle by its corner nearest the origin and its size, mm."""

    x: float
    y: float
    w: float
    h: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """The sheet or offcut drawn, by its id in the room's stock."""

    kind: SourceKind
    ref: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepOut:
    """Strips along a plate's edges that may hold no piece, mm."""

    x0: float
    x1: float
    y0: float
    y1: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedPiece:
    """One copy of a row on a plate: its box (border included), its turn in degrees and its image's box."""

    job: str
    separation: str
    part: str
    copy: int
    rect: Rect
    turn: int
    image: Rect
    outline: tuple[tuple[float, float], ...] | None = None

    @property
    def row(self) -> RowKey:
        """Identity of the row this is a copy of."""
        return (self.job, self.separation, self.part)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedPlate:
    """A plate: its place on the sheet, the edge that goes into the clamp, its pieces and its free areas.

    ``batch`` is the id of the batch that makes it, empty where the plan has no calendar or no batch is left for it.
    """

    id: str
    rect: Rect
    lead: Edge
    keep_out: KeepOut
    process: float
    pieces: tuple[PlacedPiece, ...]
    free: tuple[Rect, ...] = ()
    group: str = ""
    batch: str = ""

    @property
    def across_mm(self) -> float:
        """Length along the drum axis."""
        return self.rect.w if self.lead in (Edge.Y0, Edge.Y1) else self.rect.h

    @property
    def around_mm(self) -> float:
        """Length from lead to tail."""
        return self.rect.h if self.lead in (Edge.Y0, Edge.Y1) else self.rect.w

    @property
    def left(self) -> Edge:
        """The edge that is at the left on the drum, seen from the print side with the lead edge at the bottom."""
        return {Edge.Y0: Edge.X0, Edge.Y1: Edge.X1, Edge.X0: Edge.Y1, Edge.X1: Edge.Y0}[self.lead]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """What raw cutting leaves: kept as an offcut against a credit, or scrap."""

    id: str
    rect: Rect
    kept: bool
    credit: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One edge-to-edge cut; ``plate`` is None for raw cuts."""

    order: int
    stage: CutStage
    plate: str | None
    x1: float
    y1: float
    x2: float
    y2: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedSheet:
    """A sheet or offcut drawn and everything cut from it."""

    id: str
    source: Source
    material: str
    across_mm: float
    around_mm: float
    cost: float
    plates: tuple[PlannedPlate, ...]
    rests: tuple[Rest, ...]
    cuts: tuple[Cut, ...]
    lot: str | None = None
    expiry: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Unplaced:
    """Copies of a row that the plan does not make, and why."""

    job: str
    separation: str
    part: str
    copies: int
    need: Need
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CostParts:
    """Where the money goes; ``credit`` is subtracted."""

    sheets: float
    credit: float
    plates: float
    process: float
    cuts: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Areas:
    """Where the drawn area goes, m2; all but ``drawn`` add up to ``drawn``."""

    drawn: float
    image: float
    border: float
    keep_out: float
    unused: float
    kept: float
    scrap: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Yields:
    """gross = pieces / drawn; image = images / drawn; credited = pieces / (drawn - kept)."""

    gross: float
    image: float
    credited: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Totals:
    """Figures of the whole plan; ``bound`` is a proven lower bound of the cost of placing what is placed."""

    cost: float
    bound: float
    bound_gap: float
    sheets: int
    plates: int
    raw_cuts: int
    pieces: int
    cost_parts: CostParts
    area: Areas
    yields: Yields


@dataclass(frozen=True, slots=True, kw_only=True)
class JobShare:
    """What one job costs: pieces made, its share of the plan, and what it would cost planned on its own.

    ``alone`` is None where the job cannot be planned completely on its own.
    """

    job: str
    pieces: int
    piece_m2: float
    share: float
    alone: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherSize:
    """What the must pieces of one sheet would cost on another size in the store, packed with a little work."""

    kind: SourceKind
    ref: str
    across_mm: float
    around_mm: float
    sheets: int
    cost: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A whole plan. ``proof`` names the bound's proof, ``made_by`` the versions that made the plan."""

    currency: str
    seed: int
    stopped_by: StoppedBy
    sheets: tuple[PlannedSheet, ...]
    unplaced: tuple[Unplaced, ...]
    warnings: tuple[str, ...]
    totals: Totals
    proof: str = ""
    made_by: str = ""
    calendar: PlannedCalendar | None = None
