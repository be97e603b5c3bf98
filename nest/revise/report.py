"""A revision in words: what a planner and an operator have to do differently from now on."""

from __future__ import annotations

import math
import textwrap
from collections import defaultdict
from typing import TYPE_CHECKING

from nest.domain.job import Need
from nest.output.words import counted, one_line
from nest.revise.earlier import piece_name
from nest.revise.rows import Kind

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from nest.revise.changes import Changes, Drawn, PieceChange
    from nest.revise.revision import Revision
    from nest.revise.rows import RowChange

WIDTH = 100
MOST = 40
"""Longest list printed; the rest is counted and stands in revision.json."""


def changes_text(revision: Revision, found: Changes) -> str:
    """Return what changed, at most 100 columns wide, ending in a newline; what needs an answer comes first."""
    blocks = [
        _unplaced(revision),
        _cost(revision, found),
        _rows(revision.wanted.changes),
        _stands(revision),
        _nothing(revision),
        _pieces(found),
        _sheets(found),
        _store("TAKE MORE FROM THE STORE", [d for d in found.drawn if d.more > 0]),
        _store("LEAVE IN THE STORE", [d for d in found.drawn if d.more < 0]),
        _anew(revision),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _wrapped(text: str, first: str = "  ", rest: str = "    ") -> list[str]:
    return textwrap.wrap(one_line(text), WIDTH, initial_indent=first, subsequent_indent=rest)


def _listed(title: str, texts: Iterable[str]) -> list[str]:
    texts = list(texts)
    if not texts:
        return []
    lines = [title]
    for text in texts[:MOST]:
        lines += _wrapped(text)
    return lines + ([f"  and {len(texts) - MOST} more, all of them in revision.json"] if len(texts) > MOST else [])


def _unplaced(revision: Revision) -> list[str]:
    left = [row for row in revision.plan.unplaced if row.need is Need.MUST]
    texts = (
        f"{piece_name((row.job, row.separation, row.part))}, {counted(row.copies, 'copy')}: {row.reason}"
        for row in left
    )
    return _listed(f"NOT PLACED: {counted(sum(row.copies for row in left), 'piece')}", texts)


def _cost(revision: Revision, found: Changes) -> list[str]:
    currency = one_line(revision.plan.currency)
    more = round(found.cost_after - found.cost_before, 2)
    words = "the same" if not more else f"{abs(more):.2f} {'more' if more > 0 else 'less'}"
    bound = revision.plan.totals.bound
    return [
        f"COST ({currency})",
        f"  before {found.cost_before:.2f}, now {found.cost_after:.2f}: {words}",
        f"  proven least cost {bound:.2f} if nothing had to stay",
    ]


def _rows(rows: Sequence[RowChange]) -> list[str]:
    texts = []
    for kind in (Kind.ADDED, Kind.CHANGED, Kind.CANCELLED):
        texts += [_row(change) for change in rows if change.kind is kind]
    same = sum(change.kind is Kind.SAME for change in rows)
    if not rows:
        return []
    return [*(_listed("ROWS", texts) or ["ROWS"]), f"  {counted(same, 'row')} as before"]


def _row(change: RowChange) -> str:
    name = piece_name(change.key)
    if change.kind is Kind.ADDED:
        return f"added {name}, {counted(change.now, 'copy')}"
    if change.kind is Kind.CANCELLED:
        return f"cancelled {name}, {counted(change.before, 'copy')}"
    copies = [] if change.before == change.now else [f"{change.before} copies, now {change.now}"]
    return f"changed {name}: {', '.join([*copies, *change.columns])}"


def _stands(revision: Revision) -> list[str]:
    earlier = revision.earlier
    lines = []
    if earlier.released:
        lines += _wrapped(f"released: {', '.join(sorted(earlier.released))}")
    if earlier.pinned:
        lines += _wrapped(f"pinned: {', '.join(sorted(earlier.pinned))}")
    return ["SHEETS THAT STAY AS THEY ARE", *lines] if lines else []


def _nothing(revision: Revision) -> list[str]:
    spent = revision.wanted.spent
    by_place: dict[tuple[str, str], list[str]] = defaultdict(list)
    for one in spent:
        by_place[one.sheet, one.why.value].append(piece_name(one.key, one.copy))
    pinned = revision.earlier.pinned
    texts = (
        f"{sheet}, {why}: {', '.join(names)}" + ("; leave it out of --pin to use the place" if sheet in pinned else "")
        for (sheet, why), names in sorted(by_place.items())
    )
    return _listed(f"MADE FOR NOTHING: {counted(len(spent), 'piece')} on sheets that stay", texts)


def _pieces(found: Changes) -> list[str]:
    counts = (
        f"{found.unchanged} stay, {len(found.added)} added, {len(found.moved)} moved, {len(found.dropped)} dropped"
    )
    told = [
        *(f"added {_name(c)}: on {_at(c)}" for c in found.added),
        *(f"moved {_name(c)}: from {c.before.plate if c.before else ''} to {_at(c)}" for c in found.moved),
        *(f"dropped {_name(c)}: from {c.before.plate if c.before else ''}" for c in found.dropped),
    ]
    return _listed(f"PIECES: {counts}", told) or [f"PIECES: {counts}"]


def _name(change: PieceChange) -> str:
    return piece_name(change.key, change.copy)


def _at(change: PieceChange) -> str:
    return change.after.plate if change.after else ""


def _sheets(found: Changes) -> list[str]:
    told = (
        ("as before", found.same_sheets),
        ("changed", found.changed_sheets),
        ("new", found.new_sheets),
        ("no more", found.gone_sheets),
    )
    lines = ["SHEETS"]
    for words, names in told:
        if names:
            lines += _wrapped(f"{words}: {', '.join(names)}")
    if found.changed_sheets or found.new_sheets:
        lines += _wrapped("cut changed and new sheets by their new guides; destroy printed guides of the old ones")
    return lines


def _store(title: str, drawn: Sequence[Drawn]) -> list[str]:
    return _listed(title, (f"{abs(d.more)} × {d.kind} {d.ref}: {d.material}" for d in drawn))


def _anew(revision: Revision) -> list[str]:
    anew, asked = revision.anew, revision.options.per_move
    if anew is None:
        return []
    currency = one_line(revision.plan.currency)
    text = f"planning all sheets that need not stay anew would save {anew.saving:.2f} {currency} more"
    if anew.moves > 0:
        each = math.floor(anew.saving / anew.moves * 100) / 100
        text += f" and move {counted(anew.moves, 'more piece')}: {each:.2f} a piece, less than the {asked:.2f} asked"
        text += f"; --per-move {each:.2f} allows it" if each > 0 else ""
    return ["NOT TAKEN", *_wrapped(text)]
