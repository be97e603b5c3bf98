"""Standard output and standard error: results to the one, progress and warnings to the other."""

from __future__ import annotations

import errno
import io
import os
import sys
from contextlib import suppress

import click

from nest.errors import OutputError


def ready_streams() -> None:
    """Make both streams print any text: what their encoding cannot show becomes a question mark."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def show(text: str) -> None:
    """Print a result, which ends in its own newline.

    Raises
    ------
    OutputError
        If standard output cannot be written. A reader that has gone is no fault: the rest is dropped.
    """
    _print(text)


def show_exact(text: str) -> None:
    """Print a document as UTF-8 whatever the terminal's encoding.

    Raises
    ------
    OutputError
        As for `show`.
    """
    _print(text.encode("utf-8"))


def _print(text: str | bytes) -> None:
    try:
        click.echo(text, nl=False)
    except OSError as fault:
        # what is still in the buffer must not fail once more when Python closes the stream
        with suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        if fault.errno == errno.EPIPE:
            return
        reason = fault.strerror or str(fault)
        raise OutputError(f"standard output: cannot write: {reason}; free some space or send it elsewhere") from fault


def tell(text: str) -> None:
    """Print progress, a warning or an error; a standard error that cannot be written changes nothing."""
    with suppress(OSError, ValueError):
        click.echo(text, err=True)


def tell_from_signal(text: str) -> None:
    """Print from a signal handler, where the buffered stream may be in use."""
    with suppress(OSError):
        os.write(2, f"{text}\n".encode())
