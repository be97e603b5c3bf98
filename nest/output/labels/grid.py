"""The grid of a label page: paper, cells, margins and gaps, all in mm, from the paper's upper left corner."""

from __future__ import annotations

from dataclasses import dataclass

from nest.output.paper_sizes import PAPERS
from nest.output.text_fit import Box

LEAST_W, LEAST_H = 20.0, 10.0
"""Least size of a label that still holds readable text."""
_SLACK = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelGrid:
    """Columns and rows of labels on a paper; ``cell`` None fills the paper inside the margins.

    Raises
    ------
    ValueError
        If the labels do not fit the paper or are too small to read: the text says by how much.
    """

    columns: int
    rows: int
    paper: tuple[float, float] = PAPERS["A4"]
    cell: tuple[float, float] | None = None
    margin: tuple[float, float] = (0.0, 0.0)
    gap: tuple[float, float] = (0.0, 0.0)

    def __post_init__(self) -> None:
        """Check that the grid fits its paper."""
        for side, least, words in ((0, LEAST_W, "wide"), (1, LEAST_H, "high")):
            size = self.size[side]
            if size < least:
                raise ValueError(f"labels would be {size:.1f} mm {words}; they must be at least {least:g} mm {words}")
            count = (self.columns, self.rows)[side]
            need = count * size + (count - 1) * self.gap[side]
            room = self.paper[side] - self.margin[side]
            if need > room + _SLACK:
                raise ValueError(
                    f"{count} labels with their gaps are {need:.1f} mm {words}; the paper has {room:.1f} mm from its "
                    "margin on"
                )

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of a label."""
        if self.cell is not None:
            return self.cell
        w, h = (
            (self.paper[side] - 2 * self.margin[side] - (count - 1) * self.gap[side]) / count
            for side, count in ((0, self.columns), (1, self.rows))
        )
        return w, h

    @property
    def per_page(self) -> int:
        """Labels on one page."""
        return self.columns * self.rows

    def box(self, index: int) -> Box:
        """Return the place of a label on its page, counted along the rows from 0."""
        row, column = divmod(index, self.columns)
        w, h = self.size
        return Box(
            x=self.margin[0] + column * (w + self.gap[0]), y=self.margin[1] + row * (h + self.gap[1]), w=w, h=h
        )
