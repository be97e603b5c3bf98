"""Which sizes to stock, as text and as CSV."""

from __future__ import annotations

import csv
import io
import math
import textwrap
from typing import TYPE_CHECKING

from nest.domain.cells import guarded
from nest.output.text_columns import aligned_table
from nest.output.words import counted, one_line, percent

if TYPE_CHECKING:
    from collections.abc import Iterable

    from nest.domain.size_sets import Difference, MaterialSizes, SetFigures

WIDTH = 100
HEAD = ("sizes", "cost", "plans", "ordering", "holding", "expired", "sheets", "yield", "saves")
CSV_HEAD = ("material", "sizes", "set", "cost", "plans", "ordering", "holding", "expired", "sheets", "expired_sheets",
            "gross_yield", "unplaced_share", "best_of_its_number")  # fmt: skip


def size_sets_text(found: Iterable[MaterialSizes]) -> str:
    """Return the best sets of one, two, three … sizes of each material, and what each step saves."""
    return "\n".join(_material(one) for one in found)


def _material(found: MaterialSizes) -> str:
    many = "every set" if found.exhaustive else "sets grown size by size, with exchanges"
    tried = f"{many} tried ({len(found.tried)})"
    if found.interrupted:
        tried = f"INTERRUPTED after {counted(len(found.tried), 'set')}: the best of those"
    text = f"{one_line(found.material)}: a year in {found.currency}, by {counted(found.paths, 'path')} of "
    text = _wrapped(text + f"{counted(found.weeks, 'week')}, the same for each set; {tried}")
    rows = [(_names(step.best, found), *_figures(step.best), _difference(step.saves)) for step in found.steps]
    text += _indented(aligned_table(HEAD, rows, range(1, len(HEAD)))) if rows else ""
    text += "".join(_wrapped(line, "  ") for line in _remarks(found))
    return text


def _names(one: SetFigures, found: MaterialSizes) -> str:
    """Return the sizes of a set without their material, those on offer marked."""
    words = []
    for size in one.sizes:
        short = size.removeprefix(f"{found.material} ")
        words.append(f"{short} (offer)" if size in found.offered else short)
    return f"{len(words)}: {' + '.join(words)}"


def _figures(one: SetFigures) -> tuple[str, ...]:
    money = (f"{value:.0f}" for value in (one.cost, one.plans, one.ordering, one.holding, one.expired))
    return (*money, f"{one.sheets:.1f}", percent(one.gross))


def _difference(one: Difference | None) -> str:
    return "" if one is None else f"{one.more:.0f} {_within(one)}"


def _within(one: Difference) -> str:
    return f"± {one.within:.0f}" if math.isfinite(one.within) else "± unknown"


def _remarks(found: MaterialSizes) -> list[str]:
    lines = [_advice(found)] if found.steps else ["no set of these sizes takes every piece"]
    lines += [
        f"next best of {len(step.best.sizes)}: {_names(step.second, found)[3:]}, {step.behind.more:.0f} "
        f"{_within(step.behind)} dearer"
        for step in found.steps if step.second is not None and step.behind is not None
    ]  # fmt: skip
    if found.flaw > 0:
        lines.append(
            f"the search's own error: plans of some set came out {found.flaw:.0f} dearer than those of a part of it, "
            "which need not be; trust no smaller difference, or give more with --work-limit"
        )
    short = [one for one in found.tried if not one.whole]
    lines += [
        f"{_names(one, found)[3:]} cannot take every piece: {percent(one.unplaced)} of the area fits none of its sheets"
        for one in short
    ]  # fmt: skip
    return lines


def _advice(found: MaterialSizes) -> str:
    """Return how many sizes are worth stocking: the last step whose saving is beyond chance and the search's error."""
    steps, flaw = found.steps, found.flaw
    sure = [step for step in steps[1:] if step.saves is not None and step.saves.more > max(step.saves.within, flaw)]
    if len(steps) == 1:
        return "no other number of sizes was tried"
    if not sure:
        return f"{len(steps[0].best.sizes)} will do: no further size saves more than chance and the search explain"
    count = len(sure[-1].best.sizes)
    saves = sure[-1].saves
    assert saves is not None
    return f"{count} pay: the {_nth(count)} size saves {saves.more:.0f} {_within(saves)} a year"


def _nth(count: int) -> str:
    return {2: "second", 3: "third"}.get(count, f"{count}th")


def _indented(table: str) -> str:
    return "".join(f"  {line}\n" for line in table.splitlines())


def _wrapped(text: str, indent: str = "") -> str:
    lines = textwrap.wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent + "  ")
    return "".join(f"{line}\n" for line in lines)


def size_sets_foot() -> str:
    """Return what the figures are."""
    return (
        _wrapped("cost = plans (sheets and offcuts drawn less credits, plates, processing, cuts) + ordering (less "
                 "price breaks) + holding + expired")
        + _wrapped("± is half the 95 % interval of the difference, path by path (Student's t): what chance in the "
                   "simulated weeks explains, not what the past weeks leave open")
        + _wrapped("weeks are nested by a short search: all costs are some per cent higher than those of real plans")
    )  # fmt: skip


def size_sets_csv(found: Iterable[MaterialSizes]) -> str:
    """Return one line for each set that was tried, the cheapest of a material first."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(CSV_HEAD)
    for one in found:
        best = {step.best.sizes for step in one.steps}
        writer.writerows(
            (guarded(one.material), len(f.sizes), guarded(" + ".join(f.sizes)), f"{f.cost:.2f}", f"{f.plans:.2f}",
             f"{f.ordering:.2f}", f"{f.holding:.2f}", f"{f.expired:.2f}", f"{f.sheets:.2f}", f"{f.expired_sheets:.2f}",
             f"{f.gross:.4f}", f"{f.unplaced:.6f}", "yes" if f.sizes in best else "no")
            for f in one.tried
        )  # fmt: skip
    return out.getvalue()
