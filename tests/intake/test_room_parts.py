from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from nest.domain.room import Datum, Guides, Paper, Ruler, Sides, Unit
from tests.intake.samples import IMAGER, INCH_ROOM, MATERIAL, SMALL_ROOM, room_faults, room_of

if TYPE_CHECKING:
    from pathlib import Path

SHEET = '[[sheets]]\nmaterial = "HB170"\nacross = 900.0\naround = 1200.5\nprice = 86.4\n'
OFFCUT = '[[offcuts]]\nmaterial = "HB170"\nacross = 410\naround = 880.0\nvalue = 18\n'


def one(folder: Path, text: str) -> str:
    (fault,) = room_faults(folder, text)
    return fault.removeprefix("room.toml:")


# ---- imager and stations ----


def test_the_imagers_largest_plate_is_required(tmp_path: Path) -> None:
    assert room_faults(tmp_path, "[imager]\nclamp = 1\n" + MATERIAL) == [
        "room.toml:1: imager: the required key 'max_across' is missing; add it",
        "room.toml:1: imager: the required key 'max_around' is missing; add it",
    ]


def test_the_imagers_least_plate_is_not_above_its_largest(tmp_path: Path) -> None:
    assert room_of(tmp_path, IMAGER + "min_across = 1524\n" + MATERIAL).imager.min_across_mm == 1524.0
    assert one(tmp_path, IMAGER + "min_around = 1067.1\n" + MATERIAL) == (
        "4: imager.min_around: must be at most max_around (1067.0); got 1067.1; correct one of the two"
    )


@pytest.mark.parametrize(
    ("line", "fault"),
    [
        ("rpm = 0", "must be above 0; got 0"),
        ("beams = 0", "must be 1 or more; got 0"),
        ("beams = 1.5", "must be a whole number; got 1.5"),
        ("border_under_hold = 1", "must be true or false; got 1"),
        ("trim = -0.1", "must be 0 or more; got -0.1"),
    ],
)
def test_wrong_imager_values_are_faults(tmp_path: Path, line: str, fault: str) -> None:
    key = line.split(" ")[0]
    assert one(tmp_path, IMAGER + line + "\n" + MATERIAL).startswith(f"4: imager.{key}: {fault}")


def test_a_stations_least_sizes_fit_its_largest_in_some_turn(tmp_path: Path) -> None:
    fits = "[stations.washer]\nmax_a = 1200\nmax_b = 1600\nmin_a = 1500\nmin_b = 10\n"
    assert room_of(tmp_path, SMALL_ROOM + fits).stations[0].min_a_mm == 1500.0
    for longer, shorter in ((1500, 1201), (1601, 10)):
        sizes = fits.replace("min_a = 1500", f"min_a = {longer}").replace("min_b = 10", f"min_b = {shorter}")
        assert one(tmp_path, SMALL_ROOM + sizes) == (
            "7: stations.washer: no plate passes: the least sizes are larger than the largest in either turn; "
            "correct min_a, min_b, max_a or max_b"
        )


def test_a_station_is_a_table_of_known_keys(tmp_path: Path) -> None:
    fault = one(tmp_path, SMALL_ROOM + "[stations]\nwasher = 3\n")
    assert fault == "8: stations.washer: must be a table; got 3; head it with [stations.washer]"
    assert one(tmp_path, SMALL_ROOM + "[stations.washer]\nmaxa = 3\n").endswith("got 'maxa'; did you mean 'max_a'?")


# ---- materials ----


@pytest.mark.parametrize(
    ("lines", "fault"),
    [
        ("base = 0.1", "4: materials.M: the required key 'thickness' is missing; add it"),
        (
            "thickness = 1.7",
            "4: materials.M: the required key 'base' is missing; "
            "add the base film's thickness, or k where K is measured",
        ),
        (
            "thickness = 1.7\nbase = 1.7",
            "6: materials.M.base: must be less than the thickness (1.7); got 1.7; correct one of the two",
        ),
        ("thickness = 0\nbase = 0", "5: materials.M.thickness: must be above 0; got 0; correct the figure"),
        (
            "thickness = 200.1\nbase = 0",
            "5: materials.M.thickness: must be at most 200 mm; got 200.1; check the figure and the room's unit",
        ),
        ("thickness = 1.7\nk = -1", "6: materials.M.k: must be 0 or more; got -1; correct the figure"),
        ("thickness = 1.7\nbase = 0\nthikness = 2", "7: materials.M.thikness: unknown key; got 'thikness'; "
         "did you mean 'thickness'?"),
    ],
)
def test_wrong_materials_are_one_fault(tmp_path: Path, lines: str, fault: str) -> None:
    assert one(tmp_path, IMAGER + "[materials.M]\n" + lines + "\n") == fault


def test_a_base_of_zero_or_just_under_the_thickness_is_in_order(tmp_path: Path) -> None:
    for base in (0.0, 1.6999):
        room = room_of(tmp_path, f"{IMAGER}[materials.M]\nthickness = 1.7\nbase = {base}\n")
        assert room.materials["M"].base_mm == base


def test_a_measured_k_makes_the_base_optional(tmp_path: Path) -> None:
    room = room_of(tmp_path, IMAGER + "[materials.M]\nthickness = 1.7\nk = 10.69\n")
    assert (room.materials["M"].base_mm, room.materials["M"].k_mm) == (None, 10.69)


def test_there_is_at_least_one_material(tmp_path: Path) -> None:
    assert one(tmp_path, IMAGER + "[materials]\n") == (
        "4: materials: must hold at least one material; add a table such as [materials.HB170] with thickness and base"
    )


def test_a_material_name_is_one_line_without_spaces_at_its_ends(tmp_path: Path) -> None:
    assert one(tmp_path, IMAGER + '[materials." M"]\nthickness = 1\nbase = 0\n') == (
        "4: materials.' M': the name must not begin or end with spaces; got ' M'; correct the name"
    )


# ---- stock ----


def test_default_ids_are_material_and_size_in_the_rooms_unit_in_shortest_form(tmp_path: Path) -> None:
    room = room_of(tmp_path, SMALL_ROOM + SHEET + OFFCUT)
    assert (room.sheets[0].id, room.offcuts[0].id) == ("HB170 900x1200.5", "HB170 410x880")
    inch = SHEET.replace("900.0", "42.0079").replace("1200.5", "60.0")
    assert room_of(tmp_path, INCH_ROOM + inch).sheets[0].id == "HB170 42.0079x60"


def test_stock_defaults(tmp_path: Path) -> None:
    sheet = room_of(tmp_path, SMALL_ROOM + SHEET).sheets[0]
    assert (sheet.on_hand, sheet.keep_back, sheet.per_box, sheet.delivery_days) == (None, 0, None, None)
    assert (sheet.lot, sheet.expiry) == (None, None)


def test_two_lots_of_one_size_need_ids(tmp_path: Path) -> None:
    assert one(tmp_path, SMALL_ROOM + SHEET + SHEET) == (
        "12: sheets[2]: the id must be unique, sheets[1] has it too; got 'HB170 900x1200.5'; "
        "two lots of one size need ids of their own"
    )
    named = SHEET + 'id = "HB170 900x1200.5"\n'
    assert one(tmp_path, SMALL_ROOM + SHEET + named).startswith("17: sheets[2].id: the id must be unique")
    assert len(room_of(tmp_path, SMALL_ROOM + SHEET + SHEET + 'id = "second lot"\n').sheets) == 2


def test_two_offcuts_of_one_size_need_ids_but_a_sheet_may_share_one(tmp_path: Path) -> None:
    assert one(tmp_path, SMALL_ROOM + OFFCUT + OFFCUT).endswith("two offcuts of one size need ids of their own")
    alike = OFFCUT.replace("410", "900").replace("880.0", "1200.5")
    assert room_of(tmp_path, SMALL_ROOM + SHEET + alike).offcuts[0].id == "HB170 900x1200.5"


@pytest.mark.parametrize(
    ("line", "fault"),
    [
        ("on_hand = -1", "sheets[1].on_hand: must be 0 or more; got -1"),
        ("on_hand = 1.5", "sheets[1].on_hand: must be a whole number; got 1.5"),
        ("per_box = 0", "sheets[1].per_box: must be 1 or more; got 0"),
        ("keep_back = 1000001", "sheets[1].keep_back: must be at most 1000000; got 1000001"),
        ("lot = 7", "sheets[1].lot: must be text; got 7; write it in quotes"),
        ('expiry = "2027-06-30"', "sheets[1].expiry: must be a date; got '2027-06-30'"),
        ("expiry = 2027-06-30T10:00:00", "sheets[1].expiry: must be a date; got 2027-06-30 10:00:00"),
        ('id = ""', "sheets[1].id: must not be empty; got ''"),
        ("relief = 0.6", "sheets[1].relief: unknown key; got 'relief'"),
    ],
)
def test_wrong_sheet_values_are_one_fault(tmp_path: Path, line: str, fault: str) -> None:
    assert one(tmp_path, SMALL_ROOM + SHEET + line + "\n").startswith("12: " + fault)


def test_required_keys_of_stock(tmp_path: Path) -> None:
    assert room_faults(tmp_path, SMALL_ROOM + "[[sheets]]\n[[offcuts]]\n") == [
        f"room.toml:{line}: {where}: the required key '{key}' is missing; add it"
        for line, where, last in ((7, "sheets[1]", "price"), (8, "offcuts[1]", "value"))
        for key in ("material", "across", "around", last)
    ]


@pytest.mark.parametrize("price", ["-0.01", "nan", "inf", "1000000001"])
def test_prices_are_finite_and_not_negative(tmp_path: Path, price: str) -> None:
    assert one(tmp_path, SMALL_ROOM + SHEET.replace("86.4", price)).startswith("11: sheets[1].price: must be ")
    assert room_of(tmp_path, SMALL_ROOM + SHEET.replace("86.4", "0")).sheets[0].price == 0.0


def test_stock_of_an_unknown_material_offers_the_nearest(tmp_path: Path) -> None:
    assert one(tmp_path, SMALL_ROOM + SHEET.replace("HB170", "HB17O")) == (
        "8: sheets[1].material: no such material in [materials]; got 'HB17O'; did you mean 'HB170'?"
    )


# ---- rates ----


def test_rates_per_square_foot_are_converted(tmp_path: Path) -> None:
    """1 m2 = 10.763910 sq ft (unit definition: 1 ft = 0.3048 m)."""
    costs = room_of(tmp_path, SMALL_ROOM + "[costs]\nprocess_per_sqft = 1.3\noffcut_min_area_sqft = 2\n").costs
    assert costs.process_per_m2 == pytest.approx(1.3 * 10.763910, rel=1e-7)
    assert costs.offcut_min_area_m2 == pytest.approx(2 / 10.763910, rel=1e-7)


@pytest.mark.parametrize("stem", ["process_per", "offcut_min_area"])
def test_a_rate_is_given_in_one_unit_only(tmp_path: Path, stem: str) -> None:
    assert one(tmp_path, f"{SMALL_ROOM}[costs]\n{stem}_m2 = 1\n{stem}_sqft = 2\n") == (
        f"9: costs.{stem}_sqft: must not be given beside {stem}_m2; got 2; keep one of the two"
    )


@pytest.mark.parametrize(
    ("line", "fault"),
    [
        ("offcut_value = 1.01", "must be at most 1; got 1.01"),
        ("offcut_value = -0.01", "must be 0 or more; got -0.01"),
        ("offcuts_per_sheet = 0.5", "must be a whole number; got 0.5"),
        ("raw_parts_max = 0", "must be 1 or more; got 0"),
        ("cut = nan", "must be a finite number; got nan"),
        ("offcut_min_side = -1", "must be 0 or more; got -1"),
        ("palte = 1", "unknown key; got 'palte'; did you mean 'plate'?"),
    ],
)
def test_wrong_rates_are_one_fault(tmp_path: Path, line: str, fault: str) -> None:
    key = line.split(" ")[0]
    assert one(tmp_path, f"{SMALL_ROOM}[costs]\n{line}\n").startswith(f"8: costs.{key}: {fault}")


def test_both_ends_of_the_offcut_share_are_in_order(tmp_path: Path) -> None:
    for share in (0, 1):
        assert room_of(tmp_path, f"{SMALL_ROOM}[costs]\noffcut_value = {share}\n").costs.offcut_value == share
    assert room_of(tmp_path, f"{SMALL_ROOM}[costs]\nraw_parts_max = 1\n").costs.raw_parts_max == 1


# ---- guides ----


def guides_of(folder: Path, text: str, room: str = SMALL_ROOM) -> Guides:
    return room_of(folder, f"{room}[guides]\n{text}").guides


def test_guides_are_drawn_the_usual_way_where_the_room_says_nothing(tmp_path: Path) -> None:
    assert room_of(tmp_path, SMALL_ROOM).guides == guides_of(tmp_path, "") == Guides()


def test_the_room_chooses_how_guides_are_drawn(tmp_path: Path) -> None:
    text = 'datum = "Top-Right"\nruler = "print-side"\nunit = "in"\nfractions = 32\npaper = "A4"\nsides = "base"\n'
    assert guides_of(tmp_path, text) == Guides(
        datum=Datum.TOP_RIGHT, ruler=Ruler.PRINT_SIDE, unit=Unit.INCH, fractions=32, paper=Paper.A4, sides=Sides.BASE
    )


def test_guides_of_an_inch_room_have_fractions_without_a_unit_of_their_own(tmp_path: Path) -> None:
    assert guides_of(tmp_path, "fractions = 16\n", INCH_ROOM) == Guides(fractions=16)


@pytest.mark.parametrize(
    ("line", "fault"),
    [
        ('datum = "left"', "guides.datum: must be one of bottom-left, bottom-right, top-left, top-right; got 'left'; "),
        ('paper = "A5"', "guides.paper: must be one of a4, a3, letter, tabloid; got 'A5'; "),
        ('sides = "front"', "guides.sides: must be one of print, base, both; got 'front'; "),
        ('ruler = "left"', "guides.ruler: must be one of as-seen, print-side; got 'left'; "),
        ("fractions = 10\nunit = 'in'", "guides.fractions: must be one of 0, 8, 16, 32, 64; got 10; write 16 for"),
        ("fractions = 16", "guides.fractions: fractions are of an inch; got 16; set unit = \"in\" in [guides]"),
        ("fractions = -1", "guides.fractions: must be 0 or more; got -1; correct the figure"),
        ("scale = 2", "guides.scale: unknown key; got 'scale'; "),
    ],
)
def test_a_wrong_key_of_the_guides_is_one_fault(line: str, fault: str, tmp_path: Path) -> None:
    assert one(tmp_path, f"{SMALL_ROOM}[guides]\n{line}\n").partition(": ")[2].startswith(fault)


def test_guides_that_are_no_table_are_a_fault(tmp_path: Path) -> None:
    assert "guides: must be a table" in one(tmp_path, f"guides = 3\n{SMALL_ROOM}")
