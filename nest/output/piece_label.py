"""What is written into a piece, and its arrow along `around`."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from nest.output.text_fit import Box, Fitted, best_fit, largest_size, shortened
from nest.output.words import one_line, piece_size

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.plan import PlacedPiece
    from nest.output.drawing import Canvas
    from nest.output.lengths import Lengths
    from nest.output.marks import Point
    from nest.output.page import Look


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """Where a piece's text and arrow go.

    ``level`` is 3 for all of the text, 2 without the size, 1 shortened, 0 the mere number.
    """

    text: Fitted
    text_box: Box
    arrow_box: Box | None
    level: int

    @property
    def rank(self) -> tuple[int, float]:
        """How good the label is: what it tells; a mere number, how large it is."""
        return self.level, self.text.size if self.level == 0 else 0.0


def copy_words(copies: Sequence[int]) -> str:
    """Return copy numbers in short: ``3``, ``1, 4``, ``2 to 9``, by sheet where a pattern is cut several times.

    Examples
    --------
    >>> copy_words([3]), copy_words([1, 2, 3]), copy_words([4, 1])
    ('3', '1 to 3', '4, 1')
    """
    if len(copies) > 2 and all(after - before == 1 for before, after in pairwise(copies)):
        return f"{copies[0]} to {copies[-1]}"
    return ", ".join(map(str, copies))


def label_of(
    number: int, piece: PlacedPiece, copies: Sequence[int], room: Box, lengths: Lengths, look: Look
) -> Label | None:
    """Return how a piece's text and arrow share the clear part of the piece, None where not even its number fits.

    The text has as much as is readable: all of it, else without the size, else shortened; at worst the piece's number,
    whose row in the piece table has the rest.
    """
    found = None
    for arrow_box, text_box in _splits(room, piece.turn, look):
        told = _text(number, piece, copies, text_box, lengths, look)
        if told is None:
            continue
        label = Label(text=told[1], text_box=text_box, arrow_box=arrow_box, level=told[0])
        if found is None or (label.level, label.text.size) > (found.level, found.text.size * 1.1):
            found = label
    return found if found is not None else mere_number(number, piece.turn, room, look)


def mere_number(number: int, turn: int, room: Box, look: Look) -> Label | None:
    """Return the number alone, beside the arrow where both fit, None where it would be too small to read."""
    only = (str(number),)
    for arrow, text in (*_splits(room, turn, look), (None, room)):
        fit = best_fit([only], text.w, text.h, most=look.label, least=look.small)
        if fit is not None:
            return Label(text=fit, text_box=text, arrow_box=arrow, level=0)
    return None


def _splits(room: Box, turn: int, look: Look) -> list[tuple[Box | None, Box]]:
    """Return ways to split the clear part into the arrow's end and the text's, the one along the long side first."""
    along, beside = min(max(4.5 * look.k, 0.3 * max(room.w, room.h)), 9.0 * look.k), 2.4 * look.k
    upright = turn % 180 == 0
    wide = min(beside if upright else along, room.w / 3)
    tall = min(along if upright else beside, room.h / 3)
    ways = [
        (Box(x=room.x, y=room.y, w=wide, h=room.h), Box(x=room.x + wide, y=room.y, w=room.w - wide, h=room.h)),
        (Box(x=room.x, y=room.y + room.h - tall, w=room.w, h=tall), Box(x=room.x, y=room.y, w=room.w, h=room.h - tall)),
    ]
    if room.w < room.h:
        ways.reverse()
    return [(arrow if min(arrow.w, arrow.h) >= 1.0 else None, text) for arrow, text in ways]


def _text(
    number: int, piece: PlacedPiece, copies: Sequence[int], box: Box, lengths: Lengths, look: Look
) -> tuple[int, Fitted] | None:
    across, around = map(lengths.exact, piece_size(piece))
    job, name = one_line(piece.job), one_line(f"{piece.separation} {piece.part}")
    copy = f"copy {copy_words(copies)}" if len(copies) <= 4 else "copies: table"
    first, size = f"{number} · {job}", f"across {across} / around {around}"
    fit = _largest(_full(first, name, copy, (across, around), size), box, look, look.small)
    # A very long name must not make the whole text tiny: then it is shortened at the size of the tables.
    if fit is None or fit.size < look.table:
        room = max(box.w, box.h) if fit is None or fit.upward else box.w
        short_first, short_name = (shortened(words, room, look.table, bold=True) for words in (first, name))
        if (short_first, short_name) != (first, name):
            short = _largest(_full(short_first, short_name, copy, (across, around), size), box, look, look.table)
            if short is not None:
                return 3, short
    if fit is not None:
        return 3, fit
    without = (
        [first, name, copy], [f"{first} · {name} · {copy}"], [first, name], [f"{first} · {name}"],
        [str(number), job, name], [str(number), f"{job} · {name}"],
    )  # fmt: skip
    fit = best_fit(without, box.w, box.h, most=look.label, least=look.small)
    if fit is not None:
        return 2, fit
    fit = _cut_short(without, box, look)
    return None if fit is None else (1, fit)


def _full(first: str, name: str, copy: str, sides: tuple[str, str], size: str) -> list[list[str]]:
    across, around = sides
    return [
        [first, name, copy, f"across {across}", f"around {around}"],
        [first, name, copy, size],
        [first, f"{name} · {copy}", size],
        [f"{first} · {name} · {copy}", size],
        [f"{first} · {name} · {copy} · {size}"],
    ]


def _largest(choices: Sequence[Sequence[str]], box: Box, look: Look, least: float) -> Fitted | None:
    """Return the choice that can be written largest, level text counting for more."""
    fits = [best_fit([lines], box.w, box.h, most=look.label, least=least) for lines in choices]
    found = [fit for fit in fits if fit is not None]
    if not found:
        return None
    return max(found, key=lambda fit: (round(fit.size * (1.0 if fit.upward else 1.15), 3), len(fit.lines)))


def _cut_short(choices: Sequence[Sequence[str]], box: Box, look: Look) -> Fitted | None:
    """Return the first choice whose lines can be shortened to something still telling."""
    for w, h, upward in ((box.w, box.h, False), (box.h, box.w, True)):
        for lines in choices:
            if largest_size([""] * len(lines), w, h, most=look.label) < look.small or w < 5.5 * look.small:
                continue
            cut = tuple(shortened(line, w, look.small, bold=index == 0) for index, line in enumerate(lines))
            return Fitted(lines=cut, size=look.small, upward=upward)
    return None


def draw_arrow(canvas: Canvas, box: Box, turn: int, look: Look, element: str) -> None:
    """Draw the arrow that points to the piece's tail: up at turn 0, then anticlockwise."""
    upright = turn % 180 == 0
    length = min(9.0 * look.k, (box.h if upright else box.w) * 0.8)
    head = min(1.1 * look.k, (box.w if upright else box.h) * 0.4, length * 0.45)
    mid_x, mid_y = box.x + box.w / 2, box.y + box.h / 2
    dx, dy = {0: (0, -1), 90: (-1, 0), 180: (0, 1), 270: (1, 0)}[turn % 360]

    def at(along: float, aside: float) -> Point:
        return mid_x + dx * along - dy * aside, mid_y + dy * along + dx * aside

    tip, neck = length / 2, length / 2 - 1.6 * head
    canvas.line("arrows", at(-length / 2, 0), at(neck, 0), stroke="black", stroke_width=look.piece_mm * 1.6, id=element)
    canvas.polygon("arrows", [at(tip, 0), at(neck, head), at(neck, -head)], fill="black")
