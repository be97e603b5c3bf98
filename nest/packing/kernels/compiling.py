"""The decorator of all compiled loops: compiled once, kept in a folder named after the loops' own source.

Numba keys its cache by one function's file alone, so an edit in a called function of another file would go unseen,
in a new release as well as on a developer's machine. A folder named by the digest of all sources cannot be stale.
"""

from __future__ import annotations

import hashlib
import os
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numba
from numba import njit

if TYPE_CHECKING:
    from collections.abc import Callable

HERE = Path(__file__).parent


@cache
def cache_folder() -> Path | None:
    """Return a folder for the compiled loops, beside them or in the user's cache, or None where neither is writable."""
    # bounds checks (NUMBA_BOUNDSCHECK) are compiled into the loops, so loops with and without them are kept apart
    digest = hashlib.sha256(f"{numba.__version__} {vars(numba.config)['BOUNDSCHECK']}".encode())
    for source in sorted(HERE.glob("*.py")):
        digest.update(source.name.encode() + b"\0" + source.read_bytes())
    name = f"loops-{digest.hexdigest()[:16]}"
    homes = [HERE / "__pycache__"]
    if os.environ.get("XDG_CACHE_HOME") or os.environ.get("HOME"):
        homes.append(Path(os.environ.get("XDG_CACHE_HOME") or Path(os.environ["HOME"]) / ".cache") / "nest")
    for home in homes:
        folder = home / name
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError:
            continue
        if os.access(folder, os.W_OK):
            return folder
    return None


def kept() -> bool:
    """Return whether the loops need no compiling: they were compiled before, or are switched to plain Python."""
    folder = cache_folder()
    last = "*/price.price_bins-*.nbi"  # compiled only after all it calls
    return bool(vars(numba.config)["DISABLE_JIT"]) or (folder is not None and any(folder.glob(last)))


def compiled(*, inline: bool = False) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Return the decorator: no-python mode, no fast maths, no lock held; ``inline`` puts the body into each caller."""

    def wrap(function: Callable[..., Any]) -> Callable[..., Any]:
        folder = cache_folder()
        options: dict[str, Any] = {"nogil": True, **({"inline": "always"} if inline else {})}
        if folder is None:
            plain: Callable[..., Any] = njit(**options)(function)
            return plain
        settings = vars(numba.config)
        before = settings["CACHE_DIR"]
        settings["CACHE_DIR"] = str(folder)
        try:
            kept: Callable[..., Any] = njit(cache=True, **options)(function)
            return kept
        finally:
            settings["CACHE_DIR"] = before

    return wrap
