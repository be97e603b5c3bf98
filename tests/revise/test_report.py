from __future__ import annotations

from nest.revise.changes import changes
from nest.revise.report import WIDTH, changes_text
from tests.packing.shop import row
from tests.revise.shop import after, before
from tests.revise.test_revision import SHOP, square, told


def test_a_revision_is_told_in_full() -> None:
    rows = [square("a", 3), square("b", 3), row("large", 500, 390)]
    earlier = before(rows, SHOP)
    (first,) = [one.id for one in earlier.plan.sheets if len(one.plates[0].pieces) == 6]
    earlier = before(rows, SHOP, released=[first])
    now = [square("a", 2), row("b", 150, 150, copies=3), row("larger", 500, 395)]
    revision = after(earlier, now)
    text = changes_text(revision, told(revision))
    for words in (
        "COST (EUR)\n  before ", "\n  changed 3101/a: 3 copies, now 2\n", "\n  changed 3101/b: size\n",
        "\n  cancelled 3101/large, 1 copy\n", "\n  added 3101/larger, 1 copy\n", f"\n  released: {first}\n",
        "MADE FOR NOTHING: 4 pieces on sheets that stay\n", f"  {first}, changed: 3101/b#1, 3101/b#2, 3101/b#3\n",
        f"  {first}, too many: 3101/a#3\n", "PIECES: 6 stay, 4 added, 0 moved, 1 dropped\n", "added 3101/b/v2#1: on ",
        "\nSHEETS\n",
    ):  # fmt: skip
        assert words in text, words
    assert max(len(line) for line in text.splitlines()) <= WIDTH


def test_what_a_pinned_sheet_makes_for_nothing_says_how_to_use_its_place() -> None:
    revision = after(before([square("a", 6)], SHOP, pinned=["S01"]), [square("a", 5)])
    assert "S01, too many: 3101/a#6; leave it out of --pin to use the place" in changes_text(revision, told(revision))


def test_a_saving_not_taken_is_told_with_its_price() -> None:
    half = [row(name, 300, 400, job=f"31{n:02}") for n, name in enumerate("abcd")]
    earlier = before(half, SHOP)
    kept = [sheet.plates[0].pieces[0].separation for sheet in earlier.plan.sheets]
    revision = after(earlier, [one for one in half if one.separation in kept], per_move=500.0)
    text = changes_text(revision, changes(earlier.plan, revision.plan))
    assert "NOT TAKEN" in text
    assert "a piece, less than the 500.00 asked" in " ".join(text.split())
