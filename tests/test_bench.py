"""The benchmarks work: a miniature of every part, and what their figures rest on. They measure nothing here."""

from __future__ import annotations

from dataclasses import fields

import pytest

from nest.domain.job import Turn
from nest.packing.means import Methods
from nest.plates.pieces import piece_of
from tests.bench import library
from tests.bench.ablation import SWITCHES
from tests.bench.classes import ZERO_WASTE_SETS, class_instance, zero_waste
from tests.bench.command import main
from tests.bench.instances import BinType, Instance, Variant
from tests.bench.options import PARTS
from tests.bench.pack import pack
from tests.bench.packing_check import Filled, faults_of, partable
from tests.bench.sheet_price import Pricer
from tests.packing.shop import MATERIAL, costs, imager, planned, room, row, sheet

PINWHEEL = ((0, 0, 2, 1), (2, 0, 1, 2), (1, 2, 2, 1), (0, 1, 1, 2))


@pytest.mark.parametrize("part", PARTS)
def test_each_part_prints_a_table_with_figures(part: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--quick", "--only", part]) == 0
    out, _ = capsys.readouterr()
    head, _, body = out.partition(f"## {part}\n")
    assert f"`python -m tests.bench --quick --only {part}`" in head
    lines = [line for line in body.splitlines() if line.startswith("|")]
    assert len(lines) > 2
    assert len({line.count("|") for line in lines}) == 1
    assert any(character.isdigit() for character in lines[-1])


def test_without_the_library_the_rest_still_runs(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(library, "rectpack", None)
    assert main(["--quick", "--only", "weeks"]) == 0
    assert "rectpack is not installed" in capsys.readouterr().out


def test_the_packing_check_finds_each_kind_of_fault() -> None:
    instance = Instance(name="four", bins=(BinType(w=3, h=3, cost=1, count=1),), items=((2, 1, 2), (1, 2, 2)))
    order = (0, 2, 1, 3)
    good = [Filled(bin=0, boxes=tuple(zip(order, PINWHEEL, strict=True)))]
    assert faults_of(instance, good, Variant.ORIENTED_FREE, 1.0) == []
    assert faults_of(instance, good, Variant.ORIENTED_GUILLOTINE, 1.0) == ["bin 0: not partable by edge-to-edge cuts"]
    assert faults_of(instance, good, Variant.ORIENTED_FREE, 2.0) == ["claimed cost 2.0, is 1"]
    moved = [Filled(bin=0, boxes=((0, (0, 0, 2, 1)), (2, (2, 0, 1, 2)), (1, (2, 2, 2, 1)), (3, (0, 0, 1, 2))))]
    assert faults_of(instance, moved, Variant.ORIENTED_FREE, 1.0) == [
        "bin 0: item 1 lies outside",
        "bin 0: items overlap",
    ]
    short = [Filled(bin=0, boxes=good[0].boxes[:3]), Filled(bin=0, boxes=())]
    assert faults_of(instance, short, Variant.ORIENTED_FREE, 2.0) == [
        "not every item is packed exactly once",
        "2 bins of type 0, there are 1",
    ]
    turned = [Filled(bin=0, boxes=((0, (0, 0, 1, 2)), *good[0].boxes[1:]))]
    assert "item 0 is (2, 1), packed as (1, 2)" in faults_of(instance, turned, Variant.ORIENTED_FREE, 1.0)[0]


def test_a_pinwheel_is_not_partable_and_its_halves_are() -> None:
    assert not partable(PINWHEEL)
    assert partable(PINWHEEL[:3])


@pytest.mark.parametrize("name", ZERO_WASTE_SETS)
def test_made_zero_waste_instances_fill_their_bin_exactly(name: str) -> None:
    instance = zero_waste(name, 3)
    assert len(instance.items) == ZERO_WASTE_SETS[name][2]
    assert instance.area == instance.bins[0].w * instance.bins[0].h
    assert min(min(w, h) for w, h, _ in instance.items) >= 1


def test_made_classes_keep_their_limits_and_their_seed() -> None:
    # Martello & Vigo 1998: seven of ten items of class 9 have both sides at least half the bin
    large = [w >= 50 and h >= 50 for seed in range(20) for w, h, _ in class_instance(9, 100, seed).items]
    assert 0.66 < sum(large) / len(large) < 0.75
    assert max(max(w, h) for w, h, _ in class_instance(3, 100, 0).items) <= 35
    assert class_instance(3, 40, 5) == class_instance(3, 40, 5)
    assert class_instance(3, 40, 5) != class_instance(3, 40, 6)


BOXES = ((200.0, 300.0), (580.0, 300.0), (200.0, 700.0), (570.0, 770.0), (760.0, 560.0), (470.0, 770.0))


@pytest.mark.parametrize("size", BOXES)
def test_a_box_is_priced_for_the_library_as_a_plan_of_one_piece_is(size: tuple[float, float]) -> None:
    # the engine's plan of a single piece is checked and its cost is recounted, so it is an outside figure here
    shop = room(
        sheet(600, 800, price=40.0),
        sheet(900, 1200, price=86.4),
        imager=imager(max_across_mm=900.0, max_around_mm=1200.0, min_across_mm=250.0, clamp_mm=12.0, drum_tape_mm=10.0),
        costs=costs(plate=12.0, process_per_m2=14.0, cut=1.5, offcut_value=0.6, offcut_handling=2.0,
                    offcut_full_side_mm=400.0, offcut_min_side_mm=250.0, offcut_min_area_m2=0.12,
                    raw_min_strip_mm=50.0),
    )  # fmt: skip
    only = row("a", *size, turn=Turn.FREE)
    piece = piece_of(only, shop)
    pricer = Pricer(shop, MATERIAL, piece.least_border)
    prices = [price for region in pricer.regions if (price := pricer.box_price(region, piece.w, piece.h)) is not None]
    assert min(prices) == pytest.approx(planned([only], shop).totals.cost)


def test_the_classical_engine_run_gives_packings_that_pass_the_check() -> None:
    instance = class_instance(7, 20, 0)
    for variant in Variant:
        packed = pack(instance, variant, 0.2, 0, 1)
        assert packed.left == 0
        assert faults_of(instance, packed.filled, variant, packed.cost) == []
        assert packed.bound <= packed.cost


def test_each_variant_but_the_whole_engine_leaves_one_method_out() -> None:
    off = {name: [field for field in fields(Methods) if not getattr(methods, field.name)]
           for name, methods in SWITCHES.items()}  # fmt: skip
    assert [len(fields_off) for fields_off in off.values()] == [0, 1, 1, 1, 1]
    assert len({fields_off[0].name for fields_off in off.values() if fields_off}) == len(fields(Methods))
