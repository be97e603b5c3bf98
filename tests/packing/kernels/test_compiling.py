from __future__ import annotations

from typing import TYPE_CHECKING

import numba

from nest.packing.kernels import compiling

if TYPE_CHECKING:
    from pathlib import Path

    import pytest


def test_loops_with_bounds_checks_are_kept_apart_from_those_without(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    # numba's own keys leave the setting out: one folder for both would mix them
    monkeypatch.setattr(compiling, "HERE", tmp_path)
    named: list[Path] = []
    for setting in (None, 1, None):
        monkeypatch.setattr(numba.config, "BOUNDSCHECK", setting)
        folder = compiling.cache_folder.__wrapped__()
        assert folder is not None
        named.append(folder)
    assert all(folder.is_dir() for folder in named)
    assert named[0] == named[2] != named[1]
