"""The demand file: a header of JSON behind ``#`` in the first line, then CSV, one line for each week of each path.

Columns are path and week (from 1), monday, the sheets drawn of each size under the size's name, cost, drawn_m2,
kept_m2 and pieces_m2. Numbers are read back exactly.
"""

from __future__ import annotations

import csv
import io
import json
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from nest.buying.demand import Demand, SizeKey
from nest.domain.cells import guarded
from nest.domain.room import Unit
from nest.errors import Fault, InputError
from nest.output.records import Wrong, json_text, value_as

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

FORMAT = "nest-demand"
VERSION = 1
NAME = "demand.csv"
MEASURES = ("cost", "drawn_m2", "kept_m2", "pieces_m2")
_REMEDY = "write it anew with nest forecast"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Size:
    """A size as the header has it."""

    material: str
    across_mm: float
    around_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Header:
    """The first line."""

    format: str
    version: int
    first_week: date
    weeks: int
    paths: int
    wanted_paths: int
    seed: int
    unit: Unit
    currency: str
    sizes: tuple[_Size, ...]
    basis: tuple[str, ...]


def dump_demand(demand: Demand) -> str:
    """Return the text of the file; the same demand always gives the same bytes."""
    unit = demand.sizes[0].unit if demand.sizes else Unit.MM
    header = {
        "format": FORMAT, "version": VERSION, "first_week": demand.first_week, "weeks": demand.weeks,
        "paths": demand.paths, "wanted_paths": demand.wanted_paths, "seed": demand.seed, "unit": unit,
        "currency": demand.currency,
        "sizes": [{"material": s.material, "across_mm": s.across_mm, "around_mm": s.around_mm} for s in demand.sizes],
        "basis": list(demand.basis),
    }  # fmt: skip
    out = io.StringIO()
    out.write(f"# {json_text(header)}\n")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(_columns(demand.sizes))
    measures = [getattr(demand, name) for name in MEASURES]
    for path in range(demand.paths):
        for week in range(demand.weeks):
            monday = demand.first_week + timedelta(weeks=week)
            figures = (repr(float(one[path, week])) for one in measures)
            writer.writerow((path + 1, week + 1, monday, *demand.sheets[path, week].tolist(), *figures))
    return out.getvalue()


def _columns(sizes: Sequence[SizeKey]) -> list[str]:
    return ["path", "week", "monday", *(guarded(size.label) for size in sizes), *MEASURES]


def load_demand(path: Path) -> Demand:
    """Read a demand file.

    Raises
    ------
    InputError
        If it is missing or is not as `dump_demand` writes it: line, rule, value got and what to do.
    """
    try:
        first, _, rest = path.read_bytes().decode("utf-8").partition("\n")
    except (OSError, ValueError) as error:
        raise _fault(path, None, "must be a readable demand file", str(error)) from None
    header = _header(path, first)
    sizes = tuple(
        SizeKey(material=one.material, across_mm=one.across_mm, around_mm=one.around_mm, unit=header.unit)
        for one in header.sizes
    )
    lines = list(csv.reader(io.StringIO(rest)))
    if not lines or lines[0] != _columns(sizes):
        rule = f"must have the columns {', '.join(_columns(sizes))}"
        raise _fault(path, 2, rule, ", ".join(lines[0] if lines else ()))
    shape = (header.paths, header.weeks)
    if len(lines) - 1 != shape[0] * shape[1]:
        rule = f"must have {shape[0] * shape[1]} lines of figures ({shape[0]} paths of {shape[1]} weeks)"
        raise _fault(path, None, rule, str(len(lines) - 1))
    figures = _figures(path, lines[1:], header, len(sizes))
    sheets = figures[:, : len(sizes)].reshape(*shape, len(sizes))
    rest_of = figures[:, len(sizes) :].reshape(*shape, len(MEASURES))
    return Demand(
        sizes=sizes, sheets=sheets.astype(np.int64), first_week=header.first_week, seed=header.seed,
        wanted_paths=header.wanted_paths, currency=header.currency, basis=header.basis,
        **{name: rest_of[:, :, n].copy() for n, name in enumerate(MEASURES)},
    )  # fmt: skip


def _header(path: Path, line: str) -> _Header:
    try:
        if not line.startswith("# "):
            raise ValueError("no JSON behind '# '")
        header: _Header = value_as(_Header, json.loads(line[2:]), "")
        if (header.format, header.version) != (FORMAT, VERSION):
            raise Wrong("format", f"must be {FORMAT}, version {VERSION}", f"{header.format}, version {header.version}")
        if header.first_week.weekday() != 0:
            raise Wrong("first_week", "must be a Monday", header.first_week.isoformat())
        if header.weeks < 1 or header.paths < 0:
            raise Wrong("weeks", "must hold at least one week", header.weeks)
    except Wrong as wrong:
        raise _fault(path, 1, f"{wrong.place}: {wrong.rule}", repr(wrong.got)[:60]) from None
    except (ValueError, RecursionError) as error:
        raise _fault(path, 1, "the first line must be the header of a demand file", str(error)[:80]) from None
    return header


def _figures(path: Path, lines: Sequence[Sequence[str]], header: _Header, sizes: int) -> np.ndarray:
    """Return the figures behind path, week and monday as floats (lines, sizes and measures)."""
    out = np.empty((len(lines), sizes + len(MEASURES)))
    for n, line in enumerate(lines):
        at, week = divmod(n, header.weeks)
        place = [str(at + 1), str(week + 1), (header.first_week + timedelta(weeks=week)).isoformat()]
        if line[:3] != place:
            raise _fault(path, n + 3, f"must begin with {','.join(place)}", ",".join(line[:3]))
        try:
            values = np.array([float(cell) for cell in line[3:]])
            whole = values[:sizes]
            if len(values) != sizes + len(MEASURES) or not np.isfinite(values).all():
                raise ValueError
            if (whole < 0).any() or (whole != np.floor(whole)).any():
                raise ValueError
        except ValueError:
            rule = f"must hold {sizes} whole numbers of sheets and {len(MEASURES)} figures"
            raise _fault(path, n + 3, rule, ",".join(line[3:])[:60]) from None
        out[n] = values
    return out


def _fault(path: Path, line: int | None, rule: str, got: str) -> InputError:
    return InputError((Fault(file=str(path), line=line, rule=rule, got=got, remedy=_REMEDY),))
