"""What a search works with, beside the problem and its limits: seed, threads, methods, effort for the proof."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from nest.packing.team import Team


@dataclass(frozen=True, slots=True, kw_only=True)
class Methods:
    """Which methods a search uses; all but the first solution can be left out, to see what each gains.

    ``columns`` is column generation, which ``dives`` need; ``neighbourhoods`` is the large-neighbourhood search, with
    ``goals`` (cheaper mixes of bins) where rests earn nothing.
    """

    columns: bool = True
    dives: bool = True
    goals: bool = True
    neighbourhoods: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Means:
    """Seed of all random numbers, threads to work on, methods, effort for the bound (0: the cheap ones alone)."""

    seed: int
    team: Team
    methods: Methods = field(default_factory=Methods)
    proof: float = 1.0
