"""The weeks on a ledger work: a miniature. It measures nothing here."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from tests.bench.rolling import main

if TYPE_CHECKING:
    import pytest


def test_weeks_on_a_ledger_run_under_each_policy(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--weeks", "2", "--pieces", "5", "--work-limit", "2", "--policies", "nothing,keep", "--table"]) == 0
    out = capsys.readouterr().out
    assert len(re.findall(r"^[12],[1-9][0-9]*,0,", out, re.MULTILINE)) == 4
    assert re.search(
        r"^nothing .* kept 0, used 0; rack at most 0, at the end 0 worth 0.00; violations 0", out, re.MULTILINE
    )
