"""Reading an input file as bytes or text: every way that can fail is one clear fault."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from nest.intake.faults import FaultList

MAX_BYTES = 64 * 1024 * 1024
BOM = b"\xef\xbb\xbf"
UTF16_MARKS = (b"\xff\xfe", b"\xfe\xff")
ZIP_MARK = b"PK\x03\x04"
OLE_MARK = b"\xd0\xcf\x11\xe0"
"""First bytes of compound files: spreadsheets of the older kind, and password-protected ones."""


def read_bytes(path: Path, faults: FaultList) -> bytes | None:
    """Return the content of a regular, non-empty file, or None after noting why not."""
    data = None
    try:
        problem = _problem(path)
        if problem is None:
            data = path.read_bytes()
            if not data.removeprefix(BOM).strip():
                problem = "the file is empty", "give a file with content"
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        problem = f"cannot be read ({reason})", "check the path and who may read the file"
    if problem is not None:
        faults.add(rule=problem[0], remedy=problem[1])
        return None
    return data


def _problem(path: Path) -> tuple[str, str] | None:
    """Return why a path is no file to read, as rule and remedy."""
    if path.is_dir():
        return "must be a file; got a folder", "give the path of the file"
    if not path.exists():
        return "no such file", "check the path and the spelling"
    if not path.is_file():
        return "must be a regular file", "save the data to a file first"
    if path.stat().st_size > MAX_BYTES:
        return f"must be at most {MAX_BYTES // 1024**2} MB", "split the file or remove what is not data"
    return None


def decode(data: bytes, faults: FaultList, remedy: str) -> str | None:
    """Return UTF-8 text without its byte order mark, or None after noting why it is none."""
    got = None
    if data.startswith(UTF16_MARKS):
        got = "UTF-16 text"
    elif data.startswith(ZIP_MARK):
        got, remedy = "a workbook or an archive", "name a workbook .xlsx, or save it as text"
    elif data.startswith(OLE_MARK):
        got, remedy = "a workbook of the older kind or a locked one", "save it as .xlsx or as text"
    elif b"\x00" in data:
        got = "a binary file"
    if got is not None:
        faults.add(rule="must be UTF-8 text", got=got, remedy=remedy)
        return None
    try:
        return data.removeprefix(BOM).decode("utf-8")
    except UnicodeDecodeError as error:
        faults.add(
            line=_line_of(data, error.start),
            rule="must be UTF-8 text",
            got=f"byte 0x{data[error.start]:02x}",
            remedy=remedy,
        )
    return None


def _line_of(data: bytes, offset: int) -> int:
    before = data[:offset].replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    return before.count(b"\n") + 1
