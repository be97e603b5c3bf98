from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest

from nest.buying.demand import Demand, SizeKey
from nest.buying.demand_file import MEASURES, NAME, dump_demand, load_demand
from nest.domain.room import Unit
from nest.errors import InputError
from nest.output.write import write_files

if TYPE_CHECKING:
    from pathlib import Path

SIZES = (
    SizeKey(material="=AZ", across_mm=1066.8, around_mm=1524.0, unit=Unit.INCH),
    SizeKey(material="HB170", across_mm=900.0, around_mm=1200.0, unit=Unit.INCH),
)


def demand() -> Demand:
    random = np.random.default_rng(1)
    figures = {name: random.random((3, 4)) * 100 for name in MEASURES}
    return Demand(
        sizes=SIZES, sheets=random.integers(0, 9, (3, 4, 2)), first_week=date(2026, 11, 30), seed=7, wanted_paths=5,
        currency="GBP", basis=("26 weeks, é.",), **figures,
    )  # fmt: skip


def changed(folder: Path, old: str, new: str) -> Path:
    text = dump_demand(demand())
    assert old in text
    (folder / NAME).write_text(text.replace(old, new, 1), encoding="utf-8")
    return folder / NAME


def test_a_demand_written_and_read_is_the_same(tmp_path: Path) -> None:
    write_files(tmp_path, {NAME: dump_demand(demand())})
    read, wrote = load_demand(tmp_path / NAME), demand()
    assert read.sizes == SIZES
    assert [size.unit for size in read.sizes] == [Unit.INCH, Unit.INCH]
    for name in ("first_week", "seed", "wanted_paths", "currency", "basis"):
        assert getattr(read, name) == getattr(wrote, name)
    for name in ("sheets", *MEASURES):
        assert (getattr(read, name) == getattr(wrote, name)).all()
    assert read.sheets.dtype.kind == "i"
    assert dump_demand(read) == dump_demand(wrote)


def test_a_size_that_looks_like_a_formula_stays_text() -> None:
    assert ",'=AZ 42x60," in dump_demand(demand())


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("# {", "{", ":1: the first line must be the header"),
        ('"version": 1', '"version": 2', ":1: format: must be nest-demand, version 1"),
        ("2026-11-30", "2026-12-01", ":1: first_week: must be a Monday"),
        ("path,week", "path,weak", ":2: must have the columns path, week, monday"),
        ("\n1,2,", "\n2,2,", ":4: must begin with 1,2,2026-12-07"),
        ('"paths": 3', '"paths": 4', "must have 16 lines of figures (4 paths of 4 weeks); got 12"),
        ("\n1,1,2026-11-30,", "\n1,1,2026-11-30,-1", ":3: must hold 2 whole numbers of sheets and 4 figures"),
    ],
)
def test_a_file_that_was_changed_is_told_by_line(tmp_path: Path, old: str, new: str, said: str) -> None:
    with pytest.raises(InputError) as caught:
        load_demand(changed(tmp_path, old, new))
    assert said in str(caught.value)


def test_arrays_that_do_not_belong_together_are_refused() -> None:
    one = demand()
    with pytest.raises(ValueError, match="cost must be"):
        Demand(
            sizes=SIZES, sheets=one.sheets, cost=one.cost[:2], drawn_m2=one.drawn_m2, kept_m2=one.kept_m2,
            pieces_m2=one.pieces_m2, first_week=one.first_week, seed=0, wanted_paths=3,
        )  # fmt: skip
