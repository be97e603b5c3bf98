from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest

from nest.domain.stock import Act
from nest.store import actions
from nest.store.ledger import Ledger
from nest.store.offcut_use import Fate, Kept, best_least, most_at_once, offcut_use, offcuts_kept
from nest.store.release import release, undo_release
from tests.store.plans import note_on, sheet_release
from tests.store.shop import DAY, delivery, found, fresh

if TYPE_CHECKING:
    from pathlib import Path

MADE = date(2027, 1, 1)


def kept(side: float, fate: Fate, days: int | None = None, used: float = 0.0, worth: float = 1000.0) -> Kept:
    end = None if days is None else MADE + timedelta(days=days)
    return Kept(id="F", side_mm=side, area_m2=side * 500 / 1e6, made=MADE, end=end, fate=fate, worth_cents=worth,
                used_cents=used)  # fmt: skip


def test_the_gain_is_the_raw_price_of_what_was_used_by_a_hand_worked_example(tmp_path: Path) -> None:
    # a sheet of 900 x 1200 for 86.40 is 80.00 per m2; its rest of 300 x 500 (0.15 m2) is worth 12.00 at that price
    with Ledger(fresh(tmp_path)) as ledger:
        actions.receive(ledger, delivery(), DAY)
        first = [sheet_release(1, "L-0001", rests=1)]
        release(ledger, note_on(ledger.stock(), first, name="1", text="1"), first, DAY)
        # it is used eight days later, and a rest of 300 x 500 is kept of it again: nothing of it was used
        second = [sheet_release(2, "F-0001", rests=1)]
        note = note_on(ledger.stock(), second, name="2", text="2")
        release(ledger, note, second, DAY + timedelta(days=8))
        one, two = offcuts_kept(ledger)
        assert (one.id, one.fate, one.used_cents) == ("F-0001", Fate.USED, 0.0)
        assert one.worth_cents == pytest.approx(1200.0)
        assert (two.id, two.fate, two.end) == ("F-0002", Fate.RACK, None)
        # taken back and released without a rest: all of its area was used
        undo_release(ledger, note.plan, None, DAY)
        third = [sheet_release(3, "F-0001")]
        release(ledger, note_on(ledger.stock(), third, name="3", text="3"), third, DAY + timedelta(days=9))
        (one,) = offcuts_kept(ledger)
        assert one.used_cents == pytest.approx(1200.0)
        assert one.gain_cents(200.0) == pytest.approx(1000.0)
        use = offcut_use([one], DAY, 200.0)
        assert (use.kept, use.used, use.lost, use.rack, use.days) == (1, 1, 0, 0, 9)
        assert use.proposal.offcut_value is None


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


def test_the_least_size_is_that_from_which_gains_sum_to_most() -> None:
    # handling 200: small ones lost 200 each, middle ones gained 300, large ones 800
    some = [kept(210, Fate.LOST)] * 3 + [kept(310, Fate.USED, 5, 500)] * 2 + [kept(410, Fate.USED, 5, 1000)]
    assert best_least(some, lambda one: one.side_mm, 25.0, 200.0) == 225.0
    # where keeping gained at every size, from the smallest there was
    assert best_least(some[3:], lambda one: one.side_mm, 25.0, 200.0) == 300.0
    # where keeping gained at none, above the largest
    assert best_least(some[:3], lambda one: one.side_mm, 25.0, 200.0) == 225.0


def test_the_rack_limit_is_the_most_that_lay_there_at_once_and_were_used_later() -> None:
    def lay(first: int, last: int) -> Kept:
        return Kept(id="F", side_mm=300, area_m2=0.2, made=MADE + timedelta(days=first),
                    end=MADE + timedelta(days=last), fate=Fate.USED, worth_cents=1.0, used_cents=1.0)  # fmt: skip

    assert most_at_once([lay(0, 5), lay(1, 9), lay(4, 6), lay(6, 8), lay(20, 21)]) == 3
    # what leaves on the day another comes makes room for it
    assert most_at_once([lay(0, 5), lay(5, 9)]) == 1


def test_what_lies_longer_than_nearly_all_that_were_used_counts_as_lost() -> None:
    used = [kept(300, Fate.USED, days, 800.0) for days in range(1, 21)]
    old = [kept(300, Fate.RACK)] * 5
    day = MADE + timedelta(days=19)
    young = offcut_use([*used, *old], MADE + timedelta(days=18), 100.0)
    assert young.proposal.offcut_value == 0.8
    late = offcut_use([*used, *old], day, 100.0)
    # 20 x 800 of 25 x 1000
    assert late.proposal.offcut_value == 0.65
    assert late.gain_cents == pytest.approx(20 * 700 - 5 * 100)
    assert (late.used, late.lost, late.rack) == (20, 0, 5)
