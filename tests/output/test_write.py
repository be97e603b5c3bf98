from __future__ import annotations

import errno
import os
from pathlib import Path
from typing import Any

import pytest

from nest.errors import OutputError
from nest.output.write import write_files

OLD = {"plan.json": "old plan\n", "guide-S01.svg": "old guide\n", "yield.csv": "old\n"}
NEW = {"plan.json": "new plan\n", "guide-S02.svg": "new guide\n", "yield.csv": "new\n"}


def content(folder: Path) -> dict[str, str]:
    return {path.name: path.read_text(encoding="utf-8") for path in sorted(folder.iterdir())}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    out = tmp_path / "out"
    write_files(out, OLD)
    assert content(out) == OLD
    return out


def test_files_are_written_into_a_folder_made_with_its_parents(tmp_path: Path) -> None:
    out = tmp_path / "a" / "b"
    write_files(out, {"plan.json": "×\n"})
    assert (out / "plan.json").read_bytes() == "×\n".encode()
    assert content(out) == {"plan.json": "×\n"}


def test_new_files_replace_old_ones_and_stale_guides_go(folder: Path) -> None:
    (folder / "notes.txt").write_text("mine\n", encoding="utf-8")
    write_files(folder, NEW)
    assert content(folder) == {**NEW, "notes.txt": "mine\n"}


def test_files_that_are_no_plan_leave_guides_alone(folder: Path) -> None:
    write_files(folder, {"report.html": "x\n"})
    assert content(folder) == {**OLD, "report.html": "x\n"}


@pytest.mark.parametrize("fail_at", [1, 2, 3])
def test_a_move_that_fails_leaves_every_old_file_whole(
    folder: Path, monkeypatch: pytest.MonkeyPatch, fail_at: int
) -> None:
    real, calls = os.replace, 0

    def replace(source: Any, target: Any) -> None:
        nonlocal calls
        if str(source).endswith(".part"):
            calls += 1
            if calls == fail_at:
                raise OSError(errno.EIO, "Input/output error", str(target))
        real(source, target)

    monkeypatch.setattr(os, "replace", replace)
    with pytest.raises(OutputError, match="untouched"):
        write_files(folder, NEW)
    assert content(folder) == OLD


def test_a_full_disk_leaves_every_old_file_whole_and_says_what_to_do(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError) as caught:
        write_files(folder, NEW)
    assert "No space left on device; free some space on this disk" in str(caught.value)
    assert content(folder) == OLD


def test_an_interrupt_between_two_moves_leaves_every_old_file_whole(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, calls = os.replace, 0

    def replace(source: Any, target: Any) -> None:
        nonlocal calls
        calls += 1
        if calls == 2:
            raise KeyboardInterrupt
        real(source, target)

    monkeypatch.setattr(os, "replace", replace)
    with pytest.raises(KeyboardInterrupt):
        write_files(folder, NEW)
    assert content(folder) == OLD


def test_stale_guides_stay_until_all_new_files_stand(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[set[str]] = []
    real = Path.unlink

    def unlink(self: Path, missing_ok: bool = False) -> None:
        if self.name == "guide-S01.svg":
            seen.append({path.name for path in folder.iterdir()})
        real(self, missing_ok)

    monkeypatch.setattr(Path, "unlink", unlink)
    write_files(folder, NEW)
    assert seen == [{*NEW, "guide-S01.svg"}]
    assert (folder / "plan.json").read_text(encoding="utf-8") == "new plan\n"


def test_a_stale_guide_that_cannot_go_is_named(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = Path.unlink

    def unlink(self: Path, missing_ok: bool = False) -> None:
        if self.name == "guide-S01.svg":
            raise PermissionError(errno.EACCES, "Permission denied", str(self))
        real(self, missing_ok)

    monkeypatch.setattr(Path, "unlink", unlink)
    with pytest.raises(OutputError, match=r"guide-S01\.svg; delete them by hand"):
        write_files(folder, NEW)


def test_a_folder_that_is_a_file_is_an_error(tmp_path: Path) -> None:
    place = tmp_path / "out"
    place.write_text("x", encoding="utf-8")
    for folder in (place, place / "deeper"):
        with pytest.raises(OutputError, match="a file stands where the folder should be"):
            write_files(folder, NEW)
    assert place.read_text(encoding="utf-8") == "x"


def test_a_folder_in_a_files_place_is_an_error_and_changes_nothing(folder: Path) -> None:
    (folder / "yield.csv").unlink()
    (folder / "yield.csv").mkdir()
    with pytest.raises(OutputError, match="a folder stands where a file should be"):
        write_files(folder, NEW)
    assert (folder / "plan.json").read_text(encoding="utf-8") == OLD["plan.json"]
    assert sorted(path.name for path in folder.iterdir()) == ["guide-S01.svg", "plan.json", "yield.csv"]


def test_a_folder_without_the_right_to_write_is_an_error(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = Path.open

    def refuse(self: Path, *args: Any, **kwargs: Any) -> Any:
        if self.name.endswith(".part"):
            raise PermissionError(errno.EACCES, "Permission denied", str(self))
        return real(self, *args, **kwargs)

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(OutputError, match="Permission denied; get the right to write there"):
        write_files(folder, NEW)
    monkeypatch.undo()
    assert content(folder) == OLD


def test_where_links_are_unknown_the_old_files_are_kept_as_copies(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_links(*_: Any) -> None:
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    write_files(folder, NEW)
    assert content(folder) == NEW


@pytest.mark.parametrize("name", ["", ".", "..", "a/b", "a\\b", "a\0b"])
def test_only_plain_file_names_are_taken(folder: Path, name: str) -> None:
    with pytest.raises(ValueError, match="plain file name"):
        write_files(folder, {name: ""})
    assert content(folder) == OLD
