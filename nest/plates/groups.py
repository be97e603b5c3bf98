"""Which pieces may share a plate: same material, same value of everything the room groups by."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from nest.domain.job import GroupValue, Row
    from nest.domain.room import Room

GROUP_COLUMNS = ("relief", "resolution", "surface")
"""Columns of the jobs file that a room may group by, besides the material."""

GroupKey = tuple["GroupValue", ...]


def group_of(row: Row, room: Room) -> GroupKey:
    """Return the values that must agree on one plate, in the room's order (empty is a group of its own)."""
    return tuple(getattr(row, column) for column in room.group_by)


def group_label(key: GroupKey, room: Room) -> str:
    """Return a group in words, such as ``relief 0.5, resolution 2540``; empty values are the material's usual."""
    words = [f"{column} {value:g}" if isinstance(value, float) else f"{column} {value}"
             for column, value in zip(room.group_by, key, strict=True) if value != ""]
    return ", ".join(words) or "usual"
