from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nest.units import EPS_MM, M2_PER_SQFT, MM_PER_INCH, UNITS_PER_MM, area_m2, money, plain, to_mm, to_units


def test_a_length_is_rounded_to_the_nearest_ten_thousandth_of_a_mm() -> None:
    # 304.8 mm * 0.9675369 = 294.90524... (trade.md, section 1, case A)
    assert to_units(294.90524) == 2_949_052
    assert to_units(294.90526) == 2_949_053
    assert to_units(0.0) == 0


def test_sixteenths_of_an_inch_are_exact() -> None:
    # 1/16 in = 1.5875 mm by the definition of the inch (25.4 mm exactly, ISO 31-1 and NIST SP 811)
    assert to_units(MM_PER_INCH / 16) == 15_875
    assert 8 * to_units(3.0625 * MM_PER_INCH) == to_units(24.5 * MM_PER_INCH)


@settings(deadline=None, derandomize=True)
@given(st.integers(0, 10**9))
def test_units_to_mm_and_back_is_the_identity(units: int) -> None:
    assert to_units(to_mm(units)) == units


def test_mm_carry_no_rounding_noise() -> None:
    assert to_mm(3_049_052) == 304.9052
    assert repr(to_mm(1)) == "0.0001"


def test_areas_come_in_square_metres() -> None:
    # trade.md, section 2: 900 x 1200 mm = 1.08 m2
    assert area_m2(to_units(900.0), to_units(1200.0)) == pytest.approx(1.08, abs=1e-12)


def test_a_square_foot_is_144_square_inches() -> None:
    # trade.md, section 2: 1 m2 = 1550.0031 in2 = 10.763910 sq ft; 50 x 80 in = 2.580640 m2
    foot = M2_PER_SQFT
    assert foot == pytest.approx(144 * (MM_PER_INCH / 1000) ** 2, abs=1e-15)
    assert 1 / foot == pytest.approx(10.763910, abs=5e-7)
    assert 144 / foot == pytest.approx(1550.0031, abs=5e-5)
    assert area_m2(to_units(50 * MM_PER_INCH), to_units(80 * MM_PER_INCH)) == pytest.approx(2.580640, abs=1e-9)


@pytest.mark.parametrize(
    ("amount", "cents"),
    [(0.125, 0.12), (0.135, 0.14), (0.115, 0.12), (2.675, 2.68), (-0.125, -0.12), (0.0, 0.0), (10.08 + 1e-14, 10.08)],
)
def test_money_is_rounded_half_even_as_it_is_typed(amount: float, cents: float) -> None:
    # half-even on the decimal that is meant: 2.675 is a tie although its binary form lies below it
    assert money(amount) == cents


@settings(deadline=None, derandomize=True)
@given(st.floats(-1e6, 1e6))
def test_money_is_whole_cents_and_never_off_by_more_than_half_of_one(amount: float) -> None:
    got = money(amount)
    assert got == round(got, 2)
    assert math.isclose(got, amount, abs_tol=0.005 + 1e-9)


def test_numbers_are_shown_in_their_shortest_form() -> None:
    assert [plain(v) for v in (900.0, 42.0079, 0.5, 1e6)] == ["900", "42.0079", "0.5", "1000000"]


def test_the_tolerance_is_a_whole_number_of_units() -> None:
    assert to_units(EPS_MM) == EPS_MM * UNITS_PER_MM == 20
