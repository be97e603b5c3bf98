from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from nest.output.areas import polygon_area, sheet_areas
from tests.output import sample_plans as samples


def test_the_parts_of_a_sheet_add_up_to_what_was_drawn() -> None:
    for sheet in samples.week().sheets:
        area = sheet_areas(sheet)
        parts = area.image + area.border + area.keep_out + area.unused + area.kept + area.scrap
        assert parts == pytest.approx(area.drawn, abs=1e-12)


def test_the_three_yields_of_a_900_x_1200_sheet() -> None:
    # By hand: pieces 46 of a dense sheet: 2 x 220 x 300 + 12 x 20 x 300 + 12 x 60 x 40 + 8 x 100 x 80 + 3 x 290 x 200
    # + 9 x 40 x 60 + 300 x 300 = 582 400 mm2 of 1 080 000; image: each side 10 mm shorter.
    area = sheet_areas(samples.dense_sheet(Counter()))
    images = 2 * 210 * 290 + 12 * 10 * 290 + 12 * 50 * 30 + 8 * 90 * 70 + 3 * 280 * 190 + 9 * 30 * 50 + 290 * 290
    assert area.gross == pytest.approx(582_400 / 1_080_000)
    assert area.image_yield == pytest.approx(images / 1_080_000)
    assert area.credited == area.gross


def test_a_piece_with_an_outline_counts_its_polygon() -> None:
    sheet = samples.small().sheets[0]
    plate = sheet.plates[0]
    piece = replace(plate.pieces[0], outline=((10.0, 12.0), (210.0, 12.0), (10.0, 112.0)))
    area = sheet_areas(replace(sheet, plates=(replace(plate, pieces=(piece,)),)))
    assert area.pieces == pytest.approx(200 * 100 / 2 / 1e6)
    assert area.image <= area.pieces


def test_a_polygons_area_does_not_depend_on_its_direction() -> None:
    corners = [(0.0, 0.0), (4.0, 0.0), (4.0, 1.0), (1.0, 1.0), (1.0, 3.0), (0.0, 3.0)]
    # An L of 4 x 1 and 1 x 2.
    assert polygon_area(corners) == polygon_area(corners[::-1]) == 6.0
