from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest

from nest.output.report.spending import spending, wastes
from tests.output import sample_plans as samples

if TYPE_CHECKING:
    from nest.domain.plan import Plan

PLANS = (samples.week(), samples.small(), samples.extreme())


@pytest.mark.parametrize("plan", PLANS)
def test_the_causes_add_up_to_the_cost_and_to_the_area_drawn(plan: Plan) -> None:
    parts = spending(plan)
    assert math.fsum(part.amount for part in parts) == pytest.approx(plan.totals.cost, abs=1e-9)
    areas = math.fsum(part.m2 for part in parts if part.m2 is not None)
    assert areas == pytest.approx(plan.totals.area.drawn, abs=1e-9)
    assert max(part.m2_bar for part in parts) == 100.0
    assert max(part.amount_bar for part in parts) == 100.0


def test_a_cause_costs_its_area_at_the_price_of_its_sheet() -> None:
    # 420 x 600 at 20.16: 80.00 a m2; plate 420 x 380 with keep-outs 12, 10, 10, 10: 0.1596 - 0.1432 m2 under them
    plan = samples.small()
    parts = {part.name: part for part in spending(plan)}
    assert parts["Keep-outs"].m2 == pytest.approx(0.1596 - 0.400 * 0.358)
    assert parts["Keep-outs"].amount == pytest.approx(80 * (0.1596 - 0.1432), abs=0.005)
    # the kept rest of 420 x 220 cost 7.39 and is credited 2.43
    assert parts["Rests kept"].amount == pytest.approx(7.39 - 2.43, abs=0.005)
    assert parts["Plates"].amount == 12.0
    assert parts["Plates"].m2 is None


def test_waste_is_every_cause_but_the_images_the_dearest_first() -> None:
    told = wastes(samples.week())
    assert {one.name for one in told} == {"Floor borders", "Keep-outs", "Unused", "Scrap", "Credit lost on rests kept"}
    amounts = [one.amount for one in told]
    assert amounts == sorted(amounts, reverse=True)


def test_a_plan_of_nothing_wastes_nothing() -> None:
    empty = samples.plan_of([])
    assert all(part.amount == 0.0 and part.amount_bar == 0.0 for part in spending(empty))
    assert all(one.amount == 0.0 for one in wastes(empty))
