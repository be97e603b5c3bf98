"""The room's line: the steps from raw sheet to a plate ready to mount, where each is done, how long, by whom.

The times of `USUAL_STEPS` are common practice in round figures, from memory: the chain of a solvent-washed plate with
1 min back exposure, 12 main, 8 wash-out (1200 mm at 150 mm/min), 120 drying, 8 post exposure, 8 detack. A room states
its own, for each material where they differ.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import time  # noqa: TC003 - the records are built from their type hints
from enum import StrEnum

CUTTING, BACK, IMAGING = "cutting", "back_exposure", "imaging"
"""Steps with a meaning of their own: on the raw sheet, on the raw sheet where it comes before cutting, by loads."""
IMAGER_STATION = "imager"


class Attendance(StrEnum):
    """When a step needs an operator."""

    NONE = "none"
    START = "start"
    END = "end"
    BOTH = "both"
    THROUGHOUT = "throughout"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of the line at one station.

    It takes ``minutes``, and ``minutes_per_m2`` of plate, and the plate's length around divided by ``speed_mm`` (mm per
    minute, for conveyors), handling included. Cutting takes its time for each raw cut. An operator is there for
    ``operator_minutes`` at the start, at the end or at both, or throughout.
    """

    name: str
    station: str
    minutes: float = 0.0
    minutes_per_m2: float = 0.0
    speed_mm: float | None = None
    operator: Attendance = Attendance.START
    operator_minutes: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StepTimes:
    """A material's own times of a step; what is None is as the step has it."""

    minutes: float | None = None
    minutes_per_m2: float | None = None
    speed_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BackTime:
    """How long a material is back-exposed for a relief (in the room's unit)."""

    relief: float
    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Hours:
    """A part of every day; one whose ``end`` is not after its ``start`` ends on the next day."""

    start: time
    end: time


USUAL_STEPS = (
    Step(name=CUTTING, station="cutting table", minutes=3.0, operator=Attendance.THROUGHOUT),
    Step(name=BACK, station="exposure", minutes=1.0),
    Step(name=IMAGING, station=IMAGER_STATION),
    Step(name="main_exposure", station="exposure", minutes=12.0),
    Step(name="washout", station="washer", minutes=8.0),
    Step(name="rinse", station="rinse", minutes=2.0),
    Step(name="drying", station="dryer", minutes=120.0),
    Step(name="post_exposure", station="exposure", minutes=8.0),
    Step(name="detack", station="detack", minutes=8.0),
    Step(name="inspection", station="bench", minutes=5.0, operator=Attendance.THROUGHOUT),
)
"""Steps that need no times of their own in a room file, in their usual order."""
USUAL = {step.name: step for step in USUAL_STEPS}
USUAL_LINE = tuple(step for step in USUAL_STEPS if step.name != "rinse")
USUAL_OPERATORS = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """The steps in order, how many operators there are at once, and when; always where no ``hours`` are given.

    What comes before cutting is done on the whole raw sheet, everything after it plate by plate.
    """

    steps: tuple[Step, ...] = USUAL_LINE
    operators: int = USUAL_OPERATORS
    operator_hours: tuple[Hours, ...] = ()
    stated: bool = field(default=True)

    def step(self, name: str) -> Step | None:
        """Return a step by its name, None where the line has none of it."""
        return next((step for step in self.steps if step.name == name), None)


USUAL_ROOM_LINE = Line(stated=False)
"""The line of a room that states none."""


def step_words(name: str) -> str:
    """Return a step's name as people read it.

    Examples
    --------
    >>> step_words("main_exposure"), step_words("washout")
    ('main exposure', 'wash-out')
    """
    return "wash-out" if name == "washout" else name.replace("_", " ")
