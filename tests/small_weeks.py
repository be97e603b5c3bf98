"""Random small weeks for the property tests: every rule of rows and room turns up, sizes stay small."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

from hypothesis import strategies as st

from nest.domain.job import GroupValue, Need, Row, Together, Turn
from nest.domain.room import Costs, Cutting, Imager, Material, Offcut, Room, Sheet, Station

if TYPE_CHECKING:
    from hypothesis.strategies import DrawFn, SearchStrategy

MATERIALS = ("KV114", "KV170")
STEP_MM = 1.5875
"""A sixteenth of an inch: every length is a whole number of these, exact in inches and in 0.0001 mm."""


def length(low: float, high: float) -> SearchStrategy[float]:
    """Return lengths in mm between two bounds, whole sixteenths of an inch."""
    whole = st.integers(round(low / STEP_MM), round(high / STEP_MM))
    return whole.map(lambda n: round(n * STEP_MM, 4))



@st.composite
def rows(draw: DrawFn, job: str) -> list[Row]:
    """Return the rows of one job; rows that share a plate are of one group and material."""
    material = draw(st.sampled_from(MATERIALS))
    together = draw(st.sampled_from((None, None, None, *Together)))
    whole = together in (Together.PLATE, Together.COPIES)
    relief: GroupValue = draw(st.one_of(st.just(""), st.just(0.5)))
    turn = draw(st.sampled_from((None, None, *Turn)))
    alone = draw(st.integers(0, 9)) == 0
    need = Need.FILL if draw(st.integers(0, 5)) == 0 else Need.MUST
    due = draw(st.sampled_from((None, datetime(2027, 3, 1), datetime(2027, 3, 2, 12), datetime(2027, 9, 1))))
    sizes = draw(st.lists(st.tuples(length(40, 420), length(40, 520)), min_size=1, max_size=2 if whole else 3))
    out = []
    for at, (across, around) in enumerate(sizes):
        copies = draw(st.integers(1, 3 if len(sizes) < 3 else 2))
        out.append(
            Row(
                job=job, separation=f"Colour {at + 1}", material=material, image_across_mm=across,
                image_around_mm=around, at_plate_size=draw(st.booleans()),
                repeat_mm=draw(st.sampled_from((None, 508.0, 609.6))), copies=copies,
                border_mm=draw(st.sampled_from((None, None, 0.0, 9.525))), turn=turn, together=together,
                apart=not whole and draw(st.integers(0, 7)) == 0, alone=alone, need=need, relief=relief, due=due,
            )
        )
    return out


@st.composite
def stock(draw: DrawFn) -> tuple[tuple[Sheet, ...], tuple[Offcut, ...]]:
    """Return one or two sheet sizes of each material and sometimes an offcut."""
    sheets, offcuts = [], []
    for material in MATERIALS:
        for at in range(draw(st.integers(0 if material == MATERIALS[0] else 1, 2))):
            on_hand = draw(st.sampled_from((None, None, 1, 2, 4)))
            sheets.append(
                Sheet(
                    id=f"{material} {at + 1}", material=material, across_mm=draw(length(300, 950)),
                    around_mm=draw(length(300, 1250)), price=draw(st.integers(500, 9000)) / 100, on_hand=on_hand,
                    keep_back=draw(st.sampled_from((0, 0, 1))) if on_hand else 0,
                    lot=draw(st.sampled_from((None, "L7", "L8"))),
                    expiry=draw(st.sampled_from((None, None, date(2027, 3, 1), date(2027, 6, 30)))),
                )
            )
        if draw(st.booleans()):
            offcuts.append(
                Offcut(
                    id=f"{material} R-01", material=material, across_mm=draw(length(150, 600)),
                    around_mm=draw(length(150, 600)), value=draw(st.integers(0, 2000)) / 100,
                    relief=draw(st.sampled_from((None, None, 0.5))), lot=draw(st.sampled_from((None, "L7"))),
                )
            )
    return tuple(sheets), tuple(offcuts)


@st.composite
def costs(draw: DrawFn) -> Costs:
    strip = draw(st.sampled_from((0.0, 50.8)))
    return Costs(
        plate=draw(st.sampled_from((0.0, 12.0))),
        process_per_m2=draw(st.sampled_from((0.0, 14.0))),
        cut=draw(st.sampled_from((0.0, 1.5))),
        offcut_value=draw(st.sampled_from((0.0, 0.6, 1.0))),
        offcut_handling=draw(st.sampled_from((0.0, 2.0))),
        offcut_full_side_mm=draw(st.sampled_from((0.0, 406.4))),
        offcut_min_side_mm=draw(st.sampled_from((0.0, 254.0))),
        offcut_min_area_m2=draw(st.sampled_from((0.0, 0.12))),
        offcuts_per_sheet=draw(st.sampled_from((0, 1, 2, 3))),
        raw_min_strip_mm=strip,
        raw_parts_max=draw(st.sampled_from((1, 2, 4, 6))),
    )


@st.composite
def rooms(draw: DrawFn) -> Room:
    sheets, offcuts = draw(stock())
    stations: tuple[Station, ...] = ()
    if draw(st.booleans()):
        stations = (
            Station(
                name="washer", max_a_mm=draw(st.sampled_from((None, 609.6, 914.4))),
                max_b_mm=draw(st.sampled_from((None, 762.0))), min_a_mm=draw(st.sampled_from((0.0, 152.4))),
                min_b_mm=draw(st.sampled_from((0.0, 304.8))), bar_mm=draw(st.sampled_from((0.0, 15.875))),
            ),
        )
    cutting = draw(st.sampled_from(Cutting))
    return Room(
        cutting=cutting,
        gap_mm=draw(st.sampled_from((0.0, 0.0, 3.175, 6.35))),
        bevel_deg=draw(st.sampled_from((0.0, 0.0, 30.0))) if cutting is Cutting.FREE else 0.0,
        border_mm=draw(st.sampled_from((0.0, 4.7625))),
        turn=draw(st.sampled_from(Turn)),
        imager=Imager(
            max_across_mm=draw(length(500, 1200)), max_around_mm=draw(length(500, 1200)),
            min_across_mm=draw(st.sampled_from((0.0, 203.2))), min_around_mm=draw(st.sampled_from((0.0, 203.2))),
            clamp_mm=draw(st.sampled_from((0.0, 12.7))), drum_tape_mm=draw(st.sampled_from((0.0, 9.525))),
            trim_mm=draw(st.sampled_from((0.0, 7.9375))), border_under_hold=draw(st.booleans()),
        ),
        stations=stations,
        materials={
            "KV114": Material(name="KV114", thickness_mm=1.14, base_mm=0.125),
            "KV170": Material(name="KV170", thickness_mm=1.70, k_mm=9.525, border_mm=draw(some_border())),
        },
        sheets=sheets,
        offcuts=offcuts,
        costs=draw(costs()),
    )


def some_border() -> SearchStrategy[float | None]:
    return st.sampled_from((None, 3.175))


@st.composite
def weeks(draw: DrawFn, jobs: int = 3) -> tuple[tuple[Row, ...], Room]:
    """Return the rows and the room of a small week."""
    count = draw(st.integers(1, jobs))
    found = [one for at in range(count) for one in draw(rows(str(3101 + at)))]
    return tuple(found), draw(rooms())
