"""Figures that do not follow from the plan, one at a time."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nest.domain.plan import StoppedBy
from tests.check.plans import cut_sheet, free_plates, full_sheet


@pytest.mark.parametrize("name", ["sheets", "plates", "raw_cuts", "pieces"])
def test_a_wrong_count_is_found(name: str) -> None:
    case = cut_sheet()
    assert case.with_totals(**{name: getattr(case.plan.totals, name) + 1}).broken() == {"counts"}


def test_another_currency_is_found() -> None:
    assert cut_sheet().with_plan(currency="USD").broken() == {"currency"}


@pytest.mark.parametrize("name", ["sheets", "credit", "plates", "process", "cuts"])
def test_a_cost_part_off_by_a_cent_is_found(name: str) -> None:
    parts = cut_sheet().plan.totals.cost_parts
    case = cut_sheet().with_totals(cost_parts=replace(parts, **{name: getattr(parts, name) + 0.01}))
    assert case.broken() == {"cost-parts"}


def test_a_cost_off_by_a_cent_is_found() -> None:
    assert "cost" in cut_sheet().with_totals(cost=94.71, bound_gap=34.71 / 94.71).broken()


@pytest.mark.parametrize(
    ("rates", "rules"),
    [
        ({"plate": 12.01}, {"cost", "cost-parts"}),
        ({"cut": 1.51}, {"cost", "cost-parts"}),
        ({"process_per_m2": 14.02}, {"cost", "cost-parts", "process"}),  # 0.72 m2: 10.09
    ],
)
def test_costs_follow_the_rooms_rates(rates: dict[str, float], rules: set[str]) -> None:
    assert cut_sheet().with_costs(**rates).broken() == rules


@pytest.mark.parametrize(
    ("bound", "rules"),
    [(94.70, set()), (0.0, set()), (94.71, {"bound"}), (-0.01, {"bound"}), (60.005, {"bound"})],
)
def test_a_bound_lies_between_nothing_and_the_cost_in_whole_cents(bound: float, rules: set[str]) -> None:
    assert cut_sheet().with_totals(bound=bound, bound_gap=(94.70 - bound) / 94.70).broken() == rules


def test_a_wrong_gap_is_found() -> None:
    assert cut_sheet().with_totals(bound_gap=0.35).broken() == {"bound-gap"}


def test_a_plan_called_optimal_costs_its_bound() -> None:
    assert cut_sheet().with_plan(stopped_by=StoppedBy.OPTIMAL).broken() == {"optimal"}
    assert full_sheet().plan.stopped_by is StoppedBy.OPTIMAL


@pytest.mark.parametrize("name", ["image", "border", "keep_out", "unused", "kept", "scrap", "drawn"])
def test_a_wrong_area_is_found(name: str) -> None:
    area = free_plates().plan.totals.area
    case = free_plates().with_totals(area=replace(area, **{name: getattr(area, name) + 0.0001}))
    assert case.broken() == {"area", "area-sum"}


def test_area_moved_from_one_part_to_another_is_found() -> None:
    area = free_plates().plan.totals.area
    moved = replace(area, image=area.image + area.border, border=0.0)
    assert free_plates().with_totals(area=moved).broken() == {"area"}


@pytest.mark.parametrize("name", ["gross", "image", "credited"])
def test_a_wrong_yield_is_found(name: str) -> None:
    yields = cut_sheet().plan.totals.yields
    case = cut_sheet().with_totals(yields=replace(yields, **{name: getattr(yields, name) + 0.0001}))
    assert case.broken() == {"yield"}


def test_a_plan_that_draws_nothing_holds() -> None:
    from nest.domain.plan import Areas, CostParts, Yields

    case = full_sheet()
    totals = replace(
        case.plan.totals, cost=0.0, bound=0.0, sheets=0, plates=0, pieces=0,
        cost_parts=CostParts(sheets=0.0, credit=0.0, plates=0.0, process=0.0, cuts=0.0),
        area=Areas(drawn=0.0, image=0.0, border=0.0, keep_out=0.0, unused=0.0, kept=0.0, scrap=0.0),
        yields=Yields(gross=0.0, image=0.0, credited=0.0),
    )
    assert replace(case.with_plan(sheets=(), totals=totals), rows=()).broken() == set()
