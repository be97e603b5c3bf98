from __future__ import annotations

import numpy as np
import pytest

from nest.buying.checks import NONE, PRIOR_M2, PRIOR_SHEETS, REACH, Check, Ratios, ratio_words, ratios_of, thinned
from nest.buying.demand import SizeKey
from nest.buying.nesting import Drawn

SIZES = (
    SizeKey(material="A", across_mm=1000.0, around_mm=1000.0),
    SizeKey(material="A", across_mm=1000.0, around_mm=2000.0),
    SizeKey(material="B", across_mm=1000.0, around_mm=1000.0),
)


def drawn(sheets: tuple[int, int, int], drawn_m2: float, kept_m2: float = 0.0) -> Drawn:
    return Drawn(sheets=sheets, cost=10.0 * sum(sheets), drawn_m2=drawn_m2, kept_m2=kept_m2, pieces_m2=1.0)


def test_sheets_of_a_material_come_to_the_ratio_of_its_area_used_and_keep_its_mix() -> None:
    weeks = [
        [Check(material="A", short=drawn((30, 10, 0), 50.0, 4.0), long=drawn((24, 12, 0), 48.0, 4.0))],
        [Check(material="A", short=drawn((30, 5, 0), 41.0, 1.0), long=drawn((26, 4, 0), 35.0, 2.0)),
         Check(material="B", short=drawn((0, 0, 0), 0.0), long=drawn((0, 0, 0), 0.0))],
    ]  # fmt: skip
    found = ratios_of(weeks, SIZES)
    used = ((44 + 33 + PRIOR_M2) / (46 + 40 + PRIOR_M2)) ** REACH
    # short: 60 of 1 m2 and 15 of 2 m2 are 90 m2
    assert (60 * found.sheets[0] + 15 * 2 * found.sheets[1]) / 90 == pytest.approx(used)
    usual = (50 + 32) / 90
    mix = [(50 + PRIOR_SHEETS * usual) / (60 + PRIOR_SHEETS), (16 + PRIOR_SHEETS * usual) / (15 + PRIOR_SHEETS)]
    assert found.sheets[0] / found.sheets[1] == pytest.approx(mix[0] / mix[1])
    assert found.sheets[2] == 1.0
    # cost: 10 a sheet, the prior of 5 m2 at the cost of the short search by area, 750 for 86 m2
    prior = PRIOR_M2 * 750 / 86
    assert found.cost == pytest.approx(((660 + prior) / (750 + prior)) ** REACH)
    assert found.used == pytest.approx(used)
    assert found.weeks == 2


def test_few_weeks_change_little_and_nothing_seen_changes_nothing() -> None:
    one = [[Check(material="A", short=drawn((1, 0, 0), 1.0), long=drawn((0, 0, 0), 0.5))]]
    many = [one[0] * 40]
    assert 0.8 < ratios_of(one, SIZES).used < 0.9
    assert ratios_of(many, SIZES).used < 0.45
    none = Check(material="A", short=drawn((0, 0, 0), 0.0), long=drawn((0, 0, 0), 0.0))
    assert ratios_of([[none]], SIZES) == Ratios(sheets=(1.0, 1.0, 1.0), weeks=1)


def test_thinning_gives_whole_sheets_with_the_right_mean_up_and_down() -> None:
    sheets = np.full((300, 10, 3), 4)
    out = thinned(sheets, Ratios(sheets=(0.9, 1.25, 1.0), weeks=1), 3)
    # 3000 draws of 4 sheets: standard error of the mean below 0.016
    assert out.mean(axis=(0, 1)) == pytest.approx([3.6, 5.0, 4.0], abs=0.06)
    assert out.dtype.kind == "i"
    assert (out[:, :, 2] == 4).all()


def test_thinning_a_path_does_not_depend_on_the_others() -> None:
    sheets = np.random.default_rng(0).integers(0, 9, (5, 6, 3))
    ratios = Ratios(sheets=(0.9, 1.1, 0.5), weeks=1)
    assert (thinned(sheets[:2], ratios, 1) == thinned(sheets, ratios, 1)[:2]).all()


def test_without_checks_nothing_changes_and_that_is_said() -> None:
    sheets = np.ones((1, 1, 3), np.int64)
    assert ratios_of([], SIZES) == NONE
    assert thinned(sheets, NONE, 0) is sheets
    assert "a few per cent too many" in ratio_words(NONE, SIZES)[0]
    assert "A 1000x2000 × 1.10" in ratio_words(Ratios(sheets=(0.9, 1.1, 1.0), weeks=4), SIZES)[0]
