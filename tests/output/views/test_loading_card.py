from __future__ import annotations

from dataclasses import replace

import pytest

from nest.domain.plan import Edge, Rect
from nest.domain.room import Datum, Material, Station
from nest.output.guide import View
from nest.output.views.facing import Side
from nest.output.views.loading_card import file_name
from nest.plates.weight import plate_kilos
from tests.output import sample_plans as samples
from tests.output.views.reading import row_after, running, words_of


def test_the_card_names_what_to_key_in_and_where_the_laser_may_start() -> None:
    text = running(samples.small(), View.LOAD, "S01")
    # Plate 420 x 380, lead edge below, hold 12 there and 10 elsewhere.
    assert "KEY IN across 420 mm · around 380 mm" in text.replace("  ", " ")
    assert "LASER around may start 12 mm from the LEAD edge, ends at 370 mm" in text
    assert "LASER across may start 10 mm from the LEFT edge, ends at 410 mm" in text
    assert "Clamp 12 mm of the lead edge" in text
    assert "Tapes tail, left and right: 10 mm of the plate each" in text
    assert "LEAD EDGE · S01-A" in text


def test_a_turned_plate_is_keyed_in_as_it_lies_on_the_drum() -> None:
    # S03-A is 650 x 1524 on the sheet, lead edge at its left: across 1524, around 650.
    text = running(samples.week(), View.LOAD, "S03").replace("  ", " ")
    assert "KEY IN across 1524 mm · around 650 mm" in text
    assert "on the sheet it was the left edge from the print side" in text


def test_images_are_placed_from_the_datum_with_file_and_turn() -> None:
    words = words_of(samples.small(), View.LOAD, "S01")
    # First piece at 10, 12; image 5 inside.
    assert row_after(words, ["1", "2417_Cyan"])[:5] == ["15", "17", "190", "194.91", "0°"]
    assert row_after(words, ["2", "2417_Black"])[:5] == ["215", "17", "190", "194.91", "180°"]
    far = words_of(samples.small(), View.LOAD, "S01", datum=Datum.TOP_RIGHT)
    # 420 - 15 - 190 = 215, 380 - 17 - 194.9052 = 168.09
    assert row_after(far, ["1", "2417_Cyan"])[:2] == ["215", "168.09"]


@pytest.mark.parametrize(("lead", "turn"), [(Edge.Y0, 0), (Edge.X0, 90), (Edge.Y1, 180), (Edge.X1, 270)])
def test_turns_are_those_of_the_plate_as_loaded_seen_from_the_print_side(lead: Edge, turn: int) -> None:
    # A piece at turn 0 on the sheet; the plate is turned anticlockwise until its lead edge is at the bottom.
    plan = samples.small()
    sheet = plan.sheets[0]
    plan = replace(plan, sheets=(replace(sheet, plates=(replace(sheet.plates[0], lead=lead),)),))
    for side in Side:
        words = words_of(plan, View.LOAD, "S01", side=side)
        assert row_after(words, ["1", "2417_Cyan"])[4] == f"{turn}°"


def test_bars_of_stations_and_heavy_plates_are_told() -> None:
    room = samples.room()
    heavy = Material(name="HB170", thickness_mm=77.0, base_mm=0.125)
    room = replace(room, stations=(Station(name="punch", bar_mm=14.0),), materials={"HB170": heavy})
    text = running(samples.small(), View.LOAD, "S01", room=room)
    assert "Bar, punch 14 mm of the lead edge" in text
    # 0.42 m x 0.38 m x (76.875 mm of polymer at 1.0 + 0.125 mm of film at 1.39 kg per m2 and mm) = 12.297 kg
    assert "about 12.3 kg" in text
    assert "two people lift" in text
    assert "two people lift" not in running(samples.small(), View.LOAD, "S01")
    assert plate_kilos(0.42 * 0.38, 77.0, 0.125) == pytest.approx(12.297, abs=0.001)


def test_a_file_name_has_no_sign_that_a_file_may_not_have() -> None:
    box = Rect(x=0.0, y=0.0, w=1.0, h=1.0)
    piece = replace(samples.small().sheets[0].plates[0].pieces[0], rect=box, job='a/b\\c:*?"<>|', separation="x  y")
    assert file_name(piece) == "a-b-c-_x-y"
