"""The one door to the linear and mixed-integer solver HiGHS (Huangfu & Hall 2018, doi 10.1007/s12532-017-0130-5)."""

from __future__ import annotations

from typing import Any

import highspy
import numpy as np


class QuietHighs(highspy.Highs):
    """A HiGHS instance that prints nothing and gives the same answer every time: one thread, fixed seed."""

    def __init__(self, **options: Any) -> None:
        super().__init__()  # type: ignore[no-untyped-call]
        for option, value in {"threads": 1, "random_seed": 0, **options}.items():
            self.setOptionValue(option, value)

    def enableCallbacks(self) -> None:
        """Silence the solver before its constructor does anything that prints."""
        self.setOptionValue("output_flag", False)
        super().enableCallbacks()  # type: ignore[no-untyped-call]


def add_row(lp: QuietHighs, low: float, high: float) -> int:
    """Add an empty row; return its index."""
    lp.addRow(low, high, 0, np.zeros(0, np.int32), np.zeros(0))
    return int(lp.getNumRow()) - 1


def add_column(lp: QuietHighs, cost: float, rows: dict[int, float]) -> None:
    """Add a variable from 0 upward with its coefficients by row."""
    index, value = np.array(list(rows), np.int32), np.array(list(rows.values()), np.float64)
    lp.addCol(cost, 0.0, highspy.kHighsInf, len(rows), index, value)
