from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest

from nest.domain.stock import MoveKind
from nest.errors import StockError
from nest.store import actions
from nest.store.ledger import Ledger
from tests.store.shop import DAY, balances, delivery, fresh, stocked

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def ledger(tmp_path: Path) -> Iterator[Ledger]:
    with Ledger(stocked(tmp_path)) as opened:
        yield opened


def test_a_receipt_is_a_lot_of_its_own_with_all_that_is_known_of_it(ledger: Ledger) -> None:
    done = actions.receive(ledger, delivery(per_box=5, place="B2", delivery="D-1"), DAY)
    assert (done.booking, done.fresh) == (2, ("L-0002",))
    assert [(m.kind, m.ref, m.change) for m in done.moves] == [(MoveKind.RECEIPT, "L-0002", 10)]
    lot = ledger.stock().lots[1]
    assert (lot.id, lot.per_box, lot.place, lot.delivery, lot.on_hand, lot.price_cents) == (
        "L-0002",
        5,
        "B2",
        "D-1",
        10,
        8640,
    )


def test_the_same_receipt_twice_is_refused_whatever_else_was_booked_between(ledger: Ledger) -> None:
    actions.receive(ledger, delivery(delivery="D-1"), DAY)
    actions.scrap(ledger, "L-0001", 1, "", DAY)
    before = balances(ledger.stock())
    for again in (delivery(delivery="D-1"), delivery(delivery="D-1", sheets=11, price_cents=1)):
        with pytest.raises(StockError, match="booked already, as booking 2"):
            actions.receive(ledger, again, DAY + timedelta(days=1))
    assert balances(ledger.stock()) == before
    # another line of the note, another note, and the same once taken back are other receipts
    actions.receive(ledger, delivery(delivery="D-1", lot="A6-119"), DAY)
    actions.receive(ledger, delivery(delivery="D-2"), DAY)
    actions.undo(ledger, 2, DAY)
    actions.receive(ledger, delivery(delivery="D-1"), DAY)


def test_without_a_delivery_note_the_very_same_receipt_is_refused(ledger: Ledger) -> None:
    actions.receive(ledger, delivery(), DAY)
    with pytest.raises(StockError, match="booked already"):
        actions.receive(ledger, delivery(), DAY)
    actions.receive(ledger, delivery(received=date(2027, 1, 12)), DAY)


def test_no_more_is_taken_out_than_is_there(ledger: Ledger) -> None:
    for ref, count, words in (("L-0001", 11, "holds 10, 11 asked for"), ("F-0001", 2, "is not on the rack"),
                              ("L-0009", 1, "no lot or offcut")):  # fmt: skip
        with pytest.raises(StockError, match=words):
            actions.scrap(ledger, ref, count, "", DAY)
    actions.scrap(ledger, "L-0001", 10, "", DAY)
    actions.scrap(ledger, "F-0001", 1, "", DAY)
    assert balances(ledger.stock()) == {"L-0001": 0, "F-0001": 0}
    assert ledger.revision() == 3


def test_a_dry_run_shows_the_very_booking_and_leaves_the_file_as_it_was(ledger: Ledger) -> None:
    before = ledger.path.read_bytes()
    dry = [
        actions.receive(ledger, delivery(place="B2"), DAY, keep=False),
        actions.scrap(ledger, "L-0001", 2, "bent", DAY, keep=False),
        actions.expose(ledger, "F-0001", 0.6, DAY, keep=False),
        actions.place(ledger, "F-0001", "R1", DAY, keep=False),
        actions.undo(ledger, 1, DAY, keep=False),
        actions.put_setting(ledger, "rack_limit", 3, DAY, keep=False),
        actions.expire(ledger, date(2028, 1, 1), keep=False),
    ]
    assert ledger.path.read_bytes() == before
    assert [one and one.booking for one in dry] == [2] * 7
    assert dry[0] == actions.receive(ledger, delivery(place="B2"), DAY)


def test_only_what_is_past_its_use_by_date_is_written_off(ledger: Ledger) -> None:
    actions.receive(ledger, delivery(expiry=None, lot=None), DAY)
    actions.receive(ledger, delivery(expiry=date(2027, 10, 1)), DAY)
    assert actions.expire(ledger, date(2027, 9, 30)) is None
    done = actions.expire(ledger, date(2027, 10, 1))
    assert done is not None
    assert [(m.kind, m.ref, m.change) for m in done.moves] == [
        (MoveKind.EXPIRY, "L-0001", -10), (MoveKind.EXPIRY, "F-0001", -1)]  # fmt: skip
    assert actions.expire(ledger, date(2027, 10, 1)) is None
    assert balances(ledger.stock()) == {"L-0001": 0, "L-0002": 10, "L-0003": 10, "F-0001": 0}


def test_taking_back_turns_every_movement_round_and_is_done_once(ledger: Ledger) -> None:
    before = balances(ledger.stock())
    actions.scrap(ledger, "L-0001", 4, "", DAY)
    done = actions.undo(ledger, 2, DAY)
    assert [(m.kind, m.ref, m.change) for m in done.moves] == [(MoveKind.RETURN, "L-0001", 4)]
    assert balances(ledger.stock()) == before
    for number, words in ((2, "taken back already"), (3, "is itself a taking back"), (9, "has none of this number")):
        with pytest.raises(StockError, match=words):
            actions.undo(ledger, number, DAY)
    assert [(b.undoes, b.undone_by) for b in ledger.bookings()] == [(None, None), (None, 3), (2, None)]


def test_a_receipt_of_which_sheets_are_gone_cannot_be_taken_back(ledger: Ledger) -> None:
    actions.scrap(ledger, "L-0001", 1, "", DAY)
    with pytest.raises(StockError, match="booking 1 cannot be taken back: L-0001: holds 9, 10 asked for"):
        actions.undo(ledger, 1, DAY)
    assert balances(ledger.stock()) == {"L-0001": 9, "F-0001": 1}


def test_places_states_and_settings_are_the_last_ones_that_stand(ledger: Ledger) -> None:
    actions.place(ledger, "F-0001", "R1", DAY)
    actions.place(ledger, "F-0001", "R2", DAY)
    actions.place(ledger, "L-0001", "B9", DAY)
    actions.expose(ledger, "F-0001", 0.6, DAY)
    actions.put_setting(ledger, "rack_limit", 40, DAY)
    stock = ledger.stock()
    (offcut,) = stock.offcuts
    assert (offcut.place, offcut.relief, offcut.exposed, stock.lots[0].place) == ("R2", 0.6, DAY, "B9")
    assert stock.rack_limit == 40
    for number in (3, 5, 6):
        actions.undo(ledger, number, DAY)
    (offcut,) = ledger.stock().offcuts
    assert (offcut.place, offcut.relief, ledger.stock().rack_limit) == ("R1", None, None)


def test_an_offcut_is_back_exposed_once_and_a_lot_never(ledger: Ledger) -> None:
    actions.expose(ledger, "F-0001", 0.6, DAY)
    with pytest.raises(StockError, match="was back-exposed before"):
        actions.expose(ledger, "F-0001", 0.7, DAY)
    with pytest.raises(StockError, match="is a lot"):
        actions.expose(ledger, "L-0001", 0.6, DAY)
    actions.scrap(ledger, "F-0001", 1, "", DAY)
    with pytest.raises(StockError, match="not on the rack"):
        actions.expose(ledger, "F-0001", 0.6, DAY)


def test_ids_go_on_after_the_highest_ever_given_out(tmp_path: Path) -> None:
    with Ledger(fresh(tmp_path)) as ledger:
        actions.receive(ledger, delivery(id="L-0041"), DAY)
        actions.receive(ledger, delivery(id="old box", lot="x"), DAY)
        actions.undo(ledger, 1, DAY)
        assert actions.receive(ledger, delivery(lot="y"), DAY).fresh == ("L-0042",)
        with pytest.raises(StockError, match="has this id already"):
            actions.receive(ledger, delivery(id="old box", lot="z"), DAY)


@pytest.mark.parametrize(
    ("more", "words"),
    [({"sheets": 0}, "at least 1 sheet"), ({"across_mm": 0.0}, "above 0"), ({"price_cents": -1}, "0 or more"),
     ({"material": " "}, "must be named"), ({"lot": "two\nlines"}, "one line"), ({"place": "bell\a"}, "one line")],
)  # fmt: skip
def test_a_receipt_that_cannot_be_is_refused_and_books_nothing(
    more: dict[str, object], words: str, ledger: Ledger
) -> None:
    with pytest.raises(StockError, match=words):
        actions.receive(ledger, delivery(**more), DAY)
    assert ledger.revision() == 1


def test_a_curve_that_falls_before_it_begins_to_is_refused(ledger: Ledger) -> None:
    with pytest.raises(StockError, match="life_days must be at least full_days"):
        actions.put_setting(ledger, "life_days", 10, DAY)
    assert ledger.stock().curve.life_days == 360
