from __future__ import annotations

from typing import TYPE_CHECKING

from tests.weeks import nest, planned

if TYPE_CHECKING:
    from pathlib import Path

    import pytest


def test_two_plans_are_compared_by_folder_or_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = planned(capsys, tmp_path)
    code, text, err = nest(capsys, "compare", str(out), str(out / "plan.json"))
    assert (code, err) == (0, "")
    assert text.startswith(f"A  {out} (plan ")
    assert f"\nB  {out}/plan.json (plan " in text
    assert " 0 on another, 0 new, 0 gone\n" in text


def test_the_comparison_is_also_written_as_a_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out, page = planned(capsys, tmp_path), tmp_path / "new" / "compare.html"
    code, _, err = nest(capsys, "compare", str(out), str(out), "--html", str(page))
    assert (code, err) == (0, f"written to {page}\n")
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_a_page_never_overwrites_a_plan_or_a_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = planned(capsys, tmp_path)
    before = (out / "plan.json").read_bytes()
    code, text, err = nest(capsys, "compare", str(out), str(out), "--html", str(out / "plan.json"))
    assert (code, text) == (2, "")
    assert err == (
        f"{out}/plan.json: is one of the plans and would be overwritten; choose another file with --html\n"
    )
    assert (out / "plan.json").read_bytes() == before
    code, _, err = nest(capsys, "compare", str(out), str(out), "--html", str(out))
    assert (code, err) == (2, f"{out}: is a folder; give a file such as {out}/compare.html with --html\n")


def test_a_plan_that_is_not_there_is_an_input_error(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = planned(capsys, tmp_path)
    code, text, err = nest(capsys, "compare", str(out), str(tmp_path / "no.json"))
    assert (code, text) == (2, "")
    assert "the plan file must exist" in err
