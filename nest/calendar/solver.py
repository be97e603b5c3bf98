"""The one door to CP-SAT: an optional library, run so that it repeats itself."""

from __future__ import annotations

from typing import Any

from nest.errors import MissingExtra

SEED = 1


def cp_sat() -> Any:
    """Return the solver's module.

    Raises
    ------
    MissingExtra
        If it is not installed.
    """
    try:
        from ortools.sat.python import cp_model
    except ImportError:
        raise MissingExtra("a timetable", "ortools", "timetable") from None
    return cp_model


def repeatable(cp_model: Any, effort: float) -> Any:
    """Return a solver that gives the same answer to the same program.

    Its strategies take turns in one thread, from a fixed seed, up to a limit in deterministic time.
    """
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.interleave_search = True
    solver.parameters.random_seed = SEED
    solver.parameters.max_deterministic_time = effort
    return solver
