"""How wide text is drawn, and what to do where it is too wide: smaller, wrapped, shortened.

Nobody knows the font a viewer takes for ``sans-serif``, so widths are estimated on the safe side: at least those of the
widest common one (figures from memory of wide sans-serif fonts: digits 0.64 em, capitals up to 0.8 em, W 1.0 em).
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

ASCENT = 0.95
DESCENT = 0.27
LEADING = 1.3
"""Distance of base lines in em: boxes of neighbouring lines (ascent plus descent) do not touch."""
ELLIPSIS = "…"
_BOLD = 1.14
_EM_BY_SIGNS = (
    ("iljI|'.,:;! ", 0.40), ("frt()[]/\\-`\"", 0.47), ("sczkxvyJ", 0.62), ("mMw@%W", 1.02), ("—…+=<>~^#×_", 1.02),
    ("ABCEFJKLPRSTVXYZ", 0.74), ("DGHNOQU&", 0.84),
)  # fmt: skip
_EM = {sign: em for signs, em in reversed(_EM_BY_SIGNS) for sign in signs}


@lru_cache(maxsize=4096)
def _em(sign: str) -> float:
    if sign in _EM:
        return _EM[sign]
    if sign.isascii():
        return 0.66
    if unicodedata.combining(sign) or sign in "\u200b\u200c\u200d\ufe0e\ufe0f":
        return 0.0
    if ord(sign) >= 0x1F000:
        return 1.45
    return 1.1 if unicodedata.east_asian_width(sign) in "WFA" or not sign.isalpha() else 0.9


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Return a width that text of this font size will not exceed, in the unit of the size.

    Examples
    --------
    >>> round(text_width("2417", 10.0), 2)
    26.4
    """
    width = _ems(text) * size
    return width * _BOLD if bold else width


@lru_cache(maxsize=65536)
def _ems(text: str) -> float:
    return sum(map(_em, text))


def shortened(text: str, width: float, size: float, *, bold: bool = False) -> str:
    """Return the text, or its longest start with an ellipsis that is not wider than ``width``.

    Examples
    --------
    >>> shortened("Reflex blue", 40.0, 10.0), shortened("Red", 40.0, 10.0)
    ('Refle…', 'Red')
    """
    if text_width(text, size, bold=bold) <= width:
        return text
    for end in range(min(len(text) - 1, int(width / (0.2 * size)) + 1), 0, -1):
        short = text[:end].rstrip() + ELLIPSIS
        if text_width(short, size, bold=bold) <= width:
            return short
    return ELLIPSIS


def wrapped(text: str, width: float, size: float) -> list[str]:
    """Return text broken at blanks into lines not wider than ``width``; a longer word is shortened."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size) <= width:
            lines[-1] = longer
        else:
            lines.append(shortened(word, width, size))
    return lines


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A rectangle on the page in mm: ``x``, ``y`` is its upper left corner, y runs down."""

    x: float
    y: float
    w: float
    h: float

    def touches(self, other: Box) -> bool:
        """Whether two boxes share some area."""
        return (
            self.x < other.x + other.w
            and other.x < self.x + self.w
            and self.y < other.y + other.h
            and other.y < self.y + self.h
        )

    def inset(self, by: float) -> Box:
        """Return the box made smaller on every side."""
        return Box(x=self.x + by, y=self.y + by, w=self.w - 2 * by, h=self.h - 2 * by)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """Lines of text as they fit a box: the font size and whether they run upward (turned by a quarter)."""

    lines: tuple[str, ...]
    size: float
    upward: bool


def largest_size(lines: Sequence[str], w: float, h: float, *, most: float, bold_first: bool = False) -> float:
    """Return the largest font size, at most ``most``, at which the lines fit a box of w by h."""
    if not lines:
        return most
    widest = max(text_width(line, 1.0, bold=bold_first and index == 0) for index, line in enumerate(lines))
    tall = ASCENT + DESCENT + LEADING * (len(lines) - 1)
    return min(most, w / max(widest, 1e-9), h / tall)


def text_box(room: Box, fit: Fitted) -> Box:
    """Return the box of fitted text in the middle of the room it was fitted to."""
    wide = max(text_width(line, fit.size, bold=index == 0) for index, line in enumerate(fit.lines))
    tall = fit.size * (ASCENT + DESCENT + LEADING * (len(fit.lines) - 1))
    w, h = (tall, wide) if fit.upward else (wide, tall)
    return Box(x=room.x + (room.w - w) / 2, y=room.y + (room.h - h) / 2, w=w, h=h)


def best_fit(choices: Sequence[Sequence[str]], w: float, h: float, *, most: float, least: float) -> Fitted | None:
    """Return the first choice of lines that fits at ``least`` or larger, level if it can be, else running upward.

    The first line is counted as bold. Where a level and an upward text both fit, the level one is taken unless the
    upward one is larger by a third.
    """
    for lines in choices:
        level = largest_size(lines, w, h, most=most, bold_first=True)
        upward = largest_size(lines, h, w, most=most, bold_first=True)
        turned = upward > level * 4 / 3 or level < least <= upward
        size = upward if turned else level
        if size >= least:
            return Fitted(lines=tuple(lines), size=size, upward=turned)
    return None
