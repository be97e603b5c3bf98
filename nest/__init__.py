"""Plans a flexographic plate room's week: sheets to draw, cuts to make, separations that share a plate.

The names below are loaded when first used, so that ``import nest`` stays light.

Examples
--------
>>> import nest
>>> nest.Settings(seed=7).work_limit is None
True
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from nest.check.opinion import check_plan
    from nest.domain.job import Row
    from nest.domain.plan import Plan
    from nest.domain.room import Room
    from nest.errors import InputError, NestError
    from nest.intake.week import read_week
    from nest.output.guide import guides
    from nest.output.plan_file import dump_plan, load_plan
    from nest.output.summary import summary_text
    from nest.pipeline import Outcome, Settings, make_plan

__all__ = [
    "InputError",
    "NestError",
    "Outcome",
    "Plan",
    "Room",
    "Row",
    "Settings",
    "check_plan",
    "dump_plan",
    "guides",
    "load_plan",
    "make_plan",
    "read_week",
    "summary_text",
]

_HOMES = {
    "InputError": "nest.errors",
    "NestError": "nest.errors",
    "Outcome": "nest.pipeline",
    "Plan": "nest.domain.plan",
    "Room": "nest.domain.room",
    "Row": "nest.domain.job",
    "Settings": "nest.pipeline",
    "check_plan": "nest.check.opinion",
    "dump_plan": "nest.output.plan_file",
    "guides": "nest.output.guide",
    "load_plan": "nest.output.plan_file",
    "make_plan": "nest.pipeline",
    "read_week": "nest.intake.week",
    "summary_text": "nest.output.summary",
}


def __getattr__(name: str) -> object:
    """Load a public name from the module it lives in (PEP 562)."""
    if name not in _HOMES:
        raise AttributeError(f"module 'nest' has no attribute {name!r}")
    value: object = getattr(import_module(_HOMES[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    """List the public names too, loaded or not."""
    return sorted({*globals(), *__all__})
