from __future__ import annotations

from dataclasses import replace

from nest.output.cut_list import settings
from tests.output import sample_plans as samples


def test_raw_cuts_are_set_from_the_sheet_and_finish_cuts_from_the_plate() -> None:
    #   650         417
    # +-------+----------+ 1524
    # |       |  B       |
    # |   A   +----------+ 624   cut 3
    # |       |  R1      |
    # |       +----------+ 124   cut 2
    # |       |  R2      |
    # +-------+----------+
    #       cut 1
    found = settings(samples.week().sheets[2])
    assert [(s.cut.order, s.runs_across, s.edge, s.stop_mm, s.part_mm) for s in found[:3]] == [
        (1, False, "left", 650.0, 650.0),
        (2, True, "bottom", 124.0, 124.0),
        # In hand is the part above cut 2: 624 - 124.
        (3, True, "bottom", 624.0, 500.0),
    ]
    plate_b = [s for s in found if s.cut.plate == "S03-B"]
    # Keep-outs of plate B: 12 at the bottom (lead), 10 elsewhere; the plate starts at (650, 624).
    assert [(s.stop_mm, s.part_mm) for s in plate_b[:4]] == [(12.0, 12.0), (890.0, 878.0), (10.0, 10.0), (407.0, 397.0)]


def test_orders_are_kept_and_every_cut_of_the_samples_crosses_one_part() -> None:
    for sheet in samples.week().sheets:
        found = settings(sheet)
        assert [s.cut.order for s in found] == list(range(1, len(sheet.cuts) + 1))
        assert all(s.part_mm is not None for s in found)


def test_a_cut_that_crosses_no_part_has_no_setting_in_hand() -> None:
    sheet = samples.small().sheets[0]
    cut = replace(sheet.cuts[0], x2=100.0)
    found = settings(replace(sheet, cuts=(cut,)))
    assert (found[0].stop_mm, found[0].part_mm) == (380.0, None)
