"""Part ``classical``: rectangles of the literature through the same engine, every packing checked."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import islice
from statistics import fmean
from typing import TYPE_CHECKING

from tests.bench.classes import class_instances, zero_wastes
from tests.bench.instances import Variant, instances_in
from tests.bench.library import Portfolio, Shape, installed
from tests.bench.pack import pack
from tests.bench.packing_check import faults_of
from tests.bench.report import number, percent, say, table

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from tests.bench.instances import Instance
    from tests.bench.options import Options
    from tests.bench.pack import Packed
    from tests.bench.packing_check import Filled
    from tests.bench.runner import Runner

CLASS_REPEATS = 2
QUICK_SECONDS = 0.2
USES = {"M1": 0.984, "M2": 0.972}
"""Published mean use of the sets M1 and M2 of Hopper & Turton 2002 (guillotine, oriented), as the data folder lists."""
HEAD = ("set", "variant", "instances", "packed", "cost", "best known", "above", "mean above", "mean use", "area bound",
        "engine's bound", "proven", "mean s", "library", "library above")  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A set in one variant."""

    name: str
    variant: Variant
    instances: tuple[Instance, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """One instance's packing and the library's cost, None where it was not asked or packed not all."""

    instance: Instance
    packed: Packed
    library: float | None


def cases_of(options: Options) -> list[Case]:
    """Return the sets to pack: those of the data folder, else made by their class definitions."""
    most = 1 if options.quick else options.instances
    if options.data is None:
        classes = tuple(islice(class_instances(CLASS_REPEATS), most))
        waste = tuple(islice(zero_wastes(), most))
        return [
            *(Case(name="classes 1-10, made", variant=variant, instances=classes) for variant in Variant),
            Case(name="zero waste, made", variant=Variant.ORIENTED_FREE, instances=waste),
        ]
    rect = options.data / "rect"
    plan = [
        *(("bwmv", variant, "") for variant in Variant),
        ("vs_pisinger", Variant.ORIENTED_FREE, ""),
        ("vs_hopper_M", Variant.ORIENTED_GUILLOTINE, "M1"),
        ("vs_hopper_M", Variant.ORIENTED_GUILLOTINE, "M2"),
        ("perfect_hopper_C", Variant.ORIENTED_FREE, ""),
    ]
    found = [
        Case(
            name=start or name,
            variant=variant,
            instances=tuple(islice((i for i in instances_in(rect / name) if i.name.startswith(start)), most)),
        )
        for name, variant, start in plan
    ]
    return [case for case in found if case.instances]


def library_cost(instance: Instance, variant: Variant, seconds: float) -> float | None:
    """Return the library's best cost in the same seconds; its packings pass the same check."""
    shapes = [Shape(w=b.w, h=b.h, source=at, stock=b.count, price=b.cost) for at, b in enumerate(instance.bins)]
    portfolio = Portfolio(instance.copies, shapes, guillotine=variant.guillotine, rotation=variant.rotated)

    def judge(filled: Sequence[Filled], below: float) -> float | None:
        cost = float(sum(instance.bins[one.bin].cost for one in filled))
        return cost if cost >= below or not faults_of(instance, filled, variant, cost) else None

    return portfolio.run(seconds, judge).cost


def solved(case: Case, instance: Instance, options: Options, runner: Runner) -> Result:
    """Pack one instance, check it, ask the library."""
    seconds = QUICK_SECONDS if options.quick else options.seconds
    packed = pack(instance, case.variant, seconds, 0, options.cores)
    best = instance.best.get(case.variant)
    if not packed.left:
        for fault in faults_of(instance, packed.filled, case.variant, packed.cost):
            runner.fault(f"{case.name}, {case.variant}, {instance.name}: {fault}")
    reached = [cost for cost in (None if packed.left else packed.cost, best) if cost is not None]
    if any(packed.bound > cost + 1e-6 for cost in reached):
        runner.fault(f"{case.name}, {case.variant}, {instance.name}: bound {packed.bound} is above a known packing")
    library = library_cost(instance, case.variant, seconds) if options.library and installed() else None
    say(f"{case.name}, {case.variant}, {instance.name}: {packed.cost:g}, best known {best}, library {library}")
    return Result(instance=instance, packed=packed, library=library)


def bin_area(result: Result) -> int:
    """Return the area of all bins in use."""
    bins = result.instance.bins
    return sum(bins[one.bin].w * bins[one.bin].h for one in result.packed.filled)


def case_row(case: Case, results: list[Result]) -> list[object]:
    """Return a set's row; costs, best known and above are of those instances that were packed whole."""
    whole = [r for r in results if not r.packed.left]
    if not whole:
        return [case.name, case.variant, len(results), 0, *[None] * (len(HEAD) - 4)]
    known = [(r, r.instance.best[case.variant]) for r in whole if case.variant in r.instance.best]
    library = [(r.library, r.packed.cost) for r in whole if r.library is not None]
    uses = [r.instance.area / bin_area(r) for r in whole]
    all_known = len(known) == len(whole)
    best = sum(b for _, b in known)
    cost = sum(r.packed.cost for r in whole)
    asked = sum(value for value, _ in library)
    lib_best = [(r.library, b) for r, b in known if r.library is not None]
    return [
        case.name, case.variant, len(results), len(whole), f"{cost:g}", f"{best:g}" if all_known else None,
        f"{cost - best:+g}" if all_known else None,
        percent(fmean(r.packed.cost / b - 1 for r, b in known), 2) if known else None,
        percent(fmean(uses)), sum(r.instance.area_bound for r in whole), f"{sum(r.packed.bound for r in whole):g}",
        sum(r.packed.cost <= max(r.packed.bound, r.instance.area_bound) + 1e-6 for r in whole),
        number(fmean(r.packed.seconds for r in whole)),
        f"{asked:g}{'' if len(library) == len(whole) else f' ({len(library)} packed)'}" if library else None,
        f"{sum(v - b for v, b in lib_best):+g}" if all_known and lib_best else None,
    ]  # fmt: skip


def classical(options: Options, runner: Runner, scratch: Path) -> str:
    """Return the table of the classical sets."""
    rows = []
    for case in cases_of(options):
        rows.append(case_row(case, [solved(case, instance, options, runner) for instance in case.instances]))
    sets = {row[0] for row in rows}
    notes = [f"Published mean use of {name}: {percent(use)}." for name, use in USES.items() if name in sets]
    return "\n".join([table(HEAD, rows), "", *notes]).rstrip()
