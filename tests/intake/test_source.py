from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest

from nest.intake import source
from nest.intake.faults import FaultList
from nest.intake.source import decode, read_bytes

if TYPE_CHECKING:
    from pathlib import Path


def refusal(path: Path) -> str:
    faults = FaultList(path.name)
    assert read_bytes(path, faults) is None
    (fault,) = faults.in_order()
    return str(fault)


def test_a_missing_file_a_folder_and_an_empty_file_are_one_fault_each(tmp_path: Path) -> None:
    (tmp_path / "empty.csv").write_bytes(b"")
    (tmp_path / "blank.csv").write_bytes(b"\xef\xbb\xbf \r\n\n")
    assert refusal(tmp_path / "none.csv") == "none.csv: no such file; check the path and the spelling"
    assert refusal(tmp_path) == f"{tmp_path.name}: must be a file; got a folder; give the path of the file"
    assert refusal(tmp_path / "empty.csv") == "empty.csv: the file is empty; give a file with content"
    assert refusal(tmp_path / "blank.csv") == "blank.csv: the file is empty; give a file with content"


def test_a_pipe_is_refused_instead_of_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.csv")
    assert refusal(tmp_path / "pipe.csv") == "pipe.csv: must be a regular file; save the data to a file first"


def test_a_file_that_cannot_be_opened_says_why(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "jobs.csv"
    path.write_text("x")

    def locked(self: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(type(path), "read_bytes", locked)
    assert refusal(path) == "jobs.csv: cannot be read (Permission denied); check the path and who may read the file"


def test_a_path_no_file_system_takes_is_a_fault(tmp_path: Path) -> None:
    assert "cannot be read" in refusal(tmp_path / ("x" * 5000))
    assert refusal(tmp_path / "a\x00b").count(";") == 1


def test_the_size_limit_counts_to_the_byte(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(source, "MAX_BYTES", 4)
    (tmp_path / "four").write_bytes(b"abcd")
    (tmp_path / "five").write_bytes(b"abcde")
    assert read_bytes(tmp_path / "four", FaultList("four")) == b"abcd"
    assert "must be at most" in refusal(tmp_path / "five")


@pytest.mark.parametrize("data", [b"Caf\xc3\xa9", b"\xef\xbb\xbfCaf\xc3\xa9"])
def test_utf8_is_read_with_and_without_its_mark(data: bytes) -> None:
    assert decode(data, FaultList("f"), "save it") == "Café"


@pytest.mark.parametrize(
    ("data", "text"),
    [
        (b"a\r\nb\rCaf\xe9", "f:3: must be UTF-8 text; got byte 0xe9; save it"),
        ("a,b".encode("utf-16"), "f: must be UTF-8 text; got UTF-16 text; save it"),
        (b"a\x00b", "f: must be UTF-8 text; got a binary file; save it"),
        (
            b"PK\x03\x04xx",
            "f: must be UTF-8 text; got a workbook or an archive; name a workbook .xlsx, or save it as text",
        ),
        (
            b"\xd0\xcf\x11\xe0x",
            "f: must be UTF-8 text; got a workbook of the older kind or a locked one; save it as .xlsx or as text",
        ),
    ],
)
def test_other_encodings_are_one_fault_with_what_to_do(data: bytes, text: str) -> None:
    faults = FaultList("f")
    assert decode(data, faults, "save it") is None
    assert [str(fault) for fault in faults.in_order()] == [text]
