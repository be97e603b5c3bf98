"""DXF read back by ezdxf: version, units, layers, lengths."""

from __future__ import annotations

import builtins
import io
from dataclasses import replace
from typing import Any

import pytest

from nest.domain.plan import CutStage
from nest.errors import MissingExtra
from nest.output.dxf import CUTTING, IMAGE, OUTLINE, TEXT, dxf_files
from nest.output.views.facing import Side, plate_seen
from tests.output import sample_plans as samples

ezdxf = pytest.importorskip("ezdxf")


def read(text: str) -> Any:
    return ezdxf.read(io.StringIO(text))


def files(plan: Any, sides: tuple[Side, ...] = (Side.PRINT,), sheets: list[str] | None = None) -> dict[str, str]:
    return dxf_files(plan, samples.room(), samples.rows_of(plan), sides, sheets)


def boxes(document: Any, layer: str) -> list[tuple[float, float, float, float]]:
    """Lower left corner and size of each closed contour of a layer."""
    found = []
    for contour in document.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]'):
        assert contour.closed
        xs, ys = zip(*[point[:2] for point in contour.get_points()], strict=True)
        found.append((min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)))
    return found


@pytest.mark.parametrize("plan", [samples.week(), samples.small(), samples.hostile(), samples.extreme()])
def test_every_drawing_is_r2010_in_mm_with_named_layers_and_no_fault(plan: Any) -> None:
    made = files(plan, tuple(Side))
    assert made
    for name, text in made.items():
        document = read(text)
        # AC1024 is R2010; $INSUNITS 4 is millimetres, $MEASUREMENT 1 metric (DXF reference, from memory)
        assert document.dxfversion == "AC1024"
        assert document.header["$INSUNITS"] == 4
        assert document.header["$MEASUREMENT"] == 1
        assert {CUTTING, OUTLINE, IMAGE, TEXT} <= {layer.dxf.name for layer in document.layers}
        assert not document.audit().errors, name
        used = {entity.dxf.layer for entity in document.modelspace()}
        assert used <= {CUTTING, OUTLINE, IMAGE, TEXT}


@pytest.mark.parametrize("side", Side)
def test_contours_have_the_size_and_place_of_the_pieces(side: Side) -> None:
    plan = samples.week()
    made = files(plan, (side,))
    tail = "-base" if side is Side.BASE else ""
    for sheet in plan.sheets:
        for index, plate in enumerate(sheet.plates):
            if f"{plate.id}-finish{tail}.dxf" not in made:
                continue
            document = read(made[f"{plate.id}-finish{tail}.dxf"])
            seen = plate_seen(sheet, index, side)
            wanted = [(p.rect.x, p.rect.y, p.rect.w, p.rect.h) for p in seen.plates[0].pieces]
            assert sorted(boxes(document, CUTTING)) == [pytest.approx(box) for box in sorted(wanted)]
            assert boxes(document, OUTLINE) == [pytest.approx((0, 0, plate.across_mm, plate.around_mm))]
            assert len(boxes(document, IMAGE)) == len(plate.pieces)


def test_raw_cuts_are_lines_of_their_length_in_cutting_order() -> None:
    sheet = samples.week().sheets[2]
    document = read(files(samples.week())["S03-raw.dxf"])
    lines = [
        (*line.dxf.start.vec2, *line.dxf.end.vec2) for line in document.modelspace().query(f'LINE[layer=="{CUTTING}"]')
    ]
    raw = [cut for cut in sheet.cuts if cut.stage is CutStage.RAW]
    assert lines == [pytest.approx((cut.x1, cut.y1, cut.x2, cut.y2)) for cut in raw]


def test_only_the_sheets_asked_for_are_drawn_and_hostile_ids_make_safe_names() -> None:
    assert set(files(samples.week(), sheets=["S04"])) == {"S04-A-finish.dxf"}
    # S02 is cut like S01, so its drawing is that of S01.
    assert set(files(samples.week(), sheets=["S02"])) == {"S01-raw.dxf", "S01-A-finish.dxf"}
    assert set(files(samples.hostile())) == {"S01-A_b_-finish.dxf"}


def test_texts_name_the_pieces() -> None:
    document = read(files(samples.small())["S01-A-finish.dxf"])
    words = {text.dxf.text for text in document.modelspace().query("TEXT")}
    assert "3 job 2419 Green tab" in words


def test_an_outline_is_cut_along_its_corners() -> None:
    plan = samples.small()
    sheet = plan.sheets[0]
    plate = sheet.plates[0]
    corners = ((10.0, 12.0), (210.0, 12.0), (10.0, 216.0))
    piece = replace(plate.pieces[0], outline=corners)
    plan = replace(plan, sheets=(replace(sheet, plates=(replace(plate, pieces=(piece,)),)),))
    (contour,) = read(files(plan)["S01-A-finish.dxf"]).modelspace().query(f'LWPOLYLINE[layer=="{CUTTING}"]')
    assert [tuple(point[:2]) for point in contour.get_points()] == [pytest.approx(corner) for corner in corners]


def test_without_the_library_the_error_says_how_to_install_it(monkeypatch: pytest.MonkeyPatch) -> None:
    real = builtins.__import__

    def gone(name: str, *more: Any, **named: Any) -> Any:
        if name.startswith("ezdxf"):
            raise ModuleNotFoundError(name)
        return real(name, *more, **named)

    monkeypatch.setattr(builtins, "__import__", gone)
    with pytest.raises(MissingExtra, match=r"pip install '\.\[dxf\]'"):
        files(samples.small())
