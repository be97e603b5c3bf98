from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nest.domain.stock import Curve, RackOffcut
from nest.store.value import LEAST, share_left, value_cents

MADE = date(2027, 1, 1)
CURVE = Curve(full_days=30, life_days=130, expiry_days=90)


def offcut(cents: int, expiry: date | None = None) -> RackOffcut:
    return RackOffcut(
        id="F-1", material="QF170", across_mm=400.0, around_mm=500.0, value_cents=cents, made=MADE, lot=None,
        expiry=expiry, relief=None, exposed=None, place="", parent=None, sheet=None, on_rack=True,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("days", "left", "want"),
    [
        (0, None, Fraction(1)), (30, None, Fraction(1)), (31, None, Fraction(991, 1000)), (80, None, Fraction(55, 100)),
        (130, None, LEAST), (900, None, LEAST),
        (0, 90, Fraction(1)), (0, 89, Fraction(89, 90)), (0, 45, Fraction(1, 2)), (0, 0, LEAST), (0, -1, Fraction(0)),
        (80, 45, Fraction(275, 1000)),
    ],
)  # fmt: skip
def test_the_share_left_follows_the_stated_curve(days: int, left: int | None, want: Fraction) -> None:
    day = MADE + timedelta(days=days)
    expiry = None if left is None else day + timedelta(days=left)
    assert share_left(MADE, expiry, day, CURVE) == want


def test_the_value_is_rounded_half_even_to_cents() -> None:
    day = MADE + timedelta(days=80)
    # 0.55 x 10 = 5.5 -> 6; 0.55 x 30 = 16.5 -> 16
    assert [value_cents(offcut(cents), day, CURVE) for cents in (10, 30, 1000)] == [6, 16, 550]


@given(days=st.integers(0, 500), left=st.one_of(st.none(), st.integers(0, 400)), full=st.integers(0, 60),
       more=st.integers(0, 200), near=st.integers(0, 120))  # fmt: skip
def test_the_value_never_rises_and_stays_within_its_bounds(
    days: int, left: int | None, full: int, more: int, near: int
) -> None:
    curve = Curve(full_days=full, life_days=full + more, expiry_days=near)
    day = MADE + timedelta(days=days)
    expiry = None if left is None else day + timedelta(days=left)
    now, later = (share_left(MADE, expiry, day + timedelta(days=n), curve) for n in (0, 1))
    assert LEAST <= now <= 1
    assert later <= now
