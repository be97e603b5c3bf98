from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from nest.domain.stock import MoveKind, Reserve
from nest.errors import StockError
from nest.store import actions
from nest.store.ledger import Ledger
from nest.store.release import drawn_under, release, released, undo_release
from nest.store.room import as_if_not_drawn, renewed_note
from tests.store.plans import note_on, sheet_release
from tests.store.shop import DAY, balances, delivery, fresh, stocked

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def ledger(tmp_path: Path) -> Iterator[Ledger]:
    with Ledger(stocked(tmp_path)) as opened:
        yield opened


def test_a_release_draws_and_puts_the_kept_rests_on_the_rack_with_ids(ledger: Ledger) -> None:
    sheets = [sheet_release(1, "L-0001", rests=2), sheet_release(2, "F-0001", rests=1)]
    done = release(ledger, note_on(ledger.stock(), sheets), sheets, DAY)
    assert [(m.kind, m.ref, m.change, m.sheet) for one in done for m in one.moves] == [
        (MoveKind.DRAW, "L-0001", -1, "a plan:S01"), (MoveKind.OFFCUT, "F-0002", 1, "a plan:S01-R1"),
        (MoveKind.OFFCUT, "F-0003", 1, "a plan:S01-R2"), (MoveKind.DRAW, "F-0001", -1, "a plan:S02"),
        (MoveKind.OFFCUT, "F-0004", 1, "a plan:S02-R1"),
    ]  # fmt: skip
    stock = ledger.stock()
    assert balances(stock) == {"L-0001": 9, "F-0001": 0, "F-0002": 1, "F-0003": 1, "F-0004": 1}
    second, last = stock.offcuts[1], stock.offcuts[3]
    assert (second.parent, second.lot, second.expiry, second.made) == ("L-0001", "A6-118", date(2027, 9, 30), DAY)
    assert (last.parent, last.lot) == ("F-0001", "A6-118")
    assert (second.across_mm, second.value_cents) == (300.0, 900)


def test_a_rest_of_a_back_exposed_offcut_is_back_exposed_too(ledger: Ledger) -> None:
    actions.expose(ledger, "F-0001", 0.6, DAY)
    sheets = [sheet_release(1, "F-0001", rests=1)]
    release(ledger, note_on(ledger.stock(), sheets), sheets, DAY)
    rest = ledger.stock().offcuts[1]
    assert (rest.id, rest.relief, rest.exposed) == ("F-0002", 0.6, DAY)


def test_a_release_twice_is_refused_whole(ledger: Ledger) -> None:
    sheets = [sheet_release(1, "L-0001"), sheet_release(2, "L-0001")]
    note = note_on(ledger.stock(), sheets)
    release(ledger, note, sheets[:1], DAY)
    before = balances(ledger.stock())
    words = r"released already: S01 \(booking 2\); release the others with --sheets S02; nothing"
    with pytest.raises(StockError, match=words):
        release(ledger, note, sheets, DAY)
    assert balances(ledger.stock()) == before
    release(ledger, note, sheets[1:], DAY)
    assert released(ledger, "a plan") == {"S01": 2, "S02": 3}


def test_the_same_plan_made_again_before_the_release_is_the_same_release(ledger: Ledger) -> None:
    sheets = [sheet_release(1, "L-0001")]
    first = note_on(ledger.stock(), sheets, name="first")
    actions.receive(ledger, delivery(lot="other"), DAY)
    second = note_on(ledger.stock(), sheets, name="second")
    release(ledger, first, sheets, DAY)
    with pytest.raises(StockError, match="released already"):
        release(ledger, second, sheets, DAY)
    # the same jobs come again the week after: planned on the store as it is then
    third = note_on(ledger.stock(), sheets, name="third")
    release(ledger, third, sheets, DAY)
    assert balances(ledger.stock())["L-0001"] == 8


def test_unrelated_movements_do_not_stand_in_the_way(ledger: Ledger) -> None:
    sheets = [sheet_release(1, "L-0001")]
    note = note_on(ledger.stock(), sheets)
    actions.receive(ledger, delivery(material="QF284"), DAY)
    actions.scrap(ledger, "F-0001", 1, "", DAY)
    actions.scrap(ledger, "L-0001", 9, "", DAY)
    actions.place(ledger, "L-0001", "B4", DAY)
    release(ledger, note, sheets, DAY)
    assert balances(ledger.stock())["L-0001"] == 0


def test_a_change_that_matters_is_said_and_nothing_is_booked(ledger: Ledger) -> None:
    sheets = [sheet_release(1, "L-0001"), sheet_release(2, "L-0001"), sheet_release(3, "F-0001")]
    note = note_on(ledger.stock(), sheets)
    actions.scrap(ledger, "L-0001", 9, "", DAY)
    actions.expose(ledger, "F-0001", 0.6, DAY)
    before, revision = balances(ledger.stock()), ledger.revision()
    with pytest.raises(StockError) as caught:
        release(ledger, note, sheets, DAY)
    assert str(caught.value).splitlines() == [
        "the store has changed since the plan was made:",
        "  F-0001: has been back-exposed since",
        "  L-0001: holds 1, 2 are drawn",
        "nothing has been changed",
    ]
    actions.scrap(ledger, "F-0001", 1, "", DAY)
    with pytest.raises(StockError, match="F-0001: is not on the rack any more"):
        release(ledger, note, sheets, DAY)
    with pytest.raises(StockError, match="L-0001: its use-by date 2027-09-30 has passed"):
        release(ledger, note, sheets[:1], date(2027, 10, 1))
    assert balances(ledger.stock()) == {**before, "F-0001": 0}
    assert ledger.revision() == revision + 1
    release(ledger, note, sheets[:1], date(2027, 9, 30))


def test_the_reserve_the_plan_left_is_not_broken_into(ledger: Ledger) -> None:
    sheets = [sheet_release(1, "L-0001")]
    reserve = (Reserve(material="QF170", across_mm=900.0, around_mm=1200.0, sheets=2),)
    note = note_on(ledger.stock(), sheets, reserve=reserve)
    actions.scrap(ledger, "L-0001", 8, "", DAY)
    with pytest.raises(StockError, match="1 would be left, the reserve is 2"):
        release(ledger, note, sheets, DAY)
    release(ledger, note_on(ledger.stock(), sheets), sheets, DAY)


def test_another_ledger_or_an_older_copy_is_refused(ledger: Ledger, tmp_path: Path) -> None:
    sheets = [sheet_release(1, "L-0001")]
    ledger.backup(tmp_path / "copy.db")
    actions.receive(ledger, delivery(lot="later"), DAY)
    note = note_on(ledger.stock(), sheets)
    with Ledger(tmp_path / "copy.db") as copy, pytest.raises(StockError, match="is older than the plan"):
        release(copy, note, sheets, DAY)
    with Ledger(fresh(tmp_path, "other.db")) as other, pytest.raises(StockError, match="another ledger"):
        release(other, note, sheets, DAY)


def test_taking_a_release_back_gives_every_balance_back(ledger: Ledger) -> None:
    before = balances(ledger.stock())
    sheets = [sheet_release(1, "L-0001", rests=2, spoilt=("L-0001",)), sheet_release(2, "F-0001", rests=1)]
    note = note_on(ledger.stock(), sheets)
    release(ledger, note, sheets, DAY)
    assert balances(ledger.stock())["L-0001"] == 8
    back = undo_release(ledger, note.plan, ["S01"], DAY)
    assert [(m.kind, m.ref, m.change) for m in back[0].moves] == [
        (MoveKind.RETURN, "F-0003", -1), (MoveKind.RETURN, "F-0002", -1), (MoveKind.RETURN, "L-0001", 1),
        (MoveKind.RETURN, "L-0001", 1),
    ]  # fmt: skip
    assert released(ledger, note.plan) == {"S02": 3}
    undo_release(ledger, note.plan, None, DAY)
    now = balances(ledger.stock())
    assert {ref: count for ref, count in now.items() if count} == before
    with pytest.raises(StockError, match="nothing to take back"):
        undo_release(ledger, note.plan, None, DAY)
    # and it can be released again; the ids of the first time are not given out once more
    again = release(ledger, note, sheets, DAY)
    assert again[0].fresh == ("F-0005", "F-0006")


def test_a_release_whose_offcut_was_used_since_cannot_be_taken_back(ledger: Ledger) -> None:
    sheets = [sheet_release(1, "L-0001", rests=1)]
    note = note_on(ledger.stock(), sheets)
    release(ledger, note, sheets, DAY)
    actions.scrap(ledger, "F-0002", 1, "", DAY)
    before = balances(ledger.stock())
    with pytest.raises(StockError, match="booking 2 cannot be taken back: F-0002: is not on the rack"):
        undo_release(ledger, note.plan, None, DAY)
    assert balances(ledger.stock()) == before


def test_a_dry_release_shows_the_very_bookings_and_ids(ledger: Ledger) -> None:
    sheets = [sheet_release(1, "L-0001", rests=2), sheet_release(2, "L-0001", rests=1)]
    note, before = note_on(ledger.stock(), sheets), ledger.path.read_bytes()
    dry = release(ledger, note, sheets, DAY, keep=False)
    assert ledger.path.read_bytes() == before
    assert release(ledger, note, sheets, DAY) == dry
    dry_back = undo_release(ledger, note.plan, None, DAY, keep=False)
    assert undo_release(ledger, note.plan, None, DAY) == dry_back


def test_a_ledger_is_known_by_its_identity_not_by_its_path(tmp_path: Path) -> None:
    ids = set()
    for name in ("a.db", "b.db"):
        with Ledger(fresh(tmp_path, name)) as one:
            ids.add(one.id)
    (tmp_path / "a.db").rename(tmp_path / "moved.db")
    with Ledger(tmp_path / "moved.db") as moved:
        assert moved.id in ids
    assert len(ids) == 2


def test_a_plan_made_from_a_released_one_keeps_what_is_released_and_releases_the_rest(ledger: Ledger) -> None:
    first = [sheet_release(1, "L-0001"), sheet_release(2, "F-0001", spoilt=("L-0001",))]
    old = note_on(ledger.stock(), first, name="the week", text="as planned")
    release(ledger, old, first, DAY)
    own = drawn_under(ledger, old.plan)
    assert own == {"L-0001": 1, "F-0001": 1}
    view = as_if_not_drawn(ledger.stock(), own)
    assert balances(view) == {"L-0001": 9, "F-0001": 1}
    second = [*first, sheet_release(3, "L-0001")]
    new = renewed_note(old, note_on(ledger.stock(), second[2:], name="another", text="changed"))
    assert new.plan == old.plan
    with pytest.raises(StockError, match=r"S01 .*, S02 .*; release the others with --sheets S03"):
        release(ledger, new, second, DAY)
    release(ledger, new, second[2:], DAY)
    assert sorted(released(ledger, old.plan)) == ["S01", "S02", "S03"]
