from __future__ import annotations

import threading

import pytest

from nest.domain.plan import StoppedBy
from nest.packing.control import News, Stop, Voice


def test_the_work_limit_stops_at_its_count() -> None:
    stop = Stop.after(100, None)
    assert not stop.reached(99)
    assert stop.reached(100)
    assert stop.reason is StoppedBy.WORK_LIMIT


def test_the_clock_stops_and_is_remembered() -> None:
    stop = Stop.after(10**9, 0.0)
    assert stop.reached(0)
    assert stop.reason is StoppedBy.TIME_LIMIT
    assert not Stop.after(10**9, 3600.0).reached(0)


def test_an_interrupt_goes_before_the_clock() -> None:
    interrupt = threading.Event()
    stop = Stop.after(10**9, 0.0, interrupt)
    interrupt.set()
    assert stop.reached(0)
    assert stop.reason is StoppedBy.INTERRUPT


def test_a_part_gets_its_share_of_work_and_hears_the_same_interrupt() -> None:
    interrupt = threading.Event()
    whole = Stop.after(1000, None, interrupt)
    part = whole.part(250.9, 1.0)
    assert part.work_limit == 250
    assert part.deadline is None
    interrupt.set()
    assert part.reached(0)
    assert part.reason is StoppedBy.INTERRUPT
    assert whole.reason is StoppedBy.WORK_LIMIT


@pytest.mark.parametrize("until", [0.0, 0.5, 1.0])
def test_a_part_s_deadline_is_a_share_of_the_time_left(until: float) -> None:
    whole = Stop.after(1000, 1000.0)
    part = whole.part(1000.0, until)
    assert part.deadline is not None
    assert whole.deadline is not None
    left = whole.deadline - part.deadline
    assert left == pytest.approx(1000.0 * (1 - until), abs=1.0)


def test_time_that_is_up_leaves_a_part_none() -> None:
    part = Stop.after(1000, -5.0).part(1000.0, 0.5)
    assert part.reached(0)
    assert part.reason is StoppedBy.TIME_LIMIT


@pytest.mark.parametrize(("work", "want"), [(0, 0.0), (25, 0.25), (100, 1.0), (150, 1.0)])
def test_progress_is_the_share_of_the_limit_used_up(work: int, want: float) -> None:
    assert Stop.after(100, None).progress(work) == want
    assert Stop.after(0, None).progress(work) == 1.0


def test_progress_counts_the_clock_where_that_is_nearer_to_its_limit() -> None:
    assert Stop.after(100, 0.0).progress(0) == 1.0
    assert Stop.after(100, 1e6).progress(50) == 0.5


def test_a_voice_tells_only_of_what_is_better_than_all_before() -> None:
    heard: list[News] = []

    class Notes:
        def report(self, news: News) -> None:
            heard.append(news)

    voice = Voice(Notes(), "HB170", 3.0)
    for rank in ((9.0, 0.5, 4.0), (0.0, 0.0, 8.0), (0.0, 0.0, 8.0), (0.0, 0.0, 9.0), (0.0, 0.0, 7.0)):
        voice.tell("search", rank)
    assert [(news.problem, news.cost, news.bound, news.complete) for news in heard] == [
        ("HB170", 4.0, 3.0, False), ("HB170", 8.0, 3.0, True), ("HB170", 7.0, 3.0, True),
    ]  # fmt: skip


def test_the_whole_learns_of_the_clock_and_of_an_interrupt_above_all() -> None:
    whole = Stop.after(10, None)
    reasons = []
    for parts in ([StoppedBy.WORK_LIMIT], [StoppedBy.INTERRUPT, StoppedBy.TIME_LIMIT], [StoppedBy.TIME_LIMIT]):
        whole.learn([Stop(work_limit=1, reason=reason) for reason in parts])
        reasons.append(whole.reason)
    assert reasons == [StoppedBy.WORK_LIMIT, StoppedBy.INTERRUPT, StoppedBy.INTERRUPT]


def test_only_a_deadline_can_be_over() -> None:
    assert not Stop.after(0, None).late()
    assert not Stop.after(0, 1e6).late()
    assert Stop.after(0, 0.0).late()


def test_time_held_back_is_half_of_what_is_left_at_most() -> None:
    stop = Stop.after(1, 1000.0)
    stop.hold_back(100.0)
    assert 890.0 < (stop.seconds_left() or 0.0) <= 900.0
    stop.hold_back(1e6)
    assert 440.0 < (stop.seconds_left() or 0.0) <= 450.0
    unlimited = Stop.after(1, None)
    unlimited.hold_back(5.0)
    assert unlimited.seconds_left() is None
