"""The linear program over known columns: least cost of covering all units, with the axis of each set as a variable.

Rows: one per unit type, two (one per axis) for types of a colour set, whose demand is split between the two rows by
the set's variable y in 0..1; one per bin type with limited stock. The duals are the units' prices for the search for
further columns (Gilmore & Gomory 1961, doi 10.1287/opre.9.6.849). Warm started simplex.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import highspy
import numpy as np

from nest.packing.linear import QuietHighs

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.packing.pool import Pool
    from nest.packing.problem import Problem

NO_COLUMNS = np.zeros(0, np.int32)
NO_VALUES = np.zeros(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Relaxed:
    """Optimum of the linear program: value, columns' levels, price per (type, axis), price per bin of limited stock."""

    value: float
    levels: np.ndarray
    prices: np.ndarray
    bin_prices: np.ndarray


class Master:
    """One linear program that grows with the pool."""

    def __init__(self, problem: Problem, pool: Pool, wanted: Sequence[int], stock: np.ndarray, dear: float) -> None:
        """Set up rows for the wanted units; ``dear`` is the price of leaving one unit uncovered."""
        self.problem, self.pool = problem, pool
        types = pool.counts.shape[1]
        self.demand = np.zeros(types, np.int64)
        self.set_of = np.full(types, -1, np.int64)
        for u in wanted:
            self.demand[pool.typ[u]] += 1
            self.set_of[pool.typ[u]] = problem.units[u].axis_set
        self.stock = stock
        self.iterations = 0
        self._lp = QuietHighs(presolve="off", solver="simplex")
        self._columns: list[int] = []
        self._of_column: dict[int, int] = {}
        self._taken = 0
        self._rows(dear)

    def _rows(self, dear: float) -> None:
        lp, inf = self._lp, highspy.kHighsInf
        self.types = [int(t) for t in np.flatnonzero(self.demand)]
        self.row = {}
        for t in self.types:
            self.row[t, 0] = lp.getNumRow()
            lp.addRow(float(self.demand[t]), inf, 0, NO_COLUMNS, NO_VALUES)
            if self.set_of[t] >= 0:
                self.row[t, 1] = lp.getNumRow()
                lp.addRow(0.0, inf, 0, NO_COLUMNS, NO_VALUES)
        self.stock_row = {}
        for b in range(len(self.problem.bins)):
            if self.stock[b] < self.demand.sum():
                self.stock_row[b] = lp.getNumRow()
                lp.addRow(-inf, float(self.stock[b]), 0, NO_COLUMNS, NO_VALUES)
        for row in self.row.values():
            lp.addCol(dear, 0.0, inf, 1, np.array([row], np.int32), np.array([1.0]))
        self.turn = {}
        for s in sorted({int(self.set_of[t]) for t in self.types} - {-1}):
            rows, values = [], []
            for t in self.types:
                if self.set_of[t] == s:
                    rows += [self.row[t, 0], self.row[t, 1]]
                    values += [float(self.demand[t]), -float(self.demand[t])]
            self.turn[s] = lp.getNumCol()
            lp.addCol(0.0, 0.0, 1.0, len(rows), np.array(rows, np.int32), np.array(values))

    def grow(self) -> None:
        """Take over the pool's columns that hold wanted units only and are not in the program yet."""
        pool = self.pool
        for c in range(self._taken, len(pool)):
            counts = pool.counts[c]
            if (counts > self.demand).any():
                continue
            rows, values = [], []
            for t in np.flatnonzero(counts):
                axis = int(pool.axes[c, self.set_of[t]]) if self.set_of[t] >= 0 else 0
                rows.append(self.row[int(t), axis])
                values.append(float(counts[t]))
            b = int(pool.bins[c])
            if b in self.stock_row:
                rows.append(self.stock_row[b])
                values.append(1.0)
            self._of_column[c] = self._lp.getNumCol()
            self._columns.append(c)
            self._lp.addCol(
                float(pool.costs[c]), 0.0, highspy.kHighsInf, len(rows), np.array(rows, np.int32), np.array(values)
            )
        self._taken = len(pool)

    def focus(self, left: np.ndarray, axes: np.ndarray, stock: np.ndarray, allowed: np.ndarray) -> None:
        """Restrict the program to what is left: demand per type, fixed axes (-1 free), stock, columns allowed."""
        lp, inf = self._lp, highspy.kHighsInf
        for t in self.types:
            s = int(self.set_of[t])
            fixed = int(axes[s]) if s >= 0 else -1
            need, whole = float(left[t]), float(self.demand[t])
            if fixed == 1:
                lp.changeRowBounds(self.row[t, 0], whole, inf)
                lp.changeRowBounds(self.row[t, 1], need - whole, inf)
            else:
                lp.changeRowBounds(self.row[t, 0], need if fixed == 0 or s < 0 else whole, inf)
                if s >= 0:
                    lp.changeRowBounds(self.row[t, 1], 0.0, inf)
        for s, column in self.turn.items():
            fixed = int(axes[s])
            lp.changeColBounds(column, float(max(fixed, 0)), 1.0 if fixed else 0.0)
        for b, row in self.stock_row.items():
            lp.changeRowBounds(row, -inf, float(stock[b]))
        if self._columns:
            index = np.array([self._of_column[c] for c in self._columns], np.int32)
            upper = np.where(allowed[self._columns], inf, 0.0)
            lp.changeColsBounds(len(index), index, np.zeros(len(index)), upper)

    def solve(self) -> Relaxed | None:
        """Return the optimum, or None where the solver does not vouch for it."""
        lp = self._lp
        lp.run()
        if lp.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            lp.clearSolver()
            lp.run()
            if lp.getModelStatus() != highspy.HighsModelStatus.kOptimal:
                return None
        info, solution = lp.getInfo(), lp.getSolution()
        self.iterations += max(0, int(info.simplex_iteration_count))
        values = np.round(np.array(solution.col_value), 9)
        duals = np.round(np.array(solution.row_dual), 6)
        levels = np.zeros(len(self.pool))
        if self._columns:
            levels[self._columns] = values[[self._of_column[c] for c in self._columns]]
        prices = np.zeros((self.demand.shape[0], 2))
        for (t, axis), row in self.row.items():
            prices[t, axis] = max(0.0, duals[row])
        bin_prices = np.zeros(len(self.problem.bins))
        for b, row in self.stock_row.items():
            bin_prices[b] = max(0.0, -duals[row])
        return Relaxed(
            value=float(info.objective_function_value), levels=levels, prices=prices, bin_prices=bin_prices
        )
