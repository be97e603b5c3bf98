from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

from nest.cli.engine import COMPILING, NO_CACHE, CompileNotice, engine
from nest.packing.kernels import compiling

if TYPE_CHECKING:
    import pytest

FRESH = """
import numba
@numba.njit
def twice(x):
    return 2 * x
from nest.cli.engine import engine
with engine(quiet=%s):
    twice(1); twice(1.0); twice(2)
twice(1j)
"""


def test_the_engine_is_the_pipeline_and_says_nothing_when_it_is_compiled(
    capsys: pytest.CaptureFixture[str],
) -> None:
    with engine() as pipeline:
        assert pipeline.make_plan
    assert capsys.readouterr() == ("", "")


def test_a_compilation_is_told_once_while_the_engine_is_in_use() -> None:
    for quiet, told in ((False, COMPILING + "\n"), (True, "")):
        done = subprocess.run([sys.executable, "-c", FRESH % quiet], capture_output=True, text=True, check=True)
        assert (done.stdout, done.stderr) == ("", told)


def test_where_no_folder_keeps_the_loops_that_is_told_instead(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(compiling, "cache_folder", lambda: None)
    notice = CompileNotice(quiet=False)
    notice.notify(object())
    notice.notify(object())
    assert capsys.readouterr() == ("", NO_CACHE + "\n")
