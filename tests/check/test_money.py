"""Cents of the check: half-even, from the numbers as typed."""

from __future__ import annotations

from fractions import Fraction

import pytest

from nest.check.money import area, cents, process_cost, rest_credit
from nest.domain.room import Costs


@pytest.mark.parametrize(("amount", "rounded"), [("0.125", 0.12), ("0.135", 0.14), ("2.675", 2.68), ("2.665", 2.66)])
def test_halves_round_to_the_even_cent(amount: str, rounded: float) -> None:
    assert cents(Fraction(amount)) == rounded


def test_process_cost_takes_the_rate_as_typed() -> None:
    # 0.25 m2 at 0.50 = 0.125, the even cent is 0.12
    assert process_cost(Costs(process_per_m2=0.5), 500.0, 500.0) == 0.12


@pytest.mark.parametrize(
    ("w", "h", "credit"),
    [
        (900.0, 400.0, 15.28),  # 48 * 0.36 - 2
        (900.0, 300.0, 7.72),  # 48 * 0.27 * 300/400 - 2
        (300.0, 900.0, 7.72),  # either way round
        (100.0, 300.0, 0.0),  # 48 * 0.03 * 100/400 - 2 is below zero
    ],
)
def test_a_rest_is_credited_by_area_and_short_side(w: float, h: float, credit: float) -> None:
    costs = Costs(offcut_handling=2.0, offcut_full_side_mm=400.0)
    assert rest_credit(costs, Fraction(48), w, h) == credit


def test_without_a_full_side_every_rest_earns_its_full_rate() -> None:
    assert rest_credit(Costs(), Fraction(48), 100.0, 300.0) == 1.44


def test_a_sheet_of_900_by_1200_mm_has_1_08_m2() -> None:
    assert area(900.0, 1200.0) == Fraction("1.08")
