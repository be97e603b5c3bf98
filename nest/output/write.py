"""Writing the files of a plan: all of them or none, the old ones whole whatever happens."""

from __future__ import annotations

import errno
import os
from contextlib import suppress
from typing import TYPE_CHECKING

from nest.errors import OutputError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

GUIDES = "guide-*.svg"
LABELS = ("labels.html", "labels-*.svg")
FORECAST = ("forecast.svg", "forecast-*.svg")
_MARK = ".nest-"


def write_files(folder: Path, files: Mapping[str, str | bytes], option: str = "--out") -> None:
    """Write files into a folder, which is made where missing.

    Every file is written in full under a temporary name first, then all are moved into place, ``plan.json`` last. When
    anything fails, the folder holds what it held before. Where the files hold a plan or its guides, guides of an
    earlier plan are removed once the new files stand; labels go with a new plan and with new labels.

    Parameters
    ----------
    folder
        Where to write.
    files
        Text or bytes by plain file name.
    option
        The option that chose the folder, for the advice in errors.

    Raises
    ------
    OutputError
        If the folder or a file in it cannot be written, with what to do.
    ValueError
        If a name is not a plain file name.
    """
    for name in files:
        if not name or name in (".", "..") or "/" in name or "\\" in name or "\0" in name:
            raise ValueError(f"not a plain file name: {name!r}")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as fault:
        raise _told(folder, fault, option) from fault
    order = sorted(files, key=lambda name: (name == "plan.json", name))
    drafts: dict[str, Path] = {}
    try:
        for number, name in enumerate(order):
            draft = folder / f"{_MARK}{os.getpid()}-{number}.part"
            drafts[name] = draft
            _write_through(draft, files[name])
        _move_all(folder, drafts)
        _sync_folder(folder)
    except OSError as fault:
        raise _told(folder, fault, option) from fault
    finally:
        for draft in drafts.values():
            with suppress(OSError):
                draft.unlink()
    _remove_stale(folder, files)


def _write_through(path: Path, content: str | bytes) -> None:
    with path.open("wb") as stream:
        stream.write(content.encode() if isinstance(content, str) else content)
        stream.flush()
        os.fsync(stream.fileno())


def _move_all(folder: Path, drafts: Mapping[str, Path]) -> None:
    """Move the drafts to their names; when one fails, put every file already replaced back."""
    kept: dict[str, Path] = {}
    moved: list[str] = []
    try:
        for number, name in enumerate(drafts):
            target = folder / name
            if target.is_dir():
                raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(target))
            if target.exists():
                spare = folder / f"{_MARK}{os.getpid()}-{number}.old"
                kept[name] = spare
                _second_name(target, spare)
        for name, draft in drafts.items():
            os.replace(draft, folder / name)
            moved.append(name)
    except BaseException:
        for name in moved:
            with suppress(OSError):
                if name in kept:
                    os.replace(kept[name], folder / name)
                else:
                    (folder / name).unlink()
        raise
    finally:
        for spare in kept.values():
            with suppress(OSError):
                spare.unlink()


def _second_name(target: Path, spare: Path) -> None:
    """Keep the old file under a second name; where the file system has no hard links, as a copy."""
    with suppress(FileNotFoundError):
        spare.unlink()
    try:
        os.link(target, spare)
    except OSError:
        spare.write_bytes(target.read_bytes())


def _sync_folder(folder: Path) -> None:
    # Some systems cannot open a folder; there the move itself is all that can be asked for.
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _remove_stale(folder: Path, files: Mapping[str, str | bytes]) -> None:
    patterns: list[str] = []
    if "plan.json" in files or any(name.startswith("guide-") and name.endswith(".svg") for name in files):
        patterns.append(GUIDES)
    if "plan.json" in files or LABELS[0] in files:
        patterns += LABELS
    if FORECAST[0] in files:
        patterns += FORECAST
    stale = sorted(path for pattern in patterns for path in folder.glob(pattern))
    left = []
    for path in stale:
        if path.name in files:
            continue
        try:
            path.unlink()
        except OSError:
            left.append(path.name)
    if left:
        raise OutputError(
            f"{folder}: the new files are written, but guides or labels of an earlier plan could not be removed: "
            f"{', '.join(left)}; delete them by hand so that nobody cuts by them"
        )


def _told(folder: Path, fault: Exception, option: str) -> OutputError:
    number = getattr(fault, "errno", None)
    why = getattr(fault, "strerror", None) or str(fault)
    place = getattr(fault, "filename", None) or folder
    remedies = {
        errno.ENOSPC: f"free some space on this disk or choose another folder with {option}",
        errno.EDQUOT: f"free some space on this disk or choose another folder with {option}",
        errno.EACCES: f"get the right to write there or choose another folder with {option}",
        errno.EPERM: f"get the right to write there or choose another folder with {option}",
        errno.EROFS: f"this disk is read-only: choose another folder with {option}",
        errno.EEXIST: f"a file stands where the folder should be: choose another folder with {option}",
        errno.ENOTDIR: f"a file stands where the folder should be: choose another folder with {option}",
        errno.EISDIR: f"a folder stands where a file should be: remove it or choose another folder with {option}",
        errno.EBUSY: "close the program that holds the file and try again",
        errno.ENAMETOOLONG: f"choose a shorter folder name with {option}",
    }
    remedy = remedies.get(number or 0, f"choose another folder with {option}")
    return OutputError(f"{place}: cannot write: {why}; {remedy}; what was there before is untouched")
