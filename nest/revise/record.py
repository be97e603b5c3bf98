"""revision.json: what a revision changed, and what the next one has to know. It belongs to the plan.json beside it.

The first part (released, own rows, pieces for nothing, last sheet number) is read by the next revision, the second
tells programs what changed.
"""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING, Any

from nest.errors import Fault, InputError
from nest.revise.earlier import History, Nothing, Origin, OwnRow, Spent

if TYPE_CHECKING:
    from pathlib import Path

    from nest.domain.job import RowKey
    from nest.revise.changes import Changes, PieceChange
    from nest.revise.changes import Spot as Place
    from nest.revise.revision import Revision

NAME = "revision.json"
FORMAT = "nest-revision"
VERSION = 1
NAME_DIGITS = 12
"""Of a digest, for the name of a plan; some thousand plans are told apart."""


def digest(plan_text: bytes) -> str:
    """Return what tells a plan file from every other."""
    return hashlib.sha256(plan_text).hexdigest()


def first_history(plan_bytes: bytes) -> History:
    """Return the history of a plan that was never revised."""
    return History(plan=digest(plan_bytes)[:NAME_DIGITS])


def dump_revision(revision: Revision, found: Changes, plan_text: str) -> str:
    """Return the text of the file; the same revision always gives the same bytes."""
    history, totals = revision.history, (revision.earlier.plan.totals, revision.plan.totals)
    anew = revision.anew
    document = {
        "format": FORMAT,
        "version": VERSION,
        "plan": digest(plan_text.encode()),
        "first_plan": history.plan,
        "last_sheet": history.last_sheet,
        "released": sorted(history.released),
        "pinned": sorted(revision.earlier.pinned),
        "own_rows": [{**_row(own.key), "of_part": own.of[2], "origin": own.origin.value} for own in history.own_rows],
        "for_nothing": [
            {**_row(one.key), "copy": one.copy, "sheet": one.sheet, "why": one.why.value} for one in history.spent
        ],
        "rows": [
            {**_row(c.key), "change": c.kind.value, "columns": list(c.columns), "copies_before": c.before,
             "copies_now": c.now}
            for c in revision.wanted.changes if c.kind.value != "same"
        ],
        "pieces": {
            "unchanged": found.unchanged,
            "added": [_change(one) for one in found.added],
            "moved": [_change(one) for one in found.moved],
            "dropped": [_change(one) for one in found.dropped],
        },
        "sheets": {
            "unchanged": list(found.same_sheets),
            "changed": list(found.changed_sheets),
            "new": list(found.new_sheets),
            "gone": list(found.gone_sheets),
        },
        "drawn": [{"kind": d.kind, "ref": d.ref, "material": d.material, "more": d.more} for d in found.drawn],
        "cost": {
            "currency": revision.plan.currency,
            "before": totals[0].cost,
            "after": totals[1].cost,
            "difference": round(totals[1].cost - totals[0].cost, 2) + 0.0,
        },
        "per_move": revision.options.per_move,
        "anew": None if anew is None else {"saving": anew.saving, "moves": anew.moves},
    }  # fmt: skip
    return json.dumps(document, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def load_history(path: Path, plan_bytes: bytes) -> History | None:
    """Return what earlier revisions of a plan noted, None where the file beside it belongs to another plan.

    A plan that was never revised has the first digits of its digest for its name.

    Raises
    ------
    InputError
        If the file is there but is not as `dump_revision` writes it.
    """
    try:
        document = json.loads(path.read_bytes().decode("utf-8"))
    except FileNotFoundError:
        return first_history(plan_bytes)
    except (OSError, ValueError, RecursionError) as error:
        raise _fault(path, str(error)) from None
    try:
        if (document["format"], document["version"]) != (FORMAT, VERSION):
            raise _fault(path, f"{document['format']}, version {document['version']}")
        if document["plan"] != digest(plan_bytes):
            return None
        return _history(document)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        if isinstance(error, InputError):
            raise
        raise _fault(path, f"{type(error).__name__}: {error}") from None


def _history(document: dict[str, Any]) -> History:
    return History(
        plan=str(document["first_plan"]),
        released=frozenset(str(name) for name in document["released"]),
        own_rows=tuple(
            OwnRow(key=_key(one), of=(*_key(one)[:2], str(one["of_part"])), origin=Origin(one["origin"]))
            for one in document["own_rows"]
        ),
        spent=tuple(
            Spent(key=_key(one), copy=int(one["copy"]), sheet=str(one["sheet"]), why=Nothing(one["why"]))
            for one in document["for_nothing"]
        ),
        last_sheet=int(document["last_sheet"]),
    )


def _fault(path: Path, got: str) -> InputError:
    remedy = "put back the file that nest replan or nest remake wrote beside this plan"
    return InputError((Fault(file=str(path), rule=f"must be a {FORMAT} of version {VERSION}", got=got, remedy=remedy),))


def _row(key: RowKey) -> dict[str, str]:
    return {"job": key[0], "separation": key[1], "part": key[2]}


def _key(one: dict[str, Any]) -> RowKey:
    return (str(one["job"]), str(one["separation"]), str(one["part"]))


def _change(one: PieceChange) -> dict[str, Any]:
    places = {name: _spot(spot) for name, spot in (("before", one.before), ("after", one.after)) if spot is not None}
    return {**_row(one.key), "copy": one.copy, **places}


def _spot(spot: Place) -> dict[str, Any]:
    r = spot.rect
    return {"sheet": spot.sheet, "plate": spot.plate, "x": r.x, "y": r.y, "w": r.w, "h": r.h, "turn": spot.turn}
