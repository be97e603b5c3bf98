from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest

from nest.domain.room import Costs, Unit
from nest.domain.stock import Act
from nest.output.offcut_use_text import offcut_use_text
from nest.store import actions
from nest.store.ledger import Ledger
from nest.store.offcut_use import Fate, Kept, best_least, most_at_once, offcut_use, offcuts_kept
from nest.store.release import release, undo_release
from tests.store.plans import note_on, sheet_release
from tests.store.shop import DAY, delivery, found, fresh

if TYPE_CHECKING:
    from pathlib import Path

MADE = date(2027, 1, 1)


def kept(side: float, fate: Fate, days: int | None = None, saved: float = 0.0, worth: float = 1000.0) -> Kept:
    end = None if days is None else MADE + timedelta(days=days)
    return Kept(id="F", side_mm=side, area_m2=side * 500 / 1e6, made=MADE, end=end, fate=fate, worth_cents=worth,
                credit_cents=300.0, saved_cents=saved)  # fmt: skip


def test_what_an_offcut_saved_is_held_against_whole_sheets_by_a_hand_worked_example(tmp_path: Path) -> None:
    with Ledger(fresh(tmp_path)) as ledger:
        actions.receive(ledger, delivery(), DAY)
        # a whole sheet: 86.40 + 30.00 work - 9.00 credit of its rest of 300 x 500, 0.6 m2 of pieces: 179.00 per m2
        first = [sheet_release(1, "L-0001", rests=1, area_mm2=600_000, work_cents=3000)]
        release(ledger, note_on(ledger.stock(), first, name="1", text="1"), first, DAY)
        # the rest makes 0.1 m2 of pieces eight days later for 12.00 of work, and a rest of 9.00 is kept again
        second = [sheet_release(2, "F-0001", rests=1, area_mm2=100_000, work_cents=1200)]
        note = note_on(ledger.stock(), second, name="2", text="2")
        release(ledger, note, second, DAY + timedelta(days=8))
        one, two = offcuts_kept(ledger)
        assert (one.id, one.fate, one.credit_cents) == ("F-0001", Fate.USED, 900.0)
        # 17.90 - 12.00 + 9.00
        assert one.saved_cents == pytest.approx(1490.0)
        # 86.40 for 1.08 m2 is 80.00 per m2; 0.15 m2 are worth 12.00 at that price, and so is the rest of the rest
        assert one.worth_cents == two.worth_cents == pytest.approx(1200.0)
        assert (two.id, two.fate, two.end, two.saved_cents) == ("F-0002", Fate.RACK, None, 0.0)
        undo_release(ledger, note.plan, None, DAY)
        third = [sheet_release(3, "F-0001", area_mm2=100_000, work_cents=1200)]
        release(ledger, note_on(ledger.stock(), third, name="3", text="3"), third, DAY + timedelta(days=9))
        (one,) = offcuts_kept(ledger)
        assert one.saved_cents == pytest.approx(590.0)
        use = offcut_use([one], DAY, 200.0)
        assert (use.kept, use.used, use.lost, use.rack, use.days) == (1, 1, 0, 0, 9)
        # 5.90 - 9.00 - 2.00
        assert use.gain_cents == pytest.approx(-510.0)
        assert use.proposal is None


def test_a_scrapped_an_expired_and_a_missing_offcut_are_lost(tmp_path: Path) -> None:
    with Ledger(fresh(tmp_path)) as ledger:
        for n in range(4):
            one = found(expiry=date(2027, 4, 1) if n == 1 else None)
            actions.take_in(ledger, [], [one], DAY, act=Act.IMPORT, reason="", key=str(n))
        actions.scrap(ledger, "F-0001", 1, "", DAY)
        actions.expire(ledger, date(2027, 5, 1))
        assert [one.fate for one in offcuts_kept(ledger)] == [Fate.LOST, Fate.LOST, Fate.RACK, Fate.RACK]
        actions.undo(ledger, 5, DAY)
        assert next(one.fate for one in offcuts_kept(ledger)) is Fate.RACK


def test_the_least_size_is_that_from_which_savings_after_handling_sum_to_most() -> None:
    # handling 200: small ones lost 200 each, middle ones saved 300, large ones 800
    some = [kept(210, Fate.LOST)] * 3 + [kept(310, Fate.USED, 5, 500)] * 2 + [kept(410, Fate.USED, 5, 1000)]
    assert best_least(some, lambda one: one.side_mm, 25.0, 200.0) == (225.0, 1400.0)
    # where keeping saved at every size, from the smallest there was
    assert best_least(some[3:], lambda one: one.side_mm, 25.0, 200.0) == (300.0, 1400.0)
    # where it saved at none, above the largest
    assert best_least(some[:3], lambda one: one.side_mm, 25.0, 200.0) == (225.0, 0.0)


def test_where_keeping_saved_at_no_size_it_is_proposed_to_keep_none() -> None:
    use = offcut_use([kept(300 + n, Fate.USED, 5, 150.0) for n in range(12)], DAY, 200.0)
    assert use.proposal is not None
    assert not use.proposal.keep
    assert "offcuts_per_sheet = 0" in offcut_use_text(use, Unit.MM, "EUR", None, None)


def test_the_rack_limit_is_the_most_that_lay_there_at_once_and_were_used_later() -> None:
    def lay(first: int, last: int) -> Kept:
        return Kept(id="F", side_mm=300, area_m2=0.2, made=MADE + timedelta(days=first),
                    end=MADE + timedelta(days=last), fate=Fate.USED, worth_cents=1.0, credit_cents=1.0,
                    saved_cents=1.0)  # fmt: skip

    assert most_at_once([lay(0, 5), lay(1, 9), lay(4, 6), lay(6, 8), lay(20, 21)]) == 3
    # what leaves on the day another comes makes room for it
    assert most_at_once([lay(0, 5), lay(5, 9)]) == 1


def test_what_lies_longer_than_nearly_all_that_were_used_counts_as_lost() -> None:
    used = [kept(300, Fate.USED, days, 800.0) for days in range(1, 21)]
    old = [kept(300, Fate.RACK)] * 5
    day = MADE + timedelta(days=19)
    young = offcut_use([*used, *old], MADE + timedelta(days=18), 100.0)
    assert young.proposal is not None
    assert young.proposal.offcut_value == 0.8
    late = offcut_use([*used, *old], day, 100.0)
    # 20 x 800 of 25 x 1000
    assert late.proposal is not None
    assert late.proposal.offcut_value == 0.65
    assert late.gain_cents == pytest.approx(20 * 800 - 25 * 300 - 25 * 100)
    assert (late.used, late.lost, late.rack) == (20, 0, 5)
    told = offcut_use_text(late, Unit.MM, "EUR", Costs(offcut_value=0.5, offcut_min_side_mm=250.0), 9)
    assert "on rack 5, credited 15.00 EUR when kept" in told
    assert "GAIN: 60.00 EUR = 160.00 saved" in told
    assert [line.split()[:3] for line in told.splitlines()[8:12]] == [
        ["offcut_value", "0.5", "0.65"], ["offcut_min_side", "250", "300"], ["offcut_min_area_m2", "0", "0.14"],
        ["rack_limit", "9", "20"],
    ]  # fmt: skip
