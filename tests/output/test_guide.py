from __future__ import annotations

import math
import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from collections import Counter
from dataclasses import replace
from functools import cache
from itertools import combinations
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from nest.domain.job import Need
from nest.domain.plan import CutStage, Edge, Unplaced
from nest.domain.room import Cutting, Paper, Sides, Unit
from nest.output.guide import View, drawn_guides, guide_svg, guides, plan_key, sheet_warnings, view_svg
from nest.output.patterns import patterns
from nest.output.views.facing import Side
from nest.output.views.numbering import numbered_pieces
from tests.output import sample_plans as samples

if TYPE_CHECKING:
    from nest.domain.plan import Plan, Rect

SVG = "{http://www.w3.org/2000/svg}"
GOLDEN = Path(__file__).parents[2] / "fixtures" / "golden"
ROOT = Path(__file__).parents[2]


@cache
def made(plan: Plan, unit: Unit = Unit.MM) -> dict[str, str]:
    return guides(plan, samples.room(unit), samples.rows_of(plan))


def whole(plan: Plan, unit: Unit = Unit.MM) -> list[str]:
    """The sheets at a glance, in the order of the patterns."""
    return [guide.svg() for guide in drawn_guides(plan, samples.room(unit), samples.rows_of(plan), views=[View.SHEET])]


class Page:
    """A guide read back: elements by id, and the sheet's frame found from its outline."""

    def __init__(self, text: str) -> None:
        self.root = ET.fromstring(text)
        self.by_id = {node.get("id", ""): node for node in self.root.iter() if node.get("id")}
        outline = self.by_id["sheet-outline"]
        self.left = float(outline.get("x", "nan"))
        self.bottom = float(outline.get("y", "nan")) + float(outline.get("height", "nan"))

    def rect(self, element: str) -> tuple[float, float, float, float]:
        """A rectangle in the sheet's frame."""
        x, y, w, h = (float(self.by_id[element].get(key, "nan")) for key in ("x", "y", "width", "height"))
        return x - self.left, self.bottom - y - h, w, h

    def line(self, element: str) -> tuple[float, float, float, float]:
        x1, y1, x2, y2 = (float(self.by_id[element].get(key, "nan")) for key in ("x1", "y1", "x2", "y2"))
        return x1 - self.left, self.bottom - y1, x2 - self.left, self.bottom - y2

    def texts(self, layer: str | None = None) -> list[str]:
        top = self.root if layer is None else self.by_id[layer]
        return ["".join(node.itertext()) for node in top.iter(f"{SVG}text")]


def close(got: tuple[float, ...], rect: Rect) -> bool:
    return all(math.isclose(a, b, abs_tol=2e-4) for a, b in zip(got, (rect.x, rect.y, rect.w, rect.h), strict=True))


@pytest.mark.parametrize("plan", [samples.week(), samples.small(), samples.hostile(), samples.extreme()])
def test_width_height_and_view_box_are_the_same_millimetres(plan: Plan) -> None:
    for text in made(plan).values():
        root = ET.fromstring(text)
        _, _, w, h = root.get("viewBox", "").split()
        assert (root.get("width"), root.get("height")) == (f"{w}mm", f"{h}mm")
        assert root.find(f"{SVG}title") is not None
        assert root.get("role") == "img"


@pytest.mark.parametrize("plan", [samples.week(), samples.small(), samples.hostile(), samples.extreme()])
def test_every_number_is_finite_and_every_id_unique(plan: Plan) -> None:
    numeric = {"x", "y", "x1", "x2", "y1", "y2", "width", "height", "font-size", "stroke-width", "rx"}
    for text in made(plan).values():
        root = ET.fromstring(text)
        ids = Counter(node.get("id") for node in root.iter() if node.get("id"))
        assert not [name for name, count in ids.items() if count > 1]
        for node in root.iter():
            for key in numeric & set(node.keys()):
                value = float(node.get(key, "").removesuffix("mm"))
                assert math.isfinite(value)
                if key in ("width", "height", "font-size", "stroke-width"):
                    assert value > 0


@pytest.mark.parametrize("plan", [samples.week(), samples.small(), samples.extreme()])
def test_sheet_plates_pieces_images_rests_and_cuts_are_drawn_where_the_plan_has_them(plan: Plan) -> None:
    for pattern, text in zip(patterns(plan), whole(plan), strict=True):
        page, sheet = Page(text), pattern.first
        assert page.rect("sheet-outline") == pytest.approx((0.0, 0.0, sheet.across_mm, sheet.around_mm), abs=2e-4)
        assert all(close(page.rect(f"plate-{plate.id}"), plate.rect) for plate in sheet.plates)
        assert all(close(page.rect(f"rest-{rest.id}"), rest.rect) for rest in sheet.rests)
        for number, plate_index, index in numbered_pieces(pattern):
            piece = sheet.plates[plate_index].pieces[index]
            assert close(page.rect(f"piece-{number}"), piece.rect)
            assert close(page.rect(f"image-{number}"), piece.image)
        raw = [cut for cut in sheet.cuts if cut.stage is CutStage.RAW]
        for cut in raw:
            assert page.line(f"cut-{cut.order}") == pytest.approx((cut.x1, cut.y1, cut.x2, cut.y2), abs=2e-4)
        lines = [name for name in page.by_id if re.fullmatch(r"cut-\d+", name)]
        assert len(lines) == len(raw)


def test_keep_outs_are_hatched_strips_of_their_depth() -> None:
    page = Page(made(samples.small())["guide-S01.svg"])
    assert page.rect("keep-out-S01-A-y0") == pytest.approx((0.0, 0.0, 420.0, 12.0))
    assert page.rect("keep-out-S01-A-y1") == pytest.approx((0.0, 370.0, 420.0, 10.0))
    assert page.rect("keep-out-S01-A-x0") == pytest.approx((0.0, 12.0, 10.0, 358.0))
    assert page.rect("keep-out-S01-A-x1") == pytest.approx((410.0, 12.0, 10.0, 358.0))
    assert page.by_id["keep-out-S01-A-x0"].get("fill") == "url(#keep-out-hatch)"
    assert page.by_id["keep-out-hatch"].tag == f"{SVG}pattern"


def test_the_lead_bar_lies_inside_its_plate_along_the_lead_edge() -> None:
    plan = samples.extreme()
    for pattern, text in zip(patterns(plan), whole(plan), strict=True):
        page = Page(text)
        for plate in pattern.first.plates:
            x, y, w, h = page.rect(f"lead-{plate.id}")
            rect = plate.rect
            at_edge = {
                Edge.X0: (x, rect.x), Edge.X1: (x + w, rect.x + rect.w),
                Edge.Y0: (y, rect.y), Edge.Y1: (y + h, rect.y + rect.h),
            }[plate.lead]  # fmt: skip
            assert at_edge[0] == pytest.approx(at_edge[1], abs=2e-4)
            long, length = (h, rect.h) if plate.lead in (Edge.X0, Edge.X1) else (w, rect.w)
            assert long == pytest.approx(length)
        assert sum(words.startswith("LEAD EDGE") for words in page.texts("lead-edges")) == len(pattern.first.plates)


@pytest.mark.parametrize(("turn", "direction"), [(0, (0, 1)), (90, (-1, 0)), (180, (0, -1)), (270, (1, 0))])
def test_the_arrow_points_to_the_tail(turn: int, direction: tuple[int, int]) -> None:
    # Turns run anticlockwise: at 90 the lead edge, first at the bottom, faces right, so the tail is on the left.
    plan = samples.small()
    sheet = plan.sheets[0]
    plate = sheet.plates[0]
    piece = replace(plate.pieces[0], turn=turn)
    plan = replace(plan, sheets=(replace(sheet, plates=(replace(plate, pieces=(piece,)),)),))
    x1, y1, x2, y2 = Page(made(plan)["guide-S01.svg"]).line("arrow-1")
    length = math.hypot(x2 - x1, y2 - y1)
    assert length > 5.0
    assert ((x2 - x1) / length, (y2 - y1) / length) == pytest.approx(direction, abs=1e-6)


def table_rows(page: Page, title: str) -> list[list[str]]:
    """Rows of a table of the title block: texts that share a base line, below the title in the same or next columns."""
    nodes = list(page.by_id["title-block"].iter(f"{SVG}text"))
    start = next(n for n, node in enumerate(nodes) if "".join(node.itertext()).startswith(title))
    rows: list[list[str]] = []
    last = None
    for node in nodes[start + 1 :]:
        if node.get("font-size") != nodes[start + 1].get("font-size"):
            break
        here = node.get("y")
        if here != last:
            rows.append([])
        rows[-1].append("".join(node.itertext()))
        last = here
    return rows[1:]


def test_the_piece_table_has_the_full_data_of_every_piece() -> None:
    plan = samples.week()
    pattern = patterns(plan)[0]
    rows = table_rows(Page(made(plan)["guide-S01.svg"]), "Pieces")[:-2]
    assert len(rows) == len(pattern.first.plates[0].pieces)
    assert rows[0] == ["1", "2417", "Cyan", "1, 2", "210", "304.91", "0°", "10", "12"]
    turned = table_rows(Page(made(plan)["guide-S03.svg"]), "Pieces")
    # Across and around are the piece's own, however it is turned.
    assert ["2420", "Yellow", "1", "305", "410", "90°", "12", "315"] in [row[1:] for row in turned]


def test_pieces_carry_job_separation_part_copy_and_size_where_there_is_room() -> None:
    page = Page(made(samples.small())["guide-S01.svg"])
    words = page.texts("labels")
    assert words[words.index("3 · 2419") :][:5] == ["3 · 2419", "Green tab", "copy 1", "across 120", "around 150"]
    titles = [node.findtext(f"{SVG}title") for node in page.by_id["pieces"] if node.tag == f"{SVG}rect"]
    assert titles[2] == "job 2419 Green tab, copy 1"


def test_the_title_block_names_sheet_material_lot_plan_yield_and_rests() -> None:
    plan = samples.week()
    text = " | ".join(Page(made(plan)["guide-S03.svg"]).texts("title-block"))
    for words in ("KR284", "K-0419", "2027-03-31", plan_key(plan), "sheet KR284 1067x1524",
                  "across 1067 / around 1524 mm", "pieces 63.2 %, image 59.4 %", "S03-R1: across 417 / around 500 mm",
                  "S03-R2: across 417 / around 124 mm", "PRINT SIDE"):  # fmt: skip
        assert words in text
    running = text.replace(" | ", " ")
    for words in ("print side (mask) up, protective film on, under yellow light",
                  "Knife and guillotine: guards in place", "Uncured polymer harms skin: wear gloves",
                  "the room's qualified safety person come first"):  # fmt: skip
        assert words in running
    twice = " | ".join(Page(made(plan)["guide-S01.svg"]).texts())
    for words in ("CUTTING GUIDE S01 × 2", "S01, S02", "KEEP S01-R1 (one of 2)", "Customer 12", "lot not stated"):
        assert words in twice


def test_check_lines_are_100_mm_both_ways_and_say_so() -> None:
    for plan in (samples.week(), samples.extreme()):
        for text in made(plan).values():
            page = Page(text)
            for way, length in (("across", (100.0, 0.0)), ("around", (0.0, -100.0))):
                lines = [name for name in page.by_id if name.endswith(f"check-{way}")]
                assert lines
                for name in lines:
                    x1, y1, x2, y2 = page.line(name)
                    assert (x2 - x1, y2 - y1) == pytest.approx(length, abs=2e-4)
            assert sum(words.startswith("across 100 mm: ") for words in page.texts()) >= 1


def test_layers_have_ids_and_titles() -> None:
    page = Page(made(samples.small())["guide-S01.svg"])
    layers = [node for node in page.root if node.tag == f"{SVG}g"]
    assert len(layers) >= 12
    assert all(node.get("id") and node.findtext(f"{SVG}title") for node in layers)


def test_lines_are_told_apart_without_colour() -> None:
    for text in made(samples.week()).values():
        colours = set(re.findall(r'(?:fill|stroke)="([^"]+)"', text))
        assert {colour for colour in colours if not re.fullmatch(r"url\(#[\w-]*keep-out-hatch\)", colour)} <= {
            "black", "white", "none",
        }  # fmt: skip
        page = Page(text)
        looks = {
            name: (node.get("stroke-width"), node.get("stroke-dasharray"))
            for name, node in page.by_id.items() if re.fullmatch(r"(cut|piece|image)-\d+", name)
        }  # fmt: skip
        kinds: dict[str, set[tuple[str | None, str | None]]] = {}
        for name, look in looks.items():
            kind = page.by_id[name].get("class") if name.startswith("cut") else name.split("-")[0]
            kinds.setdefault(kind or "", set()).add(look)
        for one, other in combinations(kinds.values(), 2):
            assert not one & other


def test_equal_sheets_get_one_guide_and_file_names_are_safe() -> None:
    tails = ("", "-raw", "-load", "-finish")
    assert [*made(samples.week())] == [f"guide-{sheet}{tail}.svg" for sheet in ("S01", "S03", "S04", "S05")
                                       for tail in tails]  # fmt: skip
    plan = samples.week()

    names = ["../a b", "..\\a b", "CON/ü", "con_"]
    odd = replace(plan, sheets=tuple(replace(s, id=name) for s, name in zip(plan.sheets[1:], names, strict=True)))
    found = [*made(odd)]
    assert len({name.lower() for name in found}) == 16
    assert all(re.fullmatch(r"guide-[A-Za-z0-9_-]+\.svg", name) for name in found)


def test_a_sheet_whose_id_ends_like_a_view_does_not_overwrite_it() -> None:
    plan = samples.week()
    odd = replace(plan, sheets=(replace(plan.sheets[2], id="A"), replace(plan.sheets[3], id="A-raw")))
    assert len(made(odd)) == 8


@pytest.mark.parametrize("tail", ["", "-raw", "-load", "-finish"])
def test_hostile_names_are_shown_as_text(tail: str) -> None:
    text = made(samples.hostile())[f"guide-S01_{tail}.svg"]
    page = Page(text)
    assert not [node for node in page.root.iter() if node.tag.endswith("script")]
    words = page.texts()
    assert "\u202e" not in text
    assert max(map(len, words)) < 200
    if tail:
        return
    assert any("<script>al" in item for item in words)
    assert any("bell\ufffdnull\ufffdend" in item for item in words)
    assert any(item.endswith("x…") for item in words)
    assert "\u202e" not in text
    assert max(map(len, words)) < 200


@pytest.mark.parametrize("side", Side)
@pytest.mark.parametrize("plan", [samples.week(), samples.extreme(), samples.small()])
def test_every_cut_and_every_piece_has_its_number_on_the_drawing_or_on_a_detail(plan: Plan, side: Side) -> None:
    for pattern in patterns(plan):
        for view, stage in ((View.RAW, CutStage.RAW), (View.FINISH, CutStage.FINISH), (View.LOAD, None)):
            page = Page(view_svg(pattern, samples.room(), samples.rows_of(plan), "key", view, sides=[side]))
            cuts = {cut.order for cut in pattern.first.cuts if cut.stage is stage}
            assert {int(words) for words in page.texts("cut-numbers")} == cuts, (pattern.first.id, view)
            if view is not View.RAW:
                firsts = {words.split(" ")[0] for words in page.texts("labels")}
                wanted = {str(number) for number, _, _ in numbered_pieces(pattern)}
                assert wanted <= firsts, (pattern.first.id, view, wanted - firsts)


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("plan", [samples.week(), samples.extreme(), samples.hostile()])
def test_no_text_is_printed_smaller_than_two_mm(plan: Plan, paper: Paper) -> None:
    room = samples.room()
    room = replace(room, guides=replace(room.guides, paper=paper))
    for guide in drawn_guides(plan, room, samples.rows_of(plan)):
        for mark in guide.canvas.marks:
            if mark.shape == "text":
                (page,) = [page for page in guide.pages if page.box.y <= mark.points[0][1] < page.box.y + page.box.h]
                # Digits of common sans-serif fonts are at least 0.71 em high (from memory).
                assert 0.71 * mark.size / page.k >= 1.98, (guide.stem, page.title, mark.words)


def test_the_sheet_at_a_glance_is_what_guide_svg_draws() -> None:
    plan = samples.week()
    (pattern, *_), key = patterns(plan), plan_key(plan)
    alone = guide_svg(pattern, samples.room(), samples.rows_of(plan), key, warnings=sheet_warnings(plan, pattern))
    assert alone == made(plan)["guide-S01.svg"]


def test_a_plan_of_one_side_has_no_page_of_the_other() -> None:
    plan, room = samples.week(), samples.room()
    for sides, shown, hidden in ((Sides.PRINT, "PRINT SIDE", "BASE SIDE"), (Sides.BASE, "BASE SIDE", "PRINT SIDE")):
        one = replace(room, guides=replace(room.guides, sides=sides))
        for name, text in guides(plan, one, samples.rows_of(plan)).items():
            words = Page(text).texts("title-block")
            if name.count("-") == 2:
                assert shown in words
                assert hidden not in words


def test_free_plates_without_finish_cuts_are_drawn_too() -> None:
    plan = samples.small()
    sheet = plan.sheets[0]
    raw = tuple(cut for cut in sheet.cuts if cut.stage is CutStage.RAW)
    page = Page(made(replace(plan, sheets=(replace(sheet, cuts=raw),)))["guide-S01.svg"])
    assert "Finish cuts, processed plates" not in page.texts()
    assert "piece-3" in page.by_id


def test_free_plates_say_how_pieces_are_cut() -> None:
    plan = samples.small()
    for cutting, said in ((Cutting.FREE, True), (Cutting.GUILLOTINE, False)):
        room = replace(samples.room(), cutting=cutting)
        words = " ".join(Page(guides(plan, room, samples.rows_of(plan))["guide-S01-finish.svg"]).texts())
        assert ("Cut each piece along its own edges" in words) == said


def test_warnings_stand_on_top_of_the_guides_of_their_pieces_only() -> None:
    plan = samples.small()
    piece = plan.sheets[0].plates[0].pieces[0]
    name = f"job {piece.job} {piece.separation}"
    warned = replace(plan, warnings=(f"{name}: image too long for this cylinder",))
    for file, first in (("", "This sheet"), ("-raw", "This sheet"), ("-load", "Plate"), ("-finish", "This plate")):
        words = Page(made(warned)[f"guide-S01{file}.svg"]).texts("title-block")
        assert f"{name}: image too long for" in " ".join(words)
        assert words.index("WARNING") < words.index(first)
        assert "WARNING" not in Page(made(plan)[f"guide-S01{file}.svg"]).texts("title-block")
    other = Unplaced(job="9", separation="Cyan", part="", copies=1, need=Need.FILL, reason="no free area")
    elsewhere = replace(plan, unplaced=(other,), warnings=("job 9 Cyan: image too long for this cylinder",))
    assert "WARNING" not in Page(made(elsewhere)["guide-S01.svg"]).texts("title-block")


def test_an_outline_is_drawn_as_a_polygon() -> None:
    plan = samples.small()
    sheet = plan.sheets[0]
    plate = sheet.plates[0]
    corners = ((10.0, 12.0), (210.0, 12.0), (10.0, 216.0))
    piece = replace(plate.pieces[0], outline=corners)
    plan = replace(plan, sheets=(replace(sheet, plates=(replace(plate, pieces=(piece,)),)),))
    page = Page(made(plan)["guide-S01.svg"])
    points = [tuple(map(float, pair.split(","))) for pair in page.by_id["piece-1"].get("points", "").split()]
    assert [(x - page.left, page.bottom - y) for x, y in points] == [pytest.approx(corner) for corner in corners]


def test_the_small_guides_are_as_stored() -> None:
    for name, text in made(samples.small()).items():
        path = GOLDEN / name.replace("guide-S01", "small-guide")
        if os.environ.get("NEST_REWRITE_GOLDEN"):
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        assert text == path.read_text(encoding="utf-8")


def test_bytes_do_not_depend_on_hash_seed_or_locale() -> None:
    code = (
        "import hashlib; from tests.output import sample_plans as s; from nest.output.guide import guides;p = s.week();"
        "print(hashlib.sha256(repr(guides(p, s.room(), s.rows_of(p))).encode()).hexdigest())"
    )
    found = {
        subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True, capture_output=True, text=True,
                       env={**os.environ, "PYTHONHASHSEED": seed, "LC_ALL": locale}).stdout
        for seed, locale in (("0", "C"), ("77", "C.UTF-8"))
    }  # fmt: skip
    assert len(found) == 1
