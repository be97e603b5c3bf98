"""Loading the compiled engine only when a command needs it, and saying so when it has to be compiled first."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING

from nest.cli.streams import tell

if TYPE_CHECKING:
    from collections.abc import Iterator
    from types import ModuleType

COMPILING = "compiling the packing loops: once after each install, about a minute"
NO_CACHE = "compiling the packing loops, about a minute each time: no folder can keep them"


class CompileNotice:
    """Hears of compilations and tells of the first; numba broadcasts none for what its cache holds."""

    def __init__(self, *, quiet: bool, words: str = COMPILING) -> None:
        self._told = quiet
        self._words = words

    def notify(self, _event: object) -> None:
        """Take an event of numba's event interface."""
        if self._told:
            return
        from nest.packing.kernels import compiling

        self._told = True
        tell(NO_CACHE if compiling.cache_folder() is None else self._words)


@contextmanager
def compilation_told(*, quiet: bool = False, words: str = COMPILING) -> Iterator[None]:
    """Tell a compilation meanwhile once on standard error, unless ``quiet``."""
    from numba.core import event

    event.Listener.register(CompileNotice)
    with event.install_listener("numba:compile", CompileNotice(quiet=quiet, words=words)):
        yield


@contextmanager
def engine(*, quiet: bool = False) -> Iterator[ModuleType]:
    """Yield `nest.pipeline`; unless ``quiet``, a compilation meanwhile is told once on standard error."""
    with compilation_told(quiet=quiet):
        from nest import pipeline

        yield pipeline
