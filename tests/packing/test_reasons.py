from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

import pytest

from nest.domain.job import Together, Turn
from nest.domain.room import Station, Unit
from nest.packing.reasons import never_fits, stock_short, told
from tests.packing.shop import costs, imager, offcut, problem_of, room, row, sheet

if TYPE_CHECKING:
    from nest.domain.room import Room


@pytest.mark.parametrize(
    ("units", "text"), [(1_000_000, "100.0 mm"), (1_000_001, "100.1 mm"), (1, "0.1 mm"), (1_001_000, "100.1 mm")]
)
def test_a_lack_is_rounded_up_so_that_it_is_never_too_little(units: float, text: str) -> None:
    assert told(units, Unit.MM) == text


# 1 in is 254,000 units of 0.0001 mm
@pytest.mark.parametrize(("units", "text"), [(254_000, "1.00 in"), (254_001, "1.01 in"), (2_540, "0.01 in")])
def test_a_lack_in_inches_is_rounded_up_too(units: float, text: str) -> None:
    assert told(units, Unit.INCH) == text


def test_reasons_speak_the_rooms_unit() -> None:
    shop = replace(room(sheet(500, 500), imager=imager(max_across_mm=319.0, max_around_mm=421.0, **HOLD)),
                   unit=Unit.INCH)
    assert reason(shop, turn=Turn.FIXED) == "0.04 in too wide for the imager" + TURNED


def reason(at: Room, across: float = 300.0, around: float = 400.0, **more: Any) -> str:
    return never_fits(problem_of([row("a", across, around, **more)], at), 0)


HOLD = {"clamp_mm": 12.0, "drum_tape_mm": 10.0}
NOT_SERVED = "no sheet of KV170 serves it (lot, expiry or relief)"
TURNED = " with its keep-outs, turned as its row says"


@pytest.mark.parametrize(
    ("at", "more", "text"),
    [
        (room(), {}, "no sheet of KV170 in stock"),
        (room(sheet(500, 500), imager=imager(max_across_mm=319.0, max_around_mm=421.0, **HOLD)), {"turn": Turn.FIXED},
         "1.0 mm too wide for the imager" + TURNED),
        (room(sheet(500, 500), imager=imager(max_across_mm=421.0, max_around_mm=321.0, **HOLD)), {},
         "1.0 mm too long for the imager with its keep-outs"),
        (room(sheet(500, 410), sheet(290, 300)), {"turn": Turn.CROSS, "image": (480.0, 300.0)},
         "70.0 mm too long around for KV170 500x410" + TURNED),
        (room(sheet(350, 390)), {}, "10.0 mm too long around for KV170 350x390 with its keep-outs"),
        (room(sheet(500, 500), stations=(Station(name="s", max_a_mm=290.0, max_b_mm=900.0),)), {},
         "10.0 mm too large for a station of the line with its keep-outs"),
        (room(sheet(500, 500), stations=(Station(name="s", min_a_mm=600.0),)), {},
         "no plate around it keeps the least plate size, the raw strip and the parts per sheet"),
        (room(sheet(500, 500), imager=imager(max_across_mm=450.0, max_around_mm=450.0), costs=costs(raw_parts_max=1)),
         {}, "no plate around it keeps the least plate size, the raw strip and the parts per sheet"),
        (room(sheet(500, 500)), {"together": Together.LOT}, NOT_SERVED),
        (room(offcuts=(offcut(500, 500, relief=0.5),)), {"relief": 0.6}, NOT_SERVED),
        (room(sheet(500, 500, expiry=date(2027, 6, 30))), {"due": datetime(2027, 7, 1)},
         "every sheet of KV170 expires before 2027-07-01"),
        (room(sheet(500, 500)), {"copies": 2, "together": Together.COPIES},
         "no plate found that holds its 2 pieces together"),
    ],
)  # fmt: skip
def test_a_unit_that_no_plate_takes_says_why(at: Room, more: dict[str, Any], text: str) -> None:
    across, around = more.pop("image", (300.0, 400.0))
    assert reason(at, across, around, **more) == text


def test_a_shortage_names_sheets_and_their_number() -> None:
    made = problem_of([row("a", 300, 300, copies=5)], room(sheet(300, 300, on_hand=1)))
    assert stock_short(made, [1], (0,), 0) == "stock used up: needs 1 more sheet of KV170 300x300"
    assert stock_short(made, [1, 2, 3], (0,), 0) == "stock used up: needs 3 more sheets of KV170 300x300"


def test_a_shortage_of_offcuts_alone_has_no_sheet_to_name() -> None:
    made = problem_of([row("a", 300, 300, copies=2)], room(offcuts=(offcut(300, 300),)))
    assert stock_short(made, [1], (0,), 0) == "no sheet of KV170 left that takes it"
