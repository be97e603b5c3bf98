from __future__ import annotations

import pytest

from nest.plates.groups import group_label, group_of
from tests.packing.shop import room, row, sheet

SHOP = room(sheet(500, 500))


def test_rows_with_equal_values_share_a_group() -> None:
    assert group_of(row("a", 1, 1, relief=0.5), SHOP) == group_of(row("b", 2, 2, job="9", relief=0.5), SHOP)


@pytest.mark.parametrize("change", [{"relief": 0.6}, {"relief": ""}, {"resolution": 2540.0}])
def test_another_value_or_none_is_a_group_of_its_own(change: dict[str, object]) -> None:
    assert group_of(row("a", 1, 1, relief=0.5), SHOP) != group_of(row("a", 1, 1, **{"relief": 0.5, **change}), SHOP)


def test_only_the_columns_the_room_groups_by_count() -> None:
    assert group_of(row("a", 1, 1, surface="fine"), SHOP) == group_of(row("a", 1, 1), SHOP)
    fussy = room(sheet(500, 500), group_by=("surface",))
    assert group_of(row("a", 1, 1, surface="fine"), fussy) != group_of(row("a", 1, 1), fussy)
    assert group_of(row("a", 1, 1), room(sheet(500, 500), group_by=())) == ()


def test_a_group_is_told_in_words() -> None:
    assert group_label((0.5, 2540.0), SHOP) == "relief 0.5, resolution 2540"
    assert group_label(("", "coarse"), SHOP) == "resolution coarse"
    assert group_label(("", ""), SHOP) == "usual"
