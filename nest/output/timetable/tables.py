"""A timetable for other programs: a CSV line for each stay, and one JSON document."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from nest.domain.cells import guarded
from nest.output.timetable.clock import moment
from nest.output.words import one_line

if TYPE_CHECKING:
    from nest.domain.timetable import Timetable

CSV_HEAD = (
    "batch", "plate", "sheet", "material", "load", "step", "station", "machine", "enters", "leaves", "from_minute",
    "to_minute", "operator_minutes", "with",
)  # fmt: skip
FORMAT, VERSION = "nest-timetable", 1


def timetable_csv(table: Timetable) -> str:
    """Return one line for each stay of a plate at a station; ``enters`` and ``leaves`` are empty without a day."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(CSV_HEAD)
    for plate in table.plates:
        for visit in plate.visits:
            texts = (table.batch, plate.plate, plate.sheet, plate.material, plate.load, visit.step, visit.station)
            tended = sum(end - start for start, end in visit.tended)
            writer.writerow([
                *(guarded(one_line(text)) for text in texts), visit.machine, _iso(table, visit.start),
                _iso(table, visit.end), _minutes(visit.start), _minutes(visit.end), _minutes(tended),
                guarded(one_line(" ".join(visit.company))),
            ])  # fmt: skip
    return out.getvalue()


def timetable_json(tables: tuple[Timetable, ...]) -> str:
    """Return timetables as one JSON document; minutes count from each batch's start, lengths are mm."""
    return json.dumps(
        {"format": FORMAT, "version": VERSION, "timetables": [_document(table) for table in tables]},
        ensure_ascii=False, allow_nan=False, indent=1,
    ) + "\n"  # fmt: skip


def _document(table: Timetable) -> dict[str, Any]:
    told = asdict(table)
    for key in ("start", "end"):
        told[key] = None if told[key] is None else told[key].isoformat()
    late = {plate.plate for plate in table.late()}
    for plate, record in zip(table.plates, told["plates"], strict=True):
        record["ready"] = plate.ready
        record["late"] = plate.plate in late
    return told | {"gap": table.gap, "optimal": table.gap == 0.0}


def _iso(table: Timetable, minutes: float) -> str:
    at = moment(table, minutes)
    return "" if at is None else at.isoformat(sep=" ")


def _minutes(value: float) -> str:
    return f"{value:.2f}"
