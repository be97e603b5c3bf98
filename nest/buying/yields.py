"""The yield of the last weeks: of a simulated demand, of plans as they were made, or as somebody states it.

What counts is the credited yield, area of the pieces over area drawn less the rests kept (design, section 8): a rest
that is kept is used later, so no job of this week pays for it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.buying.demand_file import NAME, load_demand
from nest.buying.demand_text import yields
from nest.errors import Fault, InputError
from nest.output.plan_file import load_plan
from nest.output.words import counted, percent

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

PLAN = "plan.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class Yield:
    """A share of the sheets that becomes pieces, and in words where it comes from."""

    share: float
    source: str

    @property
    def words(self) -> str:
        """Both in words."""
        return f"{percent(self.share)}, {self.source}"


def stated(share: float) -> Yield:
    """Return a yield as somebody states it."""
    return Yield(share=share, source="as stated")


def read_yield(path: Path) -> Yield:
    """Return the yield that a demand file (or the folder of one), a plan, or a folder of plans shows.

    Raises
    ------
    InputError
        If nothing there tells a yield.
    """
    if path.is_file() and path.name != PLAN:
        return _of_demand(path)
    if (path / NAME).is_file():
        return _of_demand(path / NAME)
    plans = [path] if path.is_file() else [path / PLAN] if (path / PLAN).is_file() else sorted(path.glob(f"*/{PLAN}"))
    if not plans:
        raise _nothing(path, f"must be a demand file, or a folder with {NAME} or with plans")
    return _of_plans(path, plans)


def _of_demand(path: Path) -> Yield:
    demand = load_demand(path)
    share = yields(demand)[1]
    if share <= 0.0:
        raise _nothing(path, "must hold weeks with work")
    return Yield(share=share, source=f"of {counted(demand.paths * demand.weeks, 'simulated week')} in {path}")


def _of_plans(path: Path, plans: Sequence[Path]) -> Yield:
    pieces = used = 0.0
    for plan in (load_plan(one) for one in plans):
        pieces += plan.totals.yields.gross * plan.totals.area.drawn
        used += plan.totals.area.drawn - plan.totals.area.kept
    if pieces <= 0.0 or used <= 0.0:
        raise _nothing(path, "must hold plans with pieces")
    return Yield(share=pieces / used, source=f"of {counted(len(plans), 'plan')} in {path}")


def _nothing(path: Path, rule: str) -> InputError:
    return InputError((Fault(
        file=str(path), rule=rule, remedy="make one with nest forecast, or state the yield with --yield",
    ),))  # fmt: skip
