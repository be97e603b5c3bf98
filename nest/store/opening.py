"""Opening a ledger: is it one, is it whole, is its schema ours; making a new one; bringing an older one up to date.

The journal is a rollback journal (journal_mode DELETE, synchronous EXTRA), not a write-ahead log: a ledger at rest is
then one file that can be copied, it can be read from a folder that cannot be written, and no memory is shared between
processes. A plate room books a few times an hour, so the log's higher rate of writes is worth nothing here.
"""

from __future__ import annotations

import errno
import os
import sqlite3
import uuid
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from nest.errors import StockError
from nest.store.schema import APPLICATION_ID, MIGRATIONS
from nest.store.trouble import NOTHING, told

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from nest.domain.room import Unit
    from nest.store.schema import Migration

BUSY_MS = 10_000
"""How long a command waits for another one that is writing."""
OLDEST_SQLITE = (3, 37, 0)
"""The first with STRICT tables."""
MAGIC = b"SQLite format 3\0"
HEADER_BYTES = 72
NETWORK = frozenset({"nfs", "nfs4", "cifs", "smb", "smb2", "smb3", "smbfs", "9p", "afs", "ceph", "glusterfs", "lustre",
                     "gpfs", "beegfs", "ncpfs", "fuse.sshfs", "fuse.rclone", "fuse.glusterfs", "davfs", "fuse.davfs2",
                     "ocfs2", "gfs2", "vboxsf", "prl_fs", "virtiofs", "fuse.s3fs"})  # fmt: skip
"""File systems whose locks may not reach other machines."""
START = "make one with: nest stock start"


def connect(path: Path, *, busy_ms: int = BUSY_MS) -> sqlite3.Connection:
    """Return a checked connection to a ledger, its schema up to date.

    Statements run as they are given: transactions are begun and ended by `nest.store.ledger` alone.

    Raises
    ------
    StockError
        If it is missing, no ledger, damaged, of a newer nest, locked, or cannot be read; nothing has been changed.
    """
    _check_sqlite()
    _check_file(path)
    connection = _open(path, busy_ms)
    try:
        with told(path):
            _check_whole(path, connection)
            if _version(connection) < len(MIGRATIONS):
                migrate(path, connection, MIGRATIONS)
    except BaseException:
        connection.close()
        raise
    return connection


def _check_sqlite() -> None:
    if sqlite3.sqlite_version_info < OLDEST_SQLITE:
        want = ".".join(map(str, OLDEST_SQLITE))
        raise StockError(f"this Python brings SQLite {sqlite3.sqlite_version}; the ledger needs {want} or newer")


def _check_file(path: Path) -> None:
    """Check what can be told from the file alone, before SQLite touches it."""
    try:
        if path.is_dir():
            raise StockError(f"{path}: a ledger is a file; got a folder; give the path of the file")
        with path.open("rb") as stream:
            head = stream.read(HEADER_BYTES)
    except FileNotFoundError:
        raise StockError(f"{path}: no such ledger; check the path, or {START} {path}") from None
    except (OSError, ValueError) as fault:
        reason = getattr(fault, "strerror", None) or str(fault)
        raise StockError(f"{path}: cannot be read: {reason}; check the path and who may read the file") from fault
    if not head.startswith(MAGIC) or len(head) < HEADER_BYTES:
        got = "an empty file" if not head else "another program's file"
        raise StockError(f"{path}: is no ledger; got {got}; give the path of a ledger, or {START} with a new path")
    if int.from_bytes(head[68:72], "big") != APPLICATION_ID:
        raise StockError(f"{path}: is no ledger; got another program's database; {NOTHING}")


def _open(path: Path, busy_ms: int) -> sqlite3.Connection:
    mode = "rw" if os.access(path, os.W_OK) else "ro"
    with told(path):
        connection = sqlite3.connect(
            f"{path.absolute().as_uri()}?mode={mode}", uri=True, timeout=busy_ms / 1000, isolation_level=None
        )
        try:
            for pragma in (
                "foreign_keys = ON",
                "recursive_triggers = ON",
                "synchronous = EXTRA",
                "trusted_schema = OFF",
            ):
                connection.execute(f"PRAGMA {pragma}")
            if mode == "rw" and connection.execute("PRAGMA journal_mode").fetchone()[0] != "delete":
                connection.execute("PRAGMA journal_mode = DELETE")
        except BaseException:
            connection.close()
            raise
    return connection


def _version(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def _check_whole(path: Path, connection: sqlite3.Connection) -> None:
    version = _version(connection)
    if version > len(MIGRATIONS):
        raise StockError(
            f"{path}: was written by a newer nest (schema {version}, this one knows {len(MIGRATIONS)}); "
            f"use that nest; {NOTHING}"
        )
    found = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
    if found != "ok":
        raise StockError(f"{path}: is damaged ({found}); go back to the last backup; {NOTHING}")


def migrate(path: Path, connection: sqlite3.Connection, migrations: Sequence[Migration]) -> None:
    """Bring an older ledger up to date, a backup beside it before each step.

    Raises
    ------
    StockError
        If a step or its backup fails; the ledger is as it was before that step.
    """
    while (version := _version(connection)) < len(migrations):
        step = migrations[version]
        backup(connection, path.with_name(f"{path.name}.before-{step.name.replace(' ', '-')}.bak"), replace=True)
        with told(path):
            connection.execute("BEGIN IMMEDIATE")
            try:
                # another process may have done it meanwhile
                if _version(connection) == version:
                    for statement in (*step.statements, f"PRAGMA user_version = {version + 1}"):
                        connection.execute(statement)
                connection.execute("COMMIT")
            except BaseException:
                if connection.in_transaction:
                    connection.execute("ROLLBACK")
                raise


def backup(connection: sqlite3.Connection, target: Path, *, replace: bool = False) -> None:
    """Copy a ledger, while others may use it, to a file that is whole or not there at all.

    Raises
    ------
    StockError
        If the target exists already (unless ``replace``) or cannot be written.
    """
    if target.exists() and not replace:
        raise StockError(f"{target}: exists already; give the backup a name of its own; nothing has been written")
    draft = target.with_name(f".nest-{os.getpid()}-{target.name}.part")
    try:
        with told(target):
            copy = sqlite3.connect(draft, isolation_level=None)
            try:
                connection.backup(copy)
                found = copy.execute("PRAGMA integrity_check(1)").fetchone()[0]
            finally:
                copy.close()
        if found != "ok":
            raise StockError(f"{target}: the copy is damaged ({found}); check the disk; nothing has been written")
        _settle(draft, target, replace=replace)
    finally:
        with suppress(OSError):
            draft.unlink()


def create(path: Path, unit: Unit, currency: str, fill: Callable[[Path], None] | None = None) -> None:
    """Make a new ledger; a file that is there already is left alone.

    ``fill`` is given the ledger's draft to book into before it gets its name: where that fails, there is no ledger.

    Raises
    ------
    StockError
        If the path is taken or cannot be written.
    """
    _check_sqlite()
    if path.exists() or path.is_symlink():
        raise StockError(f"{path}: exists already; give a path of its own to a new ledger; {NOTHING}")
    draft = path.with_name(f".nest-{os.getpid()}-{path.name}.part")
    try:
        with told(path):
            fresh = sqlite3.connect(draft, isolation_level=None)
            try:
                fresh.execute(f"PRAGMA application_id = {APPLICATION_ID}")
                fresh.execute("PRAGMA synchronous = EXTRA")
                fresh.execute("BEGIN IMMEDIATE")
                for number, step in enumerate(MIGRATIONS, 1):
                    for statement in (*step.statements, f"PRAGMA user_version = {number}"):
                        fresh.execute(statement)
                fresh.execute(
                    "INSERT INTO ledger (one, id, unit, currency) VALUES (1, ?, ?, ?)",
                    (uuid.uuid4().hex, unit.value, currency),
                )
                fresh.execute("COMMIT")
            finally:
                fresh.close()
        if fill is not None:
            fill(draft)
        _settle(draft, path, replace=False)
    finally:
        with suppress(OSError):
            draft.unlink()


def _settle(draft: Path, target: Path, *, replace: bool) -> None:
    """Give a finished file its name; one that somebody made meanwhile is not overwritten unless ``replace``."""
    try:
        with draft.open("rb") as stream:
            os.fsync(stream.fileno())
        if replace:
            os.replace(draft, target)
            return
        try:
            os.link(draft, target)
        except FileExistsError:
            raise
        except OSError:
            # no hard links here: the gap between the two steps is all that can be had
            if target.exists():
                raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(target)) from None
            os.rename(draft, target)
    except OSError as fault:
        raise StockError(f"{target}: cannot be written: {fault.strerror}; choose another path; {NOTHING}") from fault


def network_warning(path: Path, mounts: Path = Path("/proc/mounts")) -> str | None:
    """Return a warning where a ledger lies on a file system of another machine, as far as the system says so."""
    kind = file_system(path, mounts)
    if kind not in NETWORK:
        return None
    return (
        f"{path}: lies on a network file system ({kind}): locks may not reach other machines and two programs could "
        "damage the ledger; keep it on a disk of this machine and share reports or backups"
    )


def file_system(path: Path, mounts: Path = Path("/proc/mounts")) -> str | None:
    """Return the type of the file system a path lies on, None where the system does not say."""
    try:
        table = mounts.read_text(encoding="utf-8", errors="replace")
        place = str(path.absolute().parent.resolve())
    except OSError:
        return None
    best: tuple[int, str | None] = (-1, None)
    for line in table.splitlines():
        fields = line.split(" ")
        if len(fields) < 3:
            continue
        point = fields[1].encode("latin-1", "replace").decode("unicode_escape", "replace")
        inside = place == point or place.startswith(point.rstrip("/") + "/")
        # a later mount on the same point hides the earlier one
        if inside and len(point) >= best[0]:
            best = (len(point), fields[2])
    return best[1]
