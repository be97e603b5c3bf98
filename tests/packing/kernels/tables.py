"""One problem's arrays, scratch space and buffers, for tests that call a compiled loop by itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from nest.packing.arrays import data_of
from nest.packing.kernels.data import ITEMS, Data, Layout, Scratch, new_layout, new_scratch

if TYPE_CHECKING:
    from nest.packing.problem import Problem


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """What a compiled loop works on."""

    data: Data
    scratch: Scratch
    layout: Layout
    axes: np.ndarray
    lots: np.ndarray

    def order(self, *units: int) -> np.ndarray:
        return np.array(units or range(len(self.data.typ)), np.int64)

    def items(self) -> list[tuple[int, int, int, int]]:
        """Return (item, x, y, axis) of all that was placed."""
        rows = self.layout.item[: int(self.layout.used[ITEMS])].tolist()
        return [(item, x, y, axis) for _, item, x, y, axis in rows]


def table(problem: Problem, sheets: int = 8) -> Table:
    data = data_of(problem)
    items = len(data.w)
    return Table(
        data=data,
        scratch=new_scratch(
            len(problem.units), int(data.typ.max(initial=-1)) + 1, int(data.row.max(initial=-1)) + 1, items,
            len(problem.batch_prices),
        ),
        layout=new_layout(items, sheets, problem.limits.parts),
        axes=np.zeros(max(1, problem.axis_sets), np.int64),
        lots=np.zeros(max(1, problem.lot_sets), np.int64),
    )
