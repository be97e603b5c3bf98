"""remakes.csv: one line for every damaged piece made again, in the order in which they were entered; never changed.

Cells that a spreadsheet could take for a formula are written with an apostrophe in front, which reading takes off.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from nest.errors import Fault, InputError
from nest.revise.earlier import Origin
from nest.revise.remake import Reason

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from nest.domain.job import RowKey
    from nest.domain.plan import Plan
    from nest.revise.earlier import History
    from nest.revise.remake import Remake

NAME = "remakes.csv"
HEAD = (
    "date", "reason", "job", "separation", "part", "copy", "sheet", "made_again_as", "plate", "piece_m2", "cost",
    "lost", "currency", "plan", "made",
)  # fmt: skip
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "'", "＝", "＋", "－", "＠")


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One damaged piece: when and where it was damaged, what took its place, what that costs, area in m2.

    ``cost`` is by how much the plan became dearer, ``lost`` the damaged piece's share of its sheet. ``plan`` names the
    plan, ``made`` is how many pieces it has without those made again.
    """

    date: date
    reason: Reason
    key: RowKey
    copy: int
    sheet: str
    made_again_as: str
    plate: str
    piece_m2: float
    cost: float
    lost: float
    currency: str
    plan: str
    made: int


def entries_of(remake: Remake, day: date, reason: Reason) -> list[Entry]:
    """Return the entries of pieces made again on one day for one reason."""
    revision = remake.revision
    return [
        Entry(
            date=day, reason=reason, key=one.key, copy=one.copy, sheet=one.sheet, made_again_as=one.as_key[2],
            plate=one.placed_on, piece_m2=one.piece_m2, cost=one.cost, lost=one.lost, currency=revision.plan.currency,
            plan=revision.history.plan, made=first_made(revision.plan, revision.history),
        )
        for one in remake.pieces
    ]  # fmt: skip


def first_made(plan: Plan, history: History) -> int:
    """Return how many pieces of a plan are not made again."""
    again = {own.key for own in history.own_rows if own.origin is Origin.REMAKE}
    return sum(p.row not in again for sheet in plan.sheets for plate in sheet.plates for p in plate.pieces)


def dump_entries(entries: Iterable[Entry]) -> str:
    """Return the text of the file."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(HEAD)
    for e in entries:
        writer.writerow([
            e.date.isoformat(), e.reason.value, *(_safe(word) for word in e.key), e.copy, _safe(e.sheet),
            _safe(e.made_again_as), _safe(e.plate), f"{e.piece_m2:.6f}", f"{e.cost + 0.0:.2f}", f"{e.lost + 0.0:.2f}",
            _safe(e.currency), _safe(e.plan), e.made,
        ])  # fmt: skip
    return out.getvalue()


def load_entries(path: Path) -> tuple[Entry, ...]:
    """Return the entries of a file; none where there is no file.

    Raises
    ------
    InputError
        With every line that is not as `dump_entries` writes it.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        return ()
    except (OSError, UnicodeDecodeError) as error:
        raise InputError((_fault(path, None, "must be readable UTF-8 text", str(error)),)) from None
    reader = csv.reader(io.StringIO(text, newline=""))
    head = tuple(next(reader, ()))
    if head != HEAD:
        raise InputError((_fault(path, 1, f"must have the columns {', '.join(HEAD)}", ", ".join(head)[:80]),))
    out: list[Entry] = []
    faults: list[Fault] = []
    for cells in reader:
        try:
            out.append(_entry(cells))
        except (ValueError, IndexError) as error:
            faults.append(_fault(path, reader.line_num, "must be a line of nest remake", str(error)))
    if faults:
        raise InputError(tuple(faults))
    return tuple(out)


def _entry(cells: list[str]) -> Entry:
    if len(cells) != len(HEAD):
        raise ValueError(f"{len(cells)} cells instead of {len(HEAD)}")
    day, reason, job, separation, part, copy, sheet, again, plate, area, cost, lost, currency, plan, made = cells
    return Entry(
        date=date.fromisoformat(day), reason=Reason(reason), key=(_bare(job), _bare(separation), _bare(part)),
        copy=int(copy), sheet=_bare(sheet), made_again_as=_bare(again), plate=_bare(plate), piece_m2=float(area),
        cost=float(cost), lost=float(lost), currency=_bare(currency), plan=_bare(plan), made=int(made),
    )  # fmt: skip


def _safe(text: str) -> str:
    text = f"'{text}" if text.startswith(_FORMULA_STARTS) else text
    return text.replace("\r", " ").replace("\n", " ")


def _bare(text: str) -> str:
    return text.removeprefix("'") if text[1:].startswith(_FORMULA_STARTS) else text


def _fault(path: Path, line: int | None, rule: str, got: str) -> Fault:
    return Fault(file=str(path), line=line, rule=rule, got=got, remedy="put back the file as nest remake wrote it")
