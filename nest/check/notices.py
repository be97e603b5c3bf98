"""Warnings the plan owes its reader: pieces that do not go round, gaps too thin to hold, bevels nobody can cut."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from nest.check.facts import row_name
from nest.check.pieces import own
from nest.check.violation import Violation, mm
from nest.domain.room import Cutting
from nest.units import EPS_MM

if TYPE_CHECKING:
    from collections.abc import Iterator

    from nest.check.facts import Facts

LEAST_HELD_MM = 5.0
"""A strip thinner than this cannot be held under the knife (design, section 3)."""


def names(text: str, word: str) -> bool:
    """Return whether a text names a word, not only as a part of a longer one."""
    return re.search(rf"(?<!\w){re.escape(word)}(?!\w)", text) is not None


def wraps(facts: Facts) -> Iterator[Violation]:
    """Check that every row whose piece is longer than R - K - seam is named, with its job, in a warning."""
    for key, wanted in facts.wanted.items():
        if wanted.wrap_limit is None or wanted.h <= wanted.wrap_limit + EPS_MM:
            continue
        row = wanted.row
        if not any(names(text, row.job) and names(text, row.separation) for text in facts.plan.warnings):
            yield Violation(
                place=row_name(key), rule="wrap-warning",
                text=f"a warning expected that {mm(wanted.h)} mm around does not go round a cylinder that takes "
                     f"{mm(wanted.wrap_limit)} mm",
            )


def thin_gaps(facts: Facts) -> Iterator[Violation]:
    """Check that a guillotine gap above 0 and below 5 mm is warned of."""
    if facts.room.cutting is not Cutting.GUILLOTINE:
        return
    gaps = {wanted.gap for wanted in facts.wanted.values() if 0 < wanted.gap < LEAST_HELD_MM}
    if gaps and not any(re.search(r"\bgaps?\b", text, re.IGNORECASE) for text in facts.plan.warnings):
        yield Violation(
            place="warnings", rule="gap-warning",
            text=f"a warning expected that a gap of {mm(min(gaps))} mm is too thin to hold under a guillotine",
        )


def bevels(facts: Facts) -> Iterator[Violation]:
    """Check that a guillotine cuts no bevel."""
    if facts.room.cutting is not Cutting.GUILLOTINE:
        return
    for name in sorted({wanted.row.material for wanted in facts.wanted.values()}):
        bevel = own(facts.room.materials[name].bevel_deg, facts.room.bevel_deg)
        if bevel > 0:
            yield Violation(
                place=name, rule="bevel", text=f"no bevel expected with guillotine cutting, got {bevel:g} degrees",
            )
