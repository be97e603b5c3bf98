"""Which sheet sizes to stock: what each set of sizes costs a year on the same simulated weeks."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class SetFigures:
    """One set of sizes of a material; means over the paths, a year.

    ``plans`` is what the plans cost: sheets and offcuts drawn less credits, plates, processing, cuts. ``ordering`` is
    the cost of orders less what price breaks save. ``unplaced`` is the share of the area that no size of the set takes.
    """

    sizes: tuple[str, ...]
    plans: float
    ordering: float
    holding: float
    expired: float
    sheets: float
    expired_sheets: float
    gross: float
    unplaced: float

    @property
    def cost(self) -> float:
        """All of it together."""
        return self.plans + self.ordering + self.holding + self.expired

    @property
    def whole(self) -> bool:
        """Whether every piece finds a sheet."""
        return self.unplaced == 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """By how much one set costs more a year than another, on the same weeks, and half its 95 % interval."""

    more: float
    within: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """The best set of so many sizes.

    ``saves`` is against the best set of one size fewer, ``second`` the next best set of as many sizes and ``behind``
    by how much it costs more; None where there is none.
    """

    best: SetFigures
    saves: Difference | None = None
    second: SetFigures | None = None
    behind: Difference | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialSizes:
    """One material: the steps from few sizes to many, and every set that was tried.

    ``offered`` are sizes that are not in the room file yet. ``exhaustive`` is False where only some sets were tried;
    ``interrupted`` where the work was ended before all were.
    """

    material: str
    steps: tuple[Step, ...]
    tried: tuple[SetFigures, ...]
    offered: tuple[str, ...] = ()
    exhaustive: bool = True
    interrupted: bool = False
    paths: int
    weeks: int
    currency: str

    @property
    def flaw(self) -> float:
        """By how much some set's plans came out dearer than those of a part of it, which a search without limit avoids.

        A set can be planned as any part of it can, so this is what the search loses by its limit: no smaller
        difference between sets is to be trusted.
        """
        return max(
            (
                one.plans - part.plans
                for one in self.tried for part in self.tried
                if one.whole and part.whole and set(part.sizes) < set(one.sizes)
            ),
            default=0.0,
        )  # fmt: skip
