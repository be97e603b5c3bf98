"""Whatever is booked in whatever order: balances are the sums of movements, and agree with a plain model."""

from __future__ import annotations

import shutil
import tempfile
from collections import Counter
from datetime import timedelta
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from nest.domain.stock import Counted
from nest.errors import StockError
from nest.store import actions
from nest.store.count import book_count, compare
from nest.store.ledger import Ledger
from nest.store.release import release, undo_release
from tests.store.plans import note_on, sheet_release
from tests.store.shop import DAY, balances, delivery, fresh

COUNTS = st.integers(1, 5)


class Store(RuleBasedStateMachine):
    """Books at random and keeps the balances in a dictionary beside."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.ledger = Ledger(fresh(self.folder))
        self.model: dict[str, int] = {}
        self.changes: dict[int, dict[str, int]] = {}
        self.number = 0

    def teardown(self) -> None:
        assert self.ledger.integrity() == []
        self.ledger.close()
        shutil.rmtree(self.folder)

    def booked(self, changes: dict[str, int]) -> None:
        """Note what the last booking should have changed."""
        self.changes[self.ledger.revision()] = changes
        for ref, change in changes.items():
            self.model[ref] = self.model.get(ref, 0) + change

    @initialize(sheets=COUNTS)
    def first(self, sheets: int) -> None:
        self.receive(sheets, None)

    @rule(sheets=COUNTS, days=st.one_of(st.none(), st.integers(-3, 300)))
    def receive(self, sheets: int, days: int | None) -> None:
        self.number += 1
        expiry = None if days is None else DAY + timedelta(days=days)
        done = actions.receive(self.ledger, delivery(sheets=sheets, expiry=expiry, delivery=str(self.number)), DAY)
        self.booked({done.fresh[0]: sheets})

    @rule(data=st.data(), count=COUNTS)
    def scrap(self, data: st.DataObject, count: int) -> None:
        ref = data.draw(st.sampled_from(sorted(self.model)))
        try:
            actions.scrap(self.ledger, ref, count, "", DAY)
        except StockError:
            assert count > self.model[ref]
        else:
            self.booked({ref: -count})

    @rule(data=st.data(), rests=st.integers(0, 2), spoilt=st.booleans())
    def release(self, data: st.DataObject, rests: int, spoilt: bool) -> None:
        ref = data.draw(st.sampled_from(sorted(self.model)))
        self.number += 1
        one = sheet_release(1, ref, rests=rests, spoilt=(ref,) if spoilt else ())
        note = note_on(self.ledger.stock(), [one], name=f"plan {self.number}", text=str(self.number))
        refused = ""
        try:
            (done,) = release(self.ledger, note, [one], DAY)
            self.booked({ref: -1 - spoilt, **dict.fromkeys(done.fresh, 1)})
        except StockError as fault:
            refused = str(fault)
        assert not refused or self.model[ref] < 1 + spoilt or "use-by date" in refused

    @rule(data=st.data())
    def take_back(self, data: st.DataObject) -> None:
        number = data.draw(st.sampled_from(sorted(self.changes)))
        turned = {ref: -change for ref, change in self.changes[number].items()}
        empty = any(self.model[ref] + change < 0 for ref, change in turned.items())
        twice = any(ref.startswith("F") and self.model[ref] + change > 1 for ref, change in turned.items())
        refused = ""
        try:
            actions.undo(self.ledger, number, DAY)
            self.booked(turned)
        except StockError as fault:
            refused = str(fault)
        assert not refused or empty or twice or "taken back already" in refused or "is itself" in refused

    @precondition(lambda self: bool(self.model))
    @rule(data=st.data(), whole=st.booleans())
    def count(self, data: st.DataObject, whole: bool) -> None:
        refs = data.draw(st.lists(st.sampled_from(sorted(self.model)), unique=True))
        counts = {ref: data.draw(st.integers(0, 1 if ref.startswith("F") else 6)) for ref in refs}
        report = compare(self.ledger.stock(), [Counted(ref=r, count=n) for r, n in counts.items()], whole=whole)
        want = {ref: counts.get(ref, 0 if whole else have) for ref, have in self.model.items()}
        differences = {ref: want[ref] - have for ref, have in self.model.items() if want[ref] != have}
        assert {line.ref: line.counted - line.book for line in report.lines} == differences
        if book_count(self.ledger, report, "", DAY) is not None:
            self.booked(differences)
        assert balances(self.ledger.stock()) == want

    @rule(days=st.integers(0, 400))
    def expire(self, days: int) -> None:
        done = actions.expire(self.ledger, DAY + timedelta(days=days))
        if done is not None:
            assert all(self.model[move.ref] == -move.change for move in done.moves)
            self.booked({move.ref: move.change for move in done.moves})

    @invariant()
    def balances_are_the_sums_of_movements(self) -> None:
        held = balances(self.ledger.stock())
        assert held == self.model
        replayed: Counter[str] = Counter()
        for booking in self.ledger.bookings():
            for move in booking.moves:
                replayed[move.ref] += move.change
                assert replayed[move.ref] >= 0
        assert {ref: replayed[ref] for ref in held} == held


Store.TestCase.settings = settings(
    max_examples=50, stateful_step_count=15, deadline=None, suppress_health_check=list(HealthCheck)
)
TestAnyMovements = Store.TestCase


@settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
@given(rests=st.lists(st.integers(0, 2), min_size=1, max_size=5), some=st.integers(0, 4))
def test_taking_a_release_back_is_the_identity_on_balances(rests: list[int], some: int) -> None:
    folder = Path(tempfile.mkdtemp())
    try:
        with Ledger(fresh(folder)) as ledger:
            actions.receive(ledger, delivery(sheets=9), DAY)
            before = {ref: count for ref, count in balances(ledger.stock()).items() if count}
            sheets = [sheet_release(n, "L-0001", rests=count) for n, count in enumerate(rests)]
            note = note_on(ledger.stock(), sheets)
            release(ledger, note, sheets, DAY)
            first = [one.sheet for one in sheets[:some]]
            if first:
                undo_release(ledger, note.plan, first, DAY)
            if len(first) < len(sheets):
                undo_release(ledger, note.plan, None, DAY)
            assert {ref: count for ref, count in balances(ledger.stock()).items() if count} == before
    finally:
        shutil.rmtree(folder)
