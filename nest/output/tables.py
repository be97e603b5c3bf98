"""The two tables of figures: yield.csv by sheet, jobs.csv by job."""

from __future__ import annotations

import csv
import io
from collections import defaultdict
from typing import TYPE_CHECKING

from nest.domain.plan import CutStage
from nest.domain.room import Unit
from nest.output.areas import sheet_areas
from nest.output.notices import plan_rows, warnings_by_job
from nest.output.words import one_line, size_words
from nest.units import money

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from nest.domain.plan import JobShare, Plan, PlannedSheet

_YIELD_HEAD = (
    "sheet", "material", "source", "lot", "size", "plates", "pieces",
    "drawn_m2", "image_m2", "border_m2", "keep_out_m2", "unused_m2", "kept_m2", "scrap_m2",
    "yield_gross", "yield_image", "yield_credited",
    "price", "credit", "plate_cost", "process_cost", "cut_cost", "net_cost",
)  # fmt: skip
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def yield_csv(plan: Plan, unit: Unit = Unit.MM) -> str:
    """Return one line a sheet and a total line: pieces, areas in m2, yields, and costs that add up to the plan's.

    ``net_cost`` is price - credit + plates + process + raw cuts.
    """
    plate_costs = _shares(plan.totals.cost_parts.plates, [len(sheet.plates) for sheet in plan.sheets])
    raw = [sum(cut.stage is CutStage.RAW for cut in sheet.cuts) for sheet in plan.sheets]
    cut_costs = _shares(plan.totals.cost_parts.cuts, raw)
    lines = [
        _sheet_line(sheet, unit, plate_cost, cut_cost)
        for sheet, plate_cost, cut_cost in zip(plan.sheets, plate_costs, cut_costs, strict=True)
    ]
    totals = plan.totals
    area, yields, parts = totals.area, totals.yields, totals.cost_parts
    lines.append([
        "total", "", f"{totals.sheets} drawn", "", "", totals.plates, totals.pieces,
        *(_m2(value) for value in (area.drawn, area.image, area.border, area.keep_out, area.unused, area.kept,
                                   area.scrap)),
        *(_ratio(value) for value in (yields.gross, yields.image, yields.credited)),
        *(_cents(value) for value in (parts.sheets, parts.credit, parts.plates, parts.process, parts.cuts,
                                      totals.cost)),
    ])  # fmt: skip
    return csv_text(_YIELD_HEAD, lines)


def jobs_csv(shares: Sequence[JobShare], plan: Plan) -> str:
    """Return one line a job with its share of the cost, and last what the room bears, so that shares sum to the total.

    ``alone`` and ``saving`` are empty where a job cannot be planned on its own; ``warnings`` are those of its rows.
    """
    told = _warnings(plan)
    lines: list[list[object]] = []
    for share in shares:
        alone = "" if share.alone is None else _cents(share.alone)
        saving = "" if share.alone is None else _cents(share.alone - share.share)
        lines.append([written(share.job), share.pieces, _m2(share.piece_m2), _cents(share.share), alone, saving,
                      written("; ".join(told[share.job]))])  # fmt: skip
    excess = plan.totals.cost - sum(money(share.share) for share in shares)
    lines.append(["room", "", "", _cents(excess), "", "", ""])
    return csv_text(("job", "pieces", "piece_m2", "share", "alone", "saving", "warnings"), lines)


def _warnings(plan: Plan) -> dict[str, list[str]]:
    """Return the warnings of each job's rows, without the job's own name."""
    told: dict[str, list[str]] = defaultdict(list)
    for job, rows, text in warnings_by_job(plan.warnings, plan_rows(plan)):
        if job is not None:
            names = ", ".join(one_line(f"{separation} {part}") for _, separation, part in rows)
            told[job].append(f"{names}: {text}")
    return told


def _sheet_line(sheet: PlannedSheet, unit: Unit, plate_cost: float, cut_cost: float) -> list[object]:
    area = sheet_areas(sheet)
    credit = sum(rest.credit for rest in sheet.rests)
    process = sum(plate.process for plate in sheet.plates)
    source = f"{sheet.source.kind.value} {sheet.source.ref}"
    net = sheet.cost - credit + plate_cost + process + cut_cost
    return [
        written(sheet.id), written(sheet.material), written(source), written(sheet.lot or ""),
        size_words(sheet.across_mm, sheet.around_mm, unit),
        len(sheet.plates), sum(len(plate.pieces) for plate in sheet.plates),
        *(_m2(value) for value in (area.drawn, area.image, area.border, area.keep_out, area.unused, area.kept,
                                   area.scrap)),
        *(_ratio(value) for value in (area.gross, area.image_yield, area.credited)),
        *(_cents(value) for value in (sheet.cost, credit, plate_cost, process, cut_cost, net)),
    ]  # fmt: skip


def _shares(total: float, counts: Sequence[int]) -> list[float]:
    """Return a cost spread over sheets by their counts, in cents that sum to the total."""
    whole, done, given, out = sum(counts), 0, 0.0, []
    for count in counts:
        done += count
        upto = money(total * done / whole) if whole else 0.0
        out.append(money(upto - given))
        given = upto
    return out


def written(value: str) -> str:
    """Return a text cell on one line that no spreadsheet takes for a formula."""
    harmless = f"'{value}" if value.startswith(_FORMULA_STARTS) else value
    # The csv writer does not quote a lone carriage return, which readers take for the end of a line.
    return harmless.replace("\r", " ").replace("\n", " ")


def _m2(value: float) -> str:
    return f"{round(value, 6) + 0.0:.6f}"


def _ratio(value: float) -> str:
    return f"{round(value, 4) + 0.0:.4f}"


def _cents(value: float) -> str:
    return f"{money(value) + 0.0:.2f}"


def csv_text(head: Sequence[str], lines: Iterable[Sequence[object]]) -> str:
    """Return a table as CSV, commas and line feeds."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    writer.writerows(lines)
    return out.getvalue()
