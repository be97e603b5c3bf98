from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from nest.errors import InputError
from nest.output.plan_file import dump_plan
from nest.revise.changes import changes
from nest.revise.earlier import History
from nest.revise.record import digest, dump_revision, first_history, load_history
from tests.revise.shop import after, before
from tests.revise.test_revision import SHOP, square

if TYPE_CHECKING:
    from pathlib import Path

    from nest.revise.revision import Revision


def made() -> tuple[Revision, str, str]:
    """Return a revision with something of everything, the text of its plan and of its record."""
    rows = [square("a", 2), square("b", 2)]
    revision = after(before(rows, SHOP, released=["S01"]), [square("b", 2, relief=0.5), square("c")])
    text = dump_plan(revision.plan)
    return revision, text, dump_revision(revision, changes(revision.earlier.plan, revision.plan), text)


def test_what_the_next_revision_has_to_know_is_read_back(tmp_path: Path) -> None:
    revision, plan, record = made()
    path = tmp_path / "revision.json"
    path.write_text(record, encoding="utf-8")
    assert load_history(path, plan.encode()) == revision.history
    assert revision.history.own_rows != ()
    assert revision.history.spent != ()


def test_the_record_tells_what_changed() -> None:
    revision, _, record = made()
    told = json.loads(record)
    assert told["released"] == ["S01"]
    assert {(row["separation"], row["change"]) for row in told["rows"]} == {
        ("a", "cancelled"), ("b", "changed"), ("c", "added"),
    }  # fmt: skip
    assert told["pieces"]["unchanged"] == 4
    assert len(told["pieces"]["added"]) == 3
    assert told["sheets"]["unchanged"] == ["S01"]
    cost = told["cost"]
    assert cost["after"] - cost["before"] == pytest.approx(cost["difference"])
    assert cost["after"] == revision.plan.totals.cost


def test_a_record_of_another_plan_is_left_aside_and_a_missing_one_is_empty(tmp_path: Path) -> None:
    _, _, record = made()
    path = tmp_path / "revision.json"
    assert load_history(path, b"any") == first_history(b"any") == History(plan=digest(b"any")[:12])
    path.write_text(record, encoding="utf-8")
    assert load_history(path, b"another plan") is None


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"format": "nest-revision", "version": 2}', '{"format": "x"'])
def test_a_record_that_cannot_be_read_is_one_clear_fault(text: str, tmp_path: Path) -> None:
    path = tmp_path / "revision.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_history(path, b"any")
    assert "must be a nest-revision of version 1" in str(caught.value)
    assert len(caught.value.faults) == 1
