from __future__ import annotations

from dataclasses import replace

from nest.output.labels.content import piece_labels, plate_labels
from nest.output.patterns import patterns
from nest.output.views.numbering import numbered_pieces
from tests.output import sample_plans as samples


def test_there_is_a_label_for_each_piece_with_the_number_it_has_on_the_guide() -> None:
    plan = samples.week()
    labels = piece_labels(plan, samples.room(), {}, "key")
    assert len(labels) == plan.totals.pieces
    pattern = patterns(plan)[1]
    places = [label for label in labels if label.lines[-1].startswith("S03-")]
    numbered = numbered_pieces(pattern)
    assert [label.lines[-1] for label in places] == [
        f"{pattern.first.plates[plate].id} no. {number} · plan key" for number, plate, _ in numbered
    ]
    assert [label.head for label in places] == [pattern.first.plates[p].pieces[i].job for _, p, i in numbered]


def test_a_pieces_label_says_customer_separation_part_copy_and_repeat() -> None:
    plan = samples.week()
    rows = {row.key: replace(row, copies=2, repeat_mm=304.8) for row in samples.rows_of(plan)}
    first = next(one for one in piece_labels(plan, samples.room(), rows, "key") if one.lines[0] == "Cyan")
    assert first.head == "2417"
    assert first.lines[1:4] == ("Customer 12", "copy 1 of 2 · repeat 304.8 mm", "across 210 / around 304.91 mm")
    part = next(one for one in piece_labels(plan, samples.room(), rows, "key") if one.head == "2418")
    assert part.lines[0] in ("Reflex blue top", "Reflex blue foot")


def test_a_piece_turned_on_the_sheet_keeps_its_own_sizes_on_its_label() -> None:
    plan = samples.week()
    placed = plan.sheets[2].plates[0].pieces[0]
    assert placed.turn == 90
    label = next(one for one in piece_labels(plan, samples.room(), {}, "key") if one.head == "2420")
    assert f"across {placed.rect.h:g} / around {placed.rect.w:g} mm" in label.lines


def test_a_plates_label_says_material_size_on_the_drum_lead_edge_and_stock() -> None:
    labels = plate_labels(samples.week(), samples.room(), "key")
    assert len(labels) == samples.week().totals.plates
    third = labels[2]
    assert (third.head, third.lead) == ("S03-A", True)
    assert third.lines == (
        "KR284 · relief 0.6, resolution 2540", "across 1524 / around 650 mm", "8 pieces · lead: left edge of S03",
        "KR284 1067x1524 · lot K-0419", "use by 2027-03-31 · plan key",
    )  # fmt: skip
