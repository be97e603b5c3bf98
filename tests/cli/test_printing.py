"""nest print: what it writes, what it refuses."""

from __future__ import annotations

import builtins
from typing import TYPE_CHECKING, Any

import pytest

from tests.weeks import ROOM, WORK, nest, week

if TYPE_CHECKING:
    from pathlib import Path

pdfium = pytest.importorskip("pypdfium2")
ezdxf = pytest.importorskip("ezdxf")
pytest.importorskip("reportlab")


@pytest.fixture
def plan(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    room = ROOM + '[guides]\npaper = "a4"\n'
    assert nest(capsys, "plan", *week(tmp_path, room=room), "--out", str(tmp_path / "out"), *WORK)[0] == 0
    return tmp_path / "out" / "plan.json"


def test_guides_and_drawings_are_written_and_told(plan: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pdf, dxf = plan.parent / "print" / "all.pdf", plan.parent / "knife"
    code, out, err = nest(capsys, "print", str(plan), "--pdf", str(pdf), "--dxf", str(dxf))
    assert (code, err) == (0, "")
    names = sorted(path.name for path in dxf.iterdir())
    assert out == (
        f"{pdf}: print at 100 %, then measure the 100 mm line at the foot of a page\n"
        f"{dxf}: {len(names)} drawings, DXF R2010 in mm\n"
    )
    assert "S01-A-finish.dxf" in names
    assert "S01-A-finish-base.dxf" in names
    with pdfium.PdfDocument(pdf) as document:
        sizes = {tuple(sorted(round(side / 72 * 25.4) for side in page.get_size())) for page in document}
        assert sizes == {(210, 297)}
        titles = [entry.get_title() for entry in document.get_toc()]
    for start in ("CUTTING GUIDE S01", "RAW CUTTING S01, print", "RAW CUTTING S01, base", "LOADING CARD S01-A",
                  "FINISH CUTTING S01-A"):  # fmt: skip
        assert any(title.startswith(start) for title in titles), start


def test_views_sheets_and_sides_can_be_chosen(plan: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pdf = plan.parent / "some.pdf"
    chosen = ("--view", "load", "--sheet", "S01", "--side", "base")
    code, _, err = nest(capsys, "print", str(plan), "--pdf", str(pdf), *chosen)
    assert (code, err) == (0, "")
    with pdfium.PdfDocument(pdf) as document:
        assert {entry.get_title().split(" S01")[0] for entry in document.get_toc()} == {"LOADING CARD"}
        assert all("base side" in entry.get_title() for entry in document.get_toc())


def test_tiles_and_full_size_pages(plan: Path, capsys: pytest.CaptureFixture[str]) -> None:
    counts = {}
    for size in ("fit", "tiles", "full"):
        pdf = plan.parent / f"{size}.pdf"
        assert nest(capsys, "print", str(plan), "--pdf", str(pdf), "--size", size, "--view", "finish")[0] == 0
        with pdfium.PdfDocument(pdf) as document:
            counts[size] = len(document)
    assert counts["fit"] == counts["full"] < counts["tiles"]


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ((), "give --pdf FILE, --dxf DIR or both"),
        (("--pdf", "x.pdf", "--sheet", "S99"),
         "--sheet: must be a sheet of the plan; got S99; choose among S01\n\n1 fault, nothing written"),
        (("--pdf", "x.pdf", "--size", "large"), "'large' is not one of 'fit', 'tiles', 'full'"),
    ],
)  # fmt: skip
def test_wrong_use_is_told_and_writes_nothing(
    options: tuple[str, ...], message: str, plan: Path, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.chdir(plan.parent)
    code, out, err = nest(capsys, "print", str(plan), *options)
    assert (code, out) == (2, "")
    assert message.replace("\n\n", "\n") in err
    assert not (plan.parent / "x.pdf").exists()


def test_without_inputs_beside_the_plan_nothing_is_printed(plan: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (plan.parent / "inputs.json").unlink()
    code, out, err = nest(capsys, "print", str(plan), "--pdf", str(plan.parent / "x.pdf"))
    assert (code, out) == (2, "")
    assert "the inputs of the plan must stand beside it" in err


@pytest.mark.parametrize(("library", "option", "extra"), [("reportlab", "--pdf", "pdf"), ("ezdxf", "--dxf", "dxf")])
def test_a_missing_extra_is_one_error_with_the_line_to_install_it(
    library: str, option: str, extra: str, plan: Path, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    real = builtins.__import__

    def gone(name: str, *more: Any, **named: Any) -> Any:
        if name.startswith(library):
            raise ModuleNotFoundError(name)
        return real(name, *more, **named)

    monkeypatch.setattr(builtins, "__import__", gone)
    code, out, err = nest(capsys, "print", str(plan), option, str(plan.parent / "x"))
    assert (code, out) == (2, "")
    assert library in err
    assert f".venv/bin/pip install '.[{extra}]'" in err
    assert not (plan.parent / "x").exists()


def test_a_file_that_cannot_be_written_names_its_own_option(plan: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (plan.parent / "x.pdf").mkdir()
    code, _, err = nest(capsys, "print", str(plan), "--pdf", str(plan.parent / "x.pdf"))
    assert code == 2
    assert "with --pdf" in err


def test_a_plan_never_depends_on_how_guides_are_drawn(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = set()
    for name, more in (("a", ""), ("b", '[guides]\ndatum = "top-right"\npaper = "letter"\nsides = "base"\n')):
        folder = tmp_path / name
        folder.mkdir()
        assert nest(capsys, "plan", *week(folder, room=ROOM + more), "--out", str(folder / "out"), *WORK)[0] == 0
        found.add((folder / "out" / "plan.json").read_text())
    assert len(found) == 1
