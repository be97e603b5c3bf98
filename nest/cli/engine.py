"""Loading the compiled engine only when a command needs it, and saying so when it has to be compiled first."""

from __future__ import annotations

import atexit
import shutil
import tempfile
from contextlib import contextmanager
from typing import TYPE_CHECKING

from nest.cli.streams import tell

if TYPE_CHECKING:
    from collections.abc import Iterator
    from types import ModuleType

COMPILING = "compiling the packing loops: once after each install, about half a minute"
NO_CACHE = "no folder can keep the compiled packing loops: compiling them for this time only, about half a minute"


class CompileNotice:
    """Hears of compilations and tells of the first; numba broadcasts none for what its cache holds."""

    def __init__(self, *, quiet: bool) -> None:
        self.text = COMPILING
        self._told = quiet

    def notify(self, _event: object) -> None:
        """Take an event of numba's event interface."""
        if not self._told:
            self._told = True
            tell(self.text)


@contextmanager
def engine(*, quiet: bool = False) -> Iterator[ModuleType]:
    """Yield `nest.pipeline`; unless ``quiet``, a compilation meanwhile is told once on standard error."""
    from numba.core import event

    notice = CompileNotice(quiet=quiet)
    event.Listener.register(CompileNotice)
    with event.install_listener("numba:compile", notice):
        try:
            from nest import pipeline
        except RuntimeError as fault:
            if "cannot cache" not in str(fault):
                raise
            _cache_for_this_run()
            notice.text = NO_CACHE
            from nest import pipeline
        yield pipeline


def _cache_for_this_run() -> None:
    """Let numba keep its files in a temporary folder: it refuses to load where it finds no place for them."""
    from numba.core import config

    folder = tempfile.mkdtemp(prefix="nest-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    vars(config)["CACHE_DIR"] = folder
