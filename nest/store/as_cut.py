"""What was really cut and drawn where the operator could not follow the plan."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from nest.domain.credit import rest_credit
from nest.domain.plan import SourceKind
from nest.domain.stock import CutState, Found
from nest.errors import Fault, InputError
from nest.units import EPS_MM, plain

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from nest.domain.plan import Plan, PlannedSheet
    from nest.domain.room import Costs
    from nest.domain.stock import AsCut, Lot, RackOffcut, Stock
    from nest.store.release import SheetRelease


class _Fault(Exception):
    """A line of the file that cannot be: rule, value got, what to do."""

    def __init__(self, where: str, rule: str, got: str, remedy: str) -> None:
        super().__init__(rule)
        self.where, self.rule, self.got, self.remedy = where, rule, got, remedy


def as_really_cut(releases: Sequence[SheetRelease], cuts: Sequence[AsCut], plan: Plan, costs: Costs, stock: Stock,
                  day: date, file: str) -> tuple[SheetRelease, ...]:  # fmt: skip
    """Return the releases as they really were.

    Parameters
    ----------
    releases
        The sheets to be released, as planned.
    cuts
        What was otherwise.
    plan
        The plan they are of.
    costs
        The room's rates: they value a rest of another size.
    stock
        The ledger's content.
    day
        The day of the release.
    file
        Name of the as-cut file, for faults.

    Raises
    ------
    InputError
        With every line that cannot be.
    """
    sheets = {sheet.id: sheet for sheet in plan.sheets}
    out = {one.sheet: one for one in releases}
    faults = []
    for cut in cuts:
        try:
            if cut.sheet not in out:
                known = ", ".join(out) or "none"
                raise _Fault("sheet", "must be a sheet that is being released", repr(cut.sheet), f"known here: {known}")
            out[cut.sheet] = _changed(out[cut.sheet], cut, sheets[cut.sheet], costs, stock, day)
        except _Fault as bad:
            faults.append(
                Fault(file=file, line=cut.line, where=bad.where, rule=bad.rule, got=bad.got, remedy=bad.remedy)
            )
    for sheet_id, one in out.items():
        if not faults and not _fits(one, sheets[sheet_id]):
            got = f"{len(one.rests)} rests kept of {sheet_id}"
            faults.append(
                Fault(
                    file=file,
                    rule="plates and kept rests must fit on the sheet",
                    got=got,
                    remedy="check the sizes, and list a planned rest that was not kept as scrap",
                )
            )
    if faults:
        raise InputError(tuple(faults))
    return tuple(out.values())


def _changed(one: SheetRelease, cut: AsCut, sheet: PlannedSheet, costs: Costs, stock: Stock, day: date) -> SheetRelease:
    remark = f"{one.remark}; {cut.note}".strip("; ") if cut.note else one.remark
    one = replace(one, remark=remark)
    if cut.state in (CutState.DAMAGED, CutState.DRAWN):
        return _other_source(one, cut, sheet, stock)
    if cut.rest and cut.rest not in {rest.id for rest in sheet.rests}:
        raise _Fault("rest", f"must be a rest of {sheet.id}", repr(cut.rest), "leave it empty for a rest not planned")
    others = tuple(rest for rest in one.rests if not cut.rest or rest.sheet != cut.rest)
    if cut.state is CutState.SCRAP:
        return replace(one, rests=others)
    across, around = cut.across_mm or 0.0, cut.around_mm or 0.0
    if across > sheet.across_mm + EPS_MM or around > sheet.around_mm + EPS_MM:
        raise _Fault(
            "across",
            "a rest is no larger than its sheet, in the sheet's own directions",
            f"{plain(across)} x {plain(around)} mm",
            f"{sheet.id} is {plain(sheet.across_mm)} x "
            f"{plain(sheet.around_mm)} mm; across and around are not exchanged by turning it",
        )
    share = 1.0 if sheet.source.kind is SourceKind.OFFCUT else costs.offcut_value
    rate = share * sheet.cost / (sheet.across_mm * sheet.around_mm / 1e6)
    value = round(100 * rest_credit(costs, rate, across, around))
    kept = Found(
        material=sheet.material,
        across_mm=across,
        around_mm=around,
        value_cents=value,
        made=day,
        place=cut.place,
        sheet=cut.rest or sheet.id,
    )
    return replace(one, rests=(*others, kept))


def _other_source(one: SheetRelease, cut: AsCut, sheet: PlannedSheet, stock: Stock) -> SheetRelease:
    if cut.state is CutState.DAMAGED:
        one = replace(one, spoilt=(*one.spoilt, one.source))
        if not cut.source:
            if sheet.source.kind is SourceKind.OFFCUT:
                raise _Fault(
                    "source",
                    "an offcut is there once: say what was taken instead",
                    "none",
                    "give the lot or offcut that was taken",
                )
            return one
    entries: list[Lot | RackOffcut] = [*stock.lots, *stock.offcuts]
    found = next((entry for entry in entries if entry.id == cut.source), None)
    if found is None:
        raise _Fault("source", "must be a lot or offcut of the ledger", repr(cut.source), "see nest stock list")
    if found.material != sheet.material:
        raise _Fault("source", f"must be {sheet.material}", found.material, "take a lot or offcut of that material")
    right = max((plate.rect.x + plate.rect.w for plate in sheet.plates), default=0.0)
    top = max((plate.rect.y + plate.rect.h for plate in sheet.plates), default=0.0)
    if found.across_mm < right - EPS_MM or found.around_mm < top - EPS_MM:
        raise _Fault(
            "source",
            f"the plates of {sheet.id} need {plain(right)} x {plain(top)} mm",
            f"{plain(found.across_mm)} x {plain(found.around_mm)} mm",
            "take a larger one",
        )
    return replace(one, source=found.id, other=True)


def _fits(one: SheetRelease, sheet: PlannedSheet) -> bool:
    if one.other:
        return True
    plates = sum(plate.rect.w * plate.rect.h for plate in sheet.plates)
    kept = sum(rest.across_mm * rest.around_mm for rest in one.rests)
    return bool(plates + kept <= sheet.across_mm * sheet.around_mm + EPS_MM * (sheet.across_mm + sheet.around_mm))
