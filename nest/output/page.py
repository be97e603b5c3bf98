"""Sizes on a guide's page: how text and lines grow with its reduction, and where the drawing lies on it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.output.text_fit import Box

if TYPE_CHECKING:
    from nest.domain.plan import Rect

@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """Text sizes and line weights in mm for a page that its paper shows reduced by ``k``.

    Text is sized so that it is read on the printed page; lines stay thin enough to lay a knife on at 1:1.
    """

    k: float

    @property
    def small(self) -> float:
        """Least size of any text: digits are 2 mm high on the printed page."""
        return 2.8 * self.k

    @property
    def table(self) -> float:
        """Size of tables and running text."""
        return 2.8 * self.k

    @property
    def head(self) -> float:
        """Size of block titles and of the numbers of raw cuts."""
        return 3.6 * self.k

    @property
    def label(self) -> float:
        """Largest size of text inside a piece."""
        return 4.5 * self.k

    @property
    def title(self) -> float:
        """Size of the page's title."""
        return 5.5 * self.k

    @property
    def side(self) -> float:
        """Size of the words that name the side seen."""
        return 9.0 * self.k

    @property
    def raw_mm(self) -> float:
        """Weight of raw cuts."""
        return max(0.6, 0.24 * self.k)

    @property
    def finish_mm(self) -> float:
        """Weight of finish cuts."""
        return max(0.35, 0.13 * self.k)

    @property
    def piece_mm(self) -> float:
        """Weight of piece edges."""
        return max(0.25, 0.08 * self.k)

    @property
    def thin_mm(self) -> float:
        """Weight of images, hatches and rules."""
        return max(0.18, 0.06 * self.k)

    @property
    def finish_dash(self) -> str:
        """Dashes of finish cuts: long, short, short."""
        return " ".join(f"{part * self.k:.2f}" for part in (3.0, 0.6, 0.6, 0.6))

    @property
    def laser_dash(self) -> str:
        """Dashes of the area the laser may reach."""
        return f"{2.2 * self.k:.2f} {1.0 * self.k:.2f}"

    @property
    def image_dash(self) -> str:
        """Dashes of images."""
        return f"{0.9 * self.k:.2f} {0.6 * self.k:.2f}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Where the sheet lies on the page: the one place where the sheet's y (up) becomes the page's y (down)."""

    left: float
    bottom: float

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Return the page point of a point in the sheet's frame."""
        return self.left + x, self.bottom - y

    def box(self, rect: Rect) -> Box:
        """Return the page box of a rectangle in the sheet's frame."""
        return Box(x=self.left + rect.x, y=self.bottom - rect.y - rect.h, w=rect.w, h=rect.h)
