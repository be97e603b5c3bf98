from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from nest.output.patterns import patterns
from nest.output.report.free_areas import free_areas
from nest.output.report.jobs import Job, jobs_of
from tests.output import sample_plans as samples


def jobs() -> dict[str, Job]:
    plan = samples.week()
    rows = samples.rows_of(plan)
    rows[0] = replace(rows[0], due=datetime(2027, 3, 5))
    rows[1] = replace(rows[1], due=datetime(2027, 3, 4))
    return {job.job: job for job in jobs_of(plan, rows, samples.shares_of(plan), patterns(plan))}


def test_every_job_placed_or_left_over_is_listed_once_in_order_of_its_number() -> None:
    found = jobs()
    assert list(found) == sorted(found)
    assert {"2450", "2451"} <= set(found)
    assert (found["2450"].pieces, found["2450"].left, found["2450"].sheets, found["2450"].share) == (0, 1, (), None)
    assert sum(job.pieces for job in found.values()) == samples.week().totals.pieces


def test_a_job_has_its_earliest_due_date_customer_and_sheets() -> None:
    job = jobs()["2417"]
    assert (job.due, job.customer, job.title) == ("2027-03-04", "Customer 12", "Lid, 95 mm")
    assert job.sheets == (("sheet-1", "S01"),)
    assert job.pieces == 8


def test_saving_is_known_only_where_the_cost_alone_is() -> None:
    found = jobs()
    assert found["2440"].saving is None
    one = found["2417"]
    assert one.alone is not None
    assert one.share is not None
    assert one.saving == round(one.alone - one.share, 2)


def test_numbers_are_ordered_as_numbers_and_names_come_after_them() -> None:
    plan = samples.hostile()
    rows = [replace(samples.rows_of(plan)[0], job=job) for job in ("B-2", "10", "9", "A-1")]
    assert [job.job for job in jobs_of(replace(plan, sheets=()), rows, (), ())] == ["9", "10", "A-1", "B-2"]


def test_free_areas_are_the_largest_of_each_plate_and_ordered_by_size() -> None:
    plan = samples.week()
    found = free_areas(patterns(plan), samples.room())
    assert [one.m2 for one in found] == sorted((one.m2 for one in found), reverse=True)
    largest = {plate.id: max((r.w * r.h for r in plate.free), default=0.0) / 1e6
               for sheet in plan.sheets for plate in sheet.plates}  # fmt: skip
    assert {one.plate: one.m2 for one in found} == {
        name: area for name, area in largest.items() if area and name != "S02-A"
    }
    assert {one.plate: one.times for one in found}["S01-A"] == 2
