"""The timetable's bench works: a miniature. It measures nothing here."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from tests.bench.timetable import main, rooms

if TYPE_CHECKING:
    import pytest


def test_every_room_of_the_bench_gives_a_checked_timetable(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--plates", "3", "--seeds", "1", "--effort", "0.01"]) == 0
    out = capsys.readouterr().out
    assert re.search(rf"^{len(rooms())} batches of 3: .*; violations 0$", out, re.MULTILINE)
