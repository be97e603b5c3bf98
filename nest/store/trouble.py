"""What can be wrong with the ledger's file, in words: SQLite's errors as one clear error each."""

from __future__ import annotations

import sqlite3
from contextlib import contextmanager
from typing import TYPE_CHECKING

from nest.errors import StockError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

NOTHING = "nothing has been changed"
_WORDS = {
    "SQLITE_BUSY": ("is in use by another program", "wait until that is done and try again"),
    "SQLITE_LOCKED": ("is in use by another program", "wait until that is done and try again"),
    "SQLITE_READONLY": ("cannot be written", "get the right to write the file and its folder"),
    "SQLITE_PERM": ("cannot be written", "get the right to write the file and its folder"),
    "SQLITE_CANTOPEN": ("cannot be opened", "check that the file and its folder may be read and written"),
    "SQLITE_FULL": ("the disk is full", "free some space and try again"),
    "SQLITE_IOERR": ("the disk cannot be written or read", "free some space, check the disk, and try again"),
    "SQLITE_CORRUPT": ("is damaged", "go back to the last backup (nest stock backup makes them)"),
    "SQLITE_NOTADB": ("is no ledger", "give the path of a ledger that nest stock start made"),
    "SQLITE_TOOBIG": ("a text is too long", "shorten it"),
}
_OURS = "SQLITE_CONSTRAINT"


def explained(path: Path, fault: sqlite3.Error) -> StockError:
    """Return an error of SQLite as ours: the file, what is wrong, what to do."""
    name = str(getattr(fault, "sqlite_errorname", ""))
    if name.startswith(_OURS):
        return StockError(f"{path}: {fault}; {NOTHING}")
    for known, (what, remedy) in _WORDS.items():
        if name.startswith(known):
            return StockError(f"{path}: {what} ({fault}); {remedy}; {NOTHING}")
    return StockError(f"{path}: {fault} ({name or type(fault).__name__}); check the file; {NOTHING}")


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Turn every error of SQLite inside the block into a `StockError`."""
    try:
        yield
    except sqlite3.Error as fault:
        raise explained(path, fault) from fault
