from __future__ import annotations

from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nest.errors import InputError
from nest.revise.remake import Reason
from nest.revise.remakes_file import HEAD, Entry, dump_entries, load_entries

WORD = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=12)


def entry(**more: object) -> Entry:
    values: dict[str, object] = {
        "date": date(2027, 3, 1), "reason": Reason.WASH, "key": ("2403", "White", ""), "copy": 1, "sheet": "S01",
        "made_again_as": "remake 1", "plate": "S05-A", "piece_m2": 0.25, "cost": 12.5, "lost": 3.0, "currency": "EUR",
        "plan": "abc", "made": 40,
        **more,
    }  # fmt: skip
    return Entry(**values)  # type: ignore[arg-type]


@given(st.tuples(WORD, WORD, WORD), WORD, st.sampled_from(Reason), st.dates(date(1900, 1, 1), date(2900, 1, 1)))
def test_entries_are_read_back_as_they_were(
    key: tuple[str, str, str], plate: str, reason: Reason, day: date
) -> None:
    made = entry(key=key, plate=plate, reason=reason, date=day)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "remakes.csv"
        path.write_text(dump_entries([made, entry()]), encoding="utf-8", newline="")
        assert load_entries(path) == (made, entry())


def test_no_cell_starts_a_formula() -> None:
    text = dump_entries([entry(key=("=1+1", "@x", "-2"), plate="+3", sheet="＝4")])
    assert [cell for cell in text.splitlines()[1].split(",") if cell[0:1] in "=@+-＝" and cell] == []


def test_no_file_holds_no_entries(tmp_path: Path) -> None:
    assert load_entries(tmp_path / "remakes.csv") == ()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a,b\n", "must have the columns date, reason"),
        (",".join(HEAD) + "\n2027-03-01,rain,1,C,,1,S01,x,y,1,1,1,EUR,abc,9\n", "'rain' is not a valid Reason"),
        (",".join(HEAD) + "\n2027-03-01,wash\n", "2 cells instead of 15"),
        (",".join(HEAD) + "\n2027-13-01,wash,1,C,,1,S01,x,y,1,1,1,EUR,abc,9\n", "month must be in 1..12"),
    ],
)
def test_a_changed_file_is_one_clear_fault(text: str, words: str, tmp_path: Path) -> None:
    path = tmp_path / "remakes.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_entries(path)
    assert words in str(caught.value)
    assert len(caught.value.faults) == 1
