"""Whether what stands may stand: sheets that stay as they are, by the rows and the room there are now."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING

from nest.check import cuts, placing, plates, rules, sheets
from nest.check.facts import gather
from nest.domain.job import Together
from nest.errors import Fault, InputError
from nest.revise.earlier import piece_name

if TYPE_CHECKING:
    from collections.abc import Iterator

    from nest.domain.job import Row
    from nest.domain.plan import PlannedSheet
    from nest.domain.room import Offcut, Room, Sheet
    from nest.revise.earlier import Earlier
    from nest.revise.rows import Wanted

OF_SHEETS = (
    placing.materials, placing.sizes, placing.turns, placing.positions, placing.gaps, placing.partable,
    plates.machines, plates.keep_outs, plates.groups, plates.purposes, plates.process,
    sheets.sources, sheets.stock, sheets.suits, sheets.lots, sheets.rests, cuts.raw, cuts.parts, cuts.finish,
    rules.apart, rules.alone,
)  # fmt: skip
"""The rules of the check that a sheet keeps or breaks whatever else is planned."""
REMEDY = (
    "a released or pinned sheet stays as it is: undo the change of the row or the room, or, if it is not released, "
    "leave the sheet out of --pin"
)


def standing_sheets(earlier: Earlier) -> tuple[PlannedSheet, ...]:
    """Return the sheets that stand, in the plan's order."""
    return tuple(sheet for sheet in earlier.plan.sheets if sheet.id in earlier.standing)


def check_standing(earlier: Earlier, wanted: Wanted, room: Room, use_reserve: bool) -> None:
    """Check that every sheet that stands is right by the rows and the room as they are now.

    Raises
    ------
    InputError
        With every rule that one would break.
    """
    stand = standing_sheets(earlier)
    if not stand:
        return
    facts = gather(replace(earlier.plan, sheets=stand), wanted.rows, room, use_reserve, wanted.standing)
    found = {*facts.input_faults}
    for rule in OF_SHEETS if not found else ():
        found.update(rule(facts))
    faults = [
        Fault(file=violation.place, rule=f"breaks a rule now ({violation.rule}): {violation.text}", remedy=REMEDY)
        for violation in sorted(found)
    ]
    faults += list(_broken_company(earlier, wanted))
    if faults:
        raise InputError(tuple(faults))


def _broken_company(earlier: Earlier, wanted: Wanted) -> Iterator[Fault]:
    """Yield a fault for pieces that want one plate with others, which stands without them."""
    groups: dict[tuple[object, ...], list[Row]] = defaultdict(list)
    for row in wanted.rows:
        if row.together is Together.PLATE:
            groups[row.job, row.need].append(row)
        elif row.together is Together.COPIES:
            groups[row.key].append(row)
    for rows in groups.values():
        made = [one for row in rows for one in earlier.standing_copies(row.key)]
        if not made or len(made) == sum(wanted.to_make(row) for row in rows):
            continue
        left = [row for row in rows if wanted.to_make(row) > len(earlier.standing_copies(row.key))]
        yield Fault(
            file=", ".join(sorted({sheet for _, sheet in made})),
            rule=f"must hold all pieces that are kept together (together = {rows[0].together})",
            got=f"{', '.join(piece_name(row.key) for row in left)} beside {len(made)} pieces that stand",
            remedy="give the further pieces as a row of their own without together",
        )


def with_released(room: Room, earlier: Earlier) -> Room:
    """Return a room whose stock no longer holds what the released sheets took, with that put back.

    The plan covers its released sheets, so its room has to hold what they were drawn from. Entries that are gone come
    from the room the plan was made in.
    """
    before = earlier.inputs.room
    stock: dict[str, Sheet] = {sheet.id: sheet for sheet in room.sheets}
    offcuts: dict[str, Offcut] = {offcut.id: offcut for offcut in room.offcuts}
    for sheet in earlier.plan.sheets:
        if sheet.id not in earlier.released:
            continue
        ref = sheet.source.ref
        was = next((s for s in before.sheets if s.id == ref), None)
        rack = next((o for o in before.offcuts if o.id == ref), None)
        if sheet.source.kind.value == "offcut":
            if ref not in offcuts and rack is not None:
                offcuts[ref] = rack
        elif ref in stock:
            have = stock[ref].on_hand
            stock[ref] = replace(stock[ref], on_hand=None if have is None else have + 1)
        elif was is not None:
            stock[ref] = replace(was, on_hand=1, keep_back=0)
    return replace(room, sheets=tuple(stock.values()), offcuts=tuple(offcuts.values()))
