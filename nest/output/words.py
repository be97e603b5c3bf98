"""How outputs write lengths, sizes, areas and money, and how foreign text is made fit to print."""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from typing import TYPE_CHECKING

from nest.domain.plan import Edge
from nest.domain.room import Unit
from nest.units import MM_PER_INCH

if TYPE_CHECKING:
    from nest.domain.plan import PlacedPiece, Rect

EDGE_WORDS = {Edge.X0: "left edge", Edge.X1: "right edge", Edge.Y0: "bottom edge", Edge.Y1: "top edge"}
_DIRECTION_MARKS = frozenset("\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u061c")


def decimal(value: float, places: int) -> str:
    """Return a number with at most so many decimals, without trailing zeros.

    Examples
    --------
    >>> decimal(304.9052, 2), decimal(900.0, 2), decimal(-0.001, 2)
    ('304.91', '900', '0')
    """
    text = f"{value:.{places}f}".rstrip("0").rstrip(".") if places else f"{value:.0f}"
    return "0" if text in ("-0", "") else text


def length_words(mm: float, unit: Unit) -> str:
    """Return a length as a number in the room's unit: to 0.01 mm or 0.001 in.

    Examples
    --------
    >>> length_words(304.8, Unit.MM), length_words(304.8, Unit.INCH)
    ('304.8', '12')
    """
    return decimal(mm, 2) if unit is Unit.MM else decimal(mm / MM_PER_INCH, 3)


def size_words(across_mm: float, around_mm: float, unit: Unit, *, with_unit: bool = True) -> str:
    """Return a size with both words, such as ``across 900 / around 1200 mm``.

    Examples
    --------
    >>> size_words(900.0, 1200.0, Unit.MM)
    'across 900 / around 1200 mm'
    """
    text = f"across {length_words(across_mm, unit)} / around {length_words(around_mm, unit)}"
    return f"{text} {unit.value}" if with_unit else text


def rect_words(rect: Rect, unit: Unit) -> str:
    """Return the size of a part of a sheet, in the sheet's directions."""
    return size_words(rect.w, rect.h, unit)


def piece_size(piece: PlacedPiece) -> tuple[float, float]:
    """Return a piece's own size in mm, across and around, however it is turned."""
    return (piece.rect.w, piece.rect.h) if piece.turn % 180 == 0 else (piece.rect.h, piece.rect.w)


def percent(ratio: float) -> str:
    """Return a ratio in percent with one decimal."""
    return f"{100 * ratio:.1f} %"


def counted(count: int, noun: str) -> str:
    """Return a count with its noun: ``1 plate``, ``3 plates``, ``2 copies``, ``5 days``, ``2 boxes``."""
    if count == 1:
        return f"1 {noun}"
    if noun.endswith("x"):
        return f"{count} {noun}es"
    if noun.endswith("day"):
        return f"{count} {noun}s"
    return f"{count} {noun[:-1]}ies" if noun.endswith("y") else f"{count} {noun}s"


def row_words(job: str, separation: str, part: str) -> str:
    """Return a row's identity in words."""
    return " ".join(["job", *(word for word in (job, separation, part) if word)])


@lru_cache(maxsize=65536)
def one_line(text: str) -> str:
    r"""Return text on one line, without what a terminal or XML cannot show.

    White space becomes single blanks; control and direction marks, lone surrogates and unassigned positions become the
    replacement character.

    Examples
    --------
    >>> one_line(" two\n lines\x07")
    'two lines�'
    """
    text = " ".join(text.split())
    return "".join("\ufffd" if _hidden(sign) else sign for sign in text)


def _hidden(sign: str) -> bool:
    return sign in _DIRECTION_MARKS or unicodedata.category(sign) in ("Cc", "Cs", "Cn")
