"""Each pattern of equal sheets as the report shows it: why this sheet, its drawing, loading, cuts and pieces."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.domain.plan import CutStage
from nest.domain.totals import sheet_cost
from nest.output.areas import sheet_areas
from nest.output.guide import sheet_warnings
from nest.output.piece_label import copy_words
from nest.output.report.cut_lines import CutLine, cut_lines
from nest.output.report.loading import Loading, loaded, loaded_turn, loading
from nest.output.report.sheet_picture import SheetPicture, sheet_picture
from nest.output.views.numbering import numbered_pieces
from nest.output.words import length_words, percent, piece_size, rect_words, size_words
from nest.units import money

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from nest.domain.job import Row, RowKey
    from nest.domain.plan import OtherSize, PlannedPlate, PlannedSheet, Rest
    from nest.domain.room import Unit
    from nest.output.patterns import Pattern
    from nest.output.report.inputs import ReportInputs

ARROWS = {0: ("↑", "up"), 90: ("←", "left"), 180: ("↓", "down"), 270: ("→", "right")}
"""Where a piece's tail points, as a sign and a word."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceLine:
    """One piece of a pattern with what its label says and where its image starts on the loaded plate."""

    number: int
    job_key: str
    job: str
    customer: str
    separation: str
    part: str
    copy: str
    size: str
    repeat: str
    arrow: str
    arrow_word: str
    plate: str
    start_across: str
    start_around: str
    loaded_turn: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RestLine:
    """A rest: its size, and what is written on it where it is kept."""

    id: str
    kept: bool
    size: str
    credit: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """One pattern of equal sheets."""

    name: str
    sheet: str
    ids: tuple[str, ...]
    kind: str
    ref: str
    material: str
    size: str
    lot: str
    expiry: str
    cost: float
    why: str
    gross: str
    image: str
    credited: str
    warnings: tuple[str, ...]
    picture: SheetPicture
    about: str
    loads: tuple[Loading, ...]
    raw: tuple[CutLine, ...]
    finish: tuple[CutLine, ...]
    pieces: tuple[PieceLine, ...]
    rests: tuple[RestLine, ...]

    @property
    def times(self) -> int:
        """How many sheets are cut alike."""
        return len(self.ids)

    @property
    def told(self) -> dict[str, bool]:
        """Which columns of the tables of cuts and pieces say something on this sheet."""
        return {
            "plate": len(self.loads) > 1,
            "customer": any(piece.customer for piece in self.pieces),
            "part": any(piece.part for piece in self.pieces),
            "repeat": any(piece.repeat for piece in self.pieces),
        }


def layouts(inputs: ReportInputs, jobs: Mapping[str, str]) -> tuple[Layout, ...]:
    """Return a layout for each pattern of the plan; ``jobs`` names each job in the page."""
    rows = {row.key: row for row in inputs.rows}
    return tuple(
        _layout(inputs, pattern, f"sheet-{number}", rows, jobs) for number, pattern in enumerate(inputs.drawn, 1)
    )


def _layout(
    inputs: ReportInputs, pattern: Pattern, name: str, rows: Mapping[RowKey, Row], jobs: Mapping[str, str]
) -> Layout:
    sheet, room, unit = pattern.first, inputs.room, inputs.room.unit
    area = sheet_areas(sheet)
    pieces = _piece_lines(pattern, unit, rows, jobs)
    cost = money(sheet_cost(sheet, room))
    return Layout(
        name=name, sheet=sheet.id, ids=tuple(other.id for other in pattern.sheets), kind=sheet.source.kind.value,
        ref=sheet.source.ref, material=sheet.material, size=size_words(sheet.across_mm, sheet.around_mm, unit),
        lot=sheet.lot or "", expiry=sheet.expiry or "", cost=cost,
        why=why_words(cost, inputs.plan.currency, None if inputs.others is None else inputs.others.get(sheet.id)),
        gross=percent(area.gross), image=percent(area.image_yield), credited=percent(area.credited),
        warnings=tuple(sheet_warnings(inputs.plan, pattern)),
        picture=sheet_picture(pattern, room, name, jobs), about=_about(sheet, unit),
        loads=tuple(loading(plate, unit) for plate in sheet.plates),
        raw=cut_lines(sheet, room, CutStage.RAW), finish=cut_lines(sheet, room, CutStage.FINISH),
        pieces=pieces, rests=tuple(_rest_line(rest, unit) for rest in sheet.rests),
    )  # fmt: skip


def why_words(cost: float, currency: str, others: Sequence[OtherSize] | None) -> str:
    """Return why a sheet of this size: what the cheapest other size would cost; empty where nobody asked.

    Examples
    --------
    >>> why_words(86.29, "EUR", ())
    'No other size in the store takes these pieces.'
    """
    if others is None:
        return ""
    if not others:
        return "No other size in the store takes these pieces."
    best = others[0]
    more = money(best.cost - cost)
    name = f"{best.sheets} × {best.ref}" if best.sheets > 1 else f"{best.kind.value} {best.ref}"
    if more < 0:
        return (
            f"For these pieces alone {name} would cost {best.cost:.2f} {currency}, {-more:.2f} less; "
            "a longer search may use it."
        )
    if more == 0:
        return f"{name} would cost the same."
    return f"The next best size, {name}, would cost {best.cost:.2f} {currency}: {more:.2f} more."


def _about(sheet: PlannedSheet, unit: Unit) -> str:
    """Return the drawing in words for those who cannot see it."""
    told = [
        f"plate {plate.id}, {len(plate.pieces)} pieces, lead edge {ARROWS_OF_LEAD[plate.lead.value]}"
        for plate in sheet.plates
    ]
    told += [f"{'kept' if rest.kept else 'scrap'} {rest.id}, {rect_words(rest.rect, unit)}" for rest in sheet.rests]
    return f"Sheet {size_words(sheet.across_mm, sheet.around_mm, unit)}: " + "; ".join(told)


ARROWS_OF_LEAD = {"y0": "at the bottom", "y1": "at the top", "x0": "at the left", "x1": "at the right"}


def _piece_lines(
    pattern: Pattern, unit: Unit, rows: Mapping[RowKey, Row], jobs: Mapping[str, str]
) -> tuple[PieceLine, ...]:
    out = []
    for number, plate_index, index in numbered_pieces(pattern):
        plate: PlannedPlate = pattern.first.plates[plate_index]
        piece = plate.pieces[index]
        row, start = rows.get(piece.row), loaded(plate, piece.image)
        arrow, word = ARROWS[piece.turn % 360]
        across, around = piece_size(piece)
        repeat = None if row is None else row.repeat_mm
        out.append(
            PieceLine(
                number=number, job_key=jobs[piece.job], job=piece.job, customer="" if row is None else row.customer,
                separation=piece.separation, part=piece.part, copy=copy_words(pattern.copies[plate_index][index]),
                size=f"{length_words(across, unit)} × {length_words(around, unit)}",
                repeat="" if repeat is None else length_words(repeat, unit), arrow=arrow, arrow_word=word,
                plate=plate.id, start_across=length_words(start.x, unit), start_around=length_words(start.y, unit),
                loaded_turn=loaded_turn(plate, piece.turn),
            )
        )  # fmt: skip
    return tuple(out)


def _rest_line(rest: Rest, unit: Unit) -> RestLine:
    return RestLine(id=rest.id, kept=rest.kept, size=rect_words(rest.rect, unit), credit=rest.credit)
