"""ISO weeks after ISO 8601: 1 January 2027 is a Friday, so it belongs to week 53 of 2026."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from nest.revise.remake import Reason
from nest.revise.remake_rate import rates, rates_csv, rates_text, weeks_made
from tests.revise.test_remakes_file import entry

ENTRIES = (
    entry(date=date(2027, 1, 1), reason=Reason.WASH, cost=10.0, lost=2.0),
    entry(date=date(2027, 1, 3), reason=Reason.SCRATCH, cost=0.0, lost=4.0),
    entry(date=date(2027, 1, 4), reason=Reason.WASH, cost=5.5, lost=1.0),
)


def test_weeks_and_reasons_are_counted_and_priced() -> None:
    first, second, whole = rates(ENTRIES, {"2026-W53": 40, "2027-W01": 10}, undated=50)
    assert (first.week, first.again, first.rate, first.cost, first.lost) == ("2026-W53", 2, 0.05, 10.0, 6.0)
    assert first.by_reason == {Reason.WASH: (1, 10.0, 2.0), Reason.SCRATCH: (1, 0.0, 4.0)}
    assert (second.week, second.rate) == ("2027-W01", 0.1)
    assert (whole.week, whole.made, whole.again, whole.rate, whole.cost) == ("all", 100, 3, 0.03, 15.5)


def test_a_plan_is_of_the_week_of_its_first_remake() -> None:
    later = replace(ENTRIES[2], plan="def", made=20)
    made, undated, plans = weeks_made([*ENTRIES, later], {"abc": 30, "none": 7})
    # the plan that is there now says how many pieces it has, the one that is not is known from its entry
    assert (made, undated, plans) == ({"2026-W53": 30, "2027-W01": 20}, 7, 1)


def test_a_week_without_pieces_known_has_no_rate() -> None:
    (week, whole) = rates(ENTRIES[:1], {})
    assert (week.made, week.rate, whole.rate) == (None, None, None)
    assert "2026-W53     -      1     -" in rates_text([week, whole], "EUR")


def test_the_tables_say_the_same() -> None:
    lines = rates(ENTRIES, {"2026-W53": 40, "2027-W01": 10})
    assert rates_csv(lines).splitlines() == [
        "week,reason,made,made_again,rate,cost,lost",
        "2026-W53,wash,40,1,0.0250,10.00,2.00",
        "2026-W53,scratch,40,1,0.0250,0.00,4.00",
        "2026-W53,,40,2,0.0500,10.00,6.00",
        "2027-W01,wash,10,1,0.1000,5.50,1.00",
        "2027-W01,,10,1,0.1000,5.50,1.00",
        "all,wash,50,2,0.0400,15.50,3.00",
        "all,scratch,50,1,0.0200,0.00,4.00",
        "all,,50,3,0.0600,15.50,7.00",
    ]
    text = rates_text(lines, "EUR")
    assert "2026-W53     40      2   5.0 %  10.00  6.00" in text
    assert text.splitlines()[-1].endswith("EUR")
