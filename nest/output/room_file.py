"""A room file with other stock in it: the shop's own text, its ``[[sheets]]`` and ``[[offcuts]]`` replaced."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

from nest.output.stock_csv import length_cell
from nest.units import plain

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from nest.domain.room import Offcut, Room, Sheet, Unit

HEADER = re.compile(r"\s*\[\[?\s*([A-Za-z0-9_-]+)")
STOCK = ("sheets", "offcuts")


def room_with_stock(text: str, room: Room) -> str:
    """Return the text of a room file with a room's sheets and offcuts in place of its own.

    Parameters
    ----------
    text
        A room file that was read without a fault; its stock stands in tables of its own (``[[sheets]]``).
    room
        Whose sheets and offcuts to write.
    """
    kept, own = [], True
    for line in text.splitlines():
        found = HEADER.match(line)
        if found is not None:
            own = found[1] not in STOCK
        if own:
            kept.append(line)
    tables = [_table("sheets", _sheet(sheet, room.unit)) for sheet in room.sheets]
    tables += [_table("offcuts", _offcut(offcut, room.unit)) for offcut in room.offcuts]
    return "\n".join(kept).rstrip() + "\n\n" + "\n".join(tables)


def _table(name: str, lines: Iterable[str]) -> str:
    return f"[[{name}]]\n" + "".join(f"{line}\n" for line in lines)


def _sheet(sheet: Sheet, unit: Unit) -> list[str]:
    lines = [*_common(sheet, unit), f"price = {plain(sheet.price)}", f"keep_back = {sheet.keep_back}"]
    numbers = (("on_hand", sheet.on_hand), ("per_box", sheet.per_box), ("delivery_days", sheet.delivery_days),
               ("shelf_life_days", sheet.shelf_life_days))  # fmt: skip
    lines += [f"{key} = {value}" for key, value in numbers if value is not None]
    if sheet.delivery_spread_days:
        lines.append(f"delivery_spread_days = {plain(sheet.delivery_spread_days)}")
    if sheet.min_order:
        lines.append(f"min_order = {sheet.min_order}")
    if sheet.price_breaks:
        breaks = (f"{{ sheets = {one.sheets}, price = {plain(one.price)} }}" for one in sheet.price_breaks)
        lines.append(f"price_breaks = [{', '.join(breaks)}]")
    return lines


def _offcut(offcut: Offcut, unit: Unit) -> list[str]:
    relief = [] if offcut.relief is None else [f"relief = {plain(offcut.relief)}"]
    return [*_common(offcut, unit), f"value = {plain(offcut.value)}", *relief]


def _common(one: Sheet | Offcut, unit: Unit) -> list[str]:
    # a JSON string of printable text is a TOML basic string too
    lines = [
        f"id = {json.dumps(one.id, ensure_ascii=False)}",
        f"material = {json.dumps(one.material, ensure_ascii=False)}",
    ]
    lines += [f"across = {length_cell(one.across_mm, unit)}", f"around = {length_cell(one.around_mm, unit)}"]
    if one.lot is not None:
        lines.append(f"lot = {json.dumps(one.lot, ensure_ascii=False)}")
    days: tuple[tuple[str, date | None], ...] = (("expiry", one.expiry), ("received", one.received))
    return lines + [f"{key} = {day}" for key, day in days if day is not None]
