from __future__ import annotations

import threading

import pytest

from nest.packing.team import Team, cores_here


@pytest.mark.parametrize("cores", [1, 2, 5])
def test_results_come_in_the_order_of_the_calls(cores: int) -> None:
    with Team(cores) as team:
        assert team.each([lambda n=n: n * n for n in range(7)]) == [n * n for n in range(7)]  # type: ignore[misc]
        assert team.at_once(3) == min(cores, 3)


def test_two_cores_work_at_the_same_time_and_one_does_not() -> None:
    meet = threading.Barrier(2, timeout=20.0)
    with Team(2) as team:
        # each call waits for the other one, so neither could return if they did not run at once
        assert sorted(team.each([meet.wait, meet.wait])) == [0, 1]
    seen: list[str] = []
    with Team(1) as team:
        team.each([lambda: seen.append(threading.current_thread().name)] * 2)
    assert seen == [threading.current_thread().name] * 2


def test_what_a_call_raises_is_raised() -> None:
    def fail() -> int:
        raise LookupError("of its own")

    with Team(2) as team, pytest.raises(LookupError, match="of its own"):
        team.each([fail, lambda: 1])


def test_a_process_has_a_core() -> None:
    assert cores_here() >= 1
