from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from nest.buying.demand_file import NAME, dump_demand
from nest.buying.quote import plan_alone, price_per_m2, quote_jobs
from nest.buying.quote_text import quote_json, quote_text
from nest.buying.yields import read_yield, stated
from nest.domain.job import Need, Row
from nest.domain.room import Costs, Imager, Material, Room, Selling, Sheet, Unit
from nest.errors import InputError
from tests.buying.test_demand_file import demand

if TYPE_CHECKING:
    from pathlib import Path

SQUARE_INCH = 0.0254**2
SELLING = Selling(rate_per_m2=0.90 / SQUARE_INCH, minimum=35.0)


def room(**fields: object) -> Room:
    sheets = tuple(
        Sheet(id=f"S{n}", material="HB", across_mm=1000.0, around_mm=1000.0 * n, price=price, on_hand=0)
        for n, price in ((1, 60.0), (2, 100.0))
    )
    base = Room(
        imager=Imager(max_across_mm=2000.0, max_around_mm=2000.0), sheets=sheets, selling=SELLING,
        materials={"HB": Material(name="HB", thickness_mm=1.7, base_mm=0.1)}, costs=Costs(plate=12.0),
    )  # fmt: skip
    return replace(base, **fields)  # type: ignore[arg-type]


def inches(job: str, across: float, around: float, **fields: object) -> Row:
    row = Row(job=job, separation="Black", material="HB", image_across_mm=across * 25.4, image_around_mm=around * 25.4)
    return replace(row, **fields)  # type: ignore[arg-type]


@pytest.mark.parametrize(("across", "around", "price"), [(10, 12, 108.00), (2, 3, 35.00)])
def test_a_piece_is_charged_minimum_or_rate_times_area(across: float, around: float, price: float) -> None:
    # trade figures, section 6 (common practice): 0.90 per square inch, minimum 35: 10 x 12 in 108.00, 2 x 3 in 35.00
    (quote,) = quote_jobs([inches("1", across, around)], room(), None)
    assert quote.price == price
    assert quote.pieces[0].each == price


def test_the_minimum_is_for_each_piece_and_the_cut_rectangle_is_billed() -> None:
    # borders of 1 in make 8 x 10 of an image to 10 x 12; the image is shortened before: K = 2 pi (1.7 - 0.1)
    (quote,) = quote_jobs([inches("1", 2, 3, copies=3), inches("1", 8, 10, separation="Red", border_mm=25.4)],
                          room(), None)  # fmt: skip
    assert [(one.each, one.price) for one in quote.pieces] == [(35.0, 105.0), (108.0, 108.0)]
    assert quote.price == 213.0
    assert quote.count == 4
    (short,) = quote_jobs([inches("1", 10, 12, repeat_mm=304.8 + 100.0)], room(), None)
    factor = 1 - 2 * 3.141592653589793 * 1.6 / 404.8
    assert short.area_m2 == pytest.approx(120 * SQUARE_INCH * factor, rel=1e-6)


def test_the_share_of_sheets_is_area_over_yield_at_the_mean_price_by_area() -> None:
    # 60 a m2 and 50 a m2: 55; 1 m2 of pieces at a yield of 80 %: 1.25 m2, 68.75
    row = Row(job="1", separation="Black", material="HB", image_across_mm=1000.0, image_around_mm=1000.0)
    (quote,) = quote_jobs([row], room(), stated(0.8))
    assert price_per_m2(room(), "HB") == 55.0
    assert quote.sheet_m2 == pytest.approx(1.25)
    assert quote.sheet_cost == 68.75
    (without,) = quote_jobs([row], room(), None)
    assert (without.sheet_m2, without.sheet_cost) == (None, None)


def test_a_job_alone_is_a_checked_plan_on_new_sheets_whatever_is_on_hand() -> None:
    row = Row(job="1", separation="Black", material="HB", image_across_mm=1000.0, image_around_mm=1000.0, copies=3)
    plan = plan_alone([row], room(), 0)
    assert plan is not None
    # 100 and 60 for the sheets, 12 for each of two plates
    assert (plan.totals.cost, plan.totals.sheets) == (184.0, 2)
    assert plan_alone([replace(row, image_across_mm=3000.0)], room(), 0) is None


def test_jobs_are_told_apart_and_fill_rows_are_nobodys() -> None:
    rows = [inches("2", 10, 12), inches("1", 10, 12), inches("1", 2, 3, separation="Wedge", need=Need.FILL)]
    quotes = quote_jobs(rows, room(), None)
    assert [(quote.job, quote.count) for quote in quotes] == [("1", 1), ("2", 1)]
    text = quote_text(quotes, room(), None)
    assert "ALL: 2 jobs, selling price 216.00 EUR" in text
    assert "no yield known" in text


def test_text_and_json_tell_the_same_and_say_where_the_yield_is_from() -> None:
    own = room(unit=Unit.INCH)
    quotes = quote_jobs([inches("1", 10, 12)], own, stated(0.8))
    text, document = quote_text(quotes, own, stated(0.8)), json.loads(quote_json(quotes, own, stated(0.8)))
    assert "120.0  108.00  108.00" in text
    assert "yield: 80.0 %, as stated" in text
    assert "0.9 EUR per in2 of its cut area, at least 35.00 EUR" in text
    assert document["yield"] == {"share": 0.8, "source": "as stated"}
    assert document["jobs"][0]["price"] == 108.0
    assert document["jobs"][0]["area"] == pytest.approx(120 * SQUARE_INCH, abs=1e-6)


def test_a_room_without_rates_names_no_price() -> None:
    own = room(selling=None)
    quotes = quote_jobs([inches("1", 10, 12)], own, None)
    assert quotes[0].price is None
    assert "no selling price: the room file has no [selling]" in quote_text(quotes, own, None)
    assert json.loads(quote_json(quotes, own, None))["selling"] is None


def test_the_yield_of_a_demand_is_pieces_over_what_was_used(tmp_path: Path) -> None:
    one = replace(demand(), drawn_m2=demand().drawn_m2 + 200.0)
    (tmp_path / NAME).write_text(dump_demand(one), encoding="utf-8")
    found = read_yield(tmp_path)
    assert found.share == pytest.approx(one.pieces_m2.sum() / (one.drawn_m2.sum() - one.kept_m2.sum()))
    assert found.source == f"of 12 simulated weeks in {tmp_path / NAME}"
    with pytest.raises(InputError, match="must be a demand file, or a folder with"):
        read_yield(tmp_path / "nothing")
