"""A bar on a terminal for work that comes in many equal parts."""

from __future__ import annotations

import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

from nest.cli.streams import tell

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator


@contextmanager
def bar(count: int, words: str) -> Iterator[Callable[[int, int], None]]:
    """Yield what to tell of paths done: a bar on a terminal, elsewhere one line at the beginning."""
    if not sys.stderr.isatty():
        tell(words)
        yield lambda _done, _count: None
        return
    with click.progressbar(length=count, label=words, file=sys.stderr) as shown:

        def told(done: int, _count: int) -> None:
            shown.update(done - shown.pos)

        yield told
