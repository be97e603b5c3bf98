"""A plan's calendar as plain values of the plan file, and back."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

from nest.domain.calendar import Batch, LateReason, LateRow, OneByOne, PlannedCalendar
from nest.units import money

if TYPE_CHECKING:
    from collections.abc import Mapping


def calendar_to_json(calendar: PlannedCalendar) -> dict[str, Any]:
    """Return a calendar in the order of keys in which it is written; days to 4 decimals, money to cents."""
    out: dict[str, Any] = {
        "batches": [_batch(batch) for batch in calendar.batches],
        "late": [_late(row) for row in calendar.late],
        "lateness": money(calendar.lateness) + 0.0,
        "least_lateness": money(calendar.least_lateness) + 0.0,
        "opened": money(calendar.opened) + 0.0,
    }
    own = calendar.one_by_one
    if own is not None:
        out["one_by_one"] = {
            "cost": money(own.cost) + 0.0,
            "lateness": money(own.lateness) + 0.0,
            "sheets": own.sheets,
            "plates": own.plates,
            "gross": round(own.gross, 6) + 0.0,
            "opened": money(own.opened) + 0.0,
        }
    return out


def _batch(batch: Batch) -> dict[str, Any]:
    out: dict[str, Any] = {"id": batch.id, "start": batch.start.isoformat(), "end": batch.end.isoformat()}
    if batch.plates is not None:
        out["plates"] = batch.plates
    if batch.minutes is not None:
        out["minutes"] = batch.minutes
    return out


def _late(row: LateRow) -> dict[str, Any]:
    return {
        "job": row.job,
        "separation": row.separation,
        "part": row.part,
        "copies": row.copies,
        "batch": row.batch,
        "mountable": row.mountable.isoformat(),
        "due": row.due.isoformat(),
        "days": round(row.days, 4) + 0.0,
        "cost": money(row.cost) + 0.0,
        "reason": row.reason.value,
    }


def calendar_from_json(data: Mapping[str, Any]) -> PlannedCalendar:
    """Return the calendar of plain values that follow the schema.

    Raises
    ------
    ValueError
        If a moment is not an ISO date-time.
    """
    own = data.get("one_by_one")
    return PlannedCalendar(
        batches=tuple(
            Batch(
                id=one["id"],
                start=datetime.fromisoformat(one["start"]),
                end=datetime.fromisoformat(one["end"]),
                plates=one.get("plates"),
                minutes=None if one.get("minutes") is None else float(one["minutes"]),
            )
            for one in data["batches"]
        ),
        late=tuple(
            LateRow(
                job=one["job"],
                separation=one["separation"],
                part=one["part"],
                copies=int(one["copies"]),
                batch=one["batch"],
                mountable=datetime.fromisoformat(one["mountable"]),
                due=datetime.fromisoformat(one["due"]),
                days=float(one["days"]),
                cost=float(one["cost"]),
                reason=LateReason(one["reason"]),
            )
            for one in data["late"]
        ),
        lateness=float(data["lateness"]),
        least_lateness=float(data["least_lateness"]),
        opened=float(data["opened"]),
        one_by_one=None
        if own is None
        else OneByOne(
            cost=float(own["cost"]),
            lateness=float(own["lateness"]),
            sheets=int(own["sheets"]),
            plates=int(own["plates"]),
            gross=float(own["gross"]),
            opened=float(own["opened"]),
        ),
    )
