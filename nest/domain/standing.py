"""What stands from an earlier plan when a week is planned again: sheets that stay as they are, copies not made now."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from nest.domain.job import RowKey


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Sheets, by id, that stay exactly as an earlier plan has them, and copies of rows that are no longer made.

    A standing sheet takes no further piece. A row whose copies are ``n`` and of which ``withdrawn`` are not wanted
    places n − withdrawn copies, with any different numbers of 1 to n: copies that stand keep their numbers.
    """

    sheets: frozenset[str] = frozenset()
    withdrawn: Mapping[RowKey, int] = field(default_factory=dict)


NONE = Standing()
"""A plan made from nothing."""
