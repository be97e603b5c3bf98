from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import date

import pytest
import segno

from nest.domain.room import Unit
from nest.domain.stock import RackOffcut
from nest.output.offcut_label import CODE_MM, QUIET, RIM_MM, WIDE_MM, offcut_label

SVG = "{http://www.w3.org/2000/svg}"
OFFCUT = RackOffcut(
    id="F-0036", material="QF170", across_mm=380.0, around_mm=640.0, value_cents=600, made=date(2027, 1, 11),
    lot="A6-118", expiry=date(2027, 9, 30), relief=None, exposed=None, place="R2", parent="L-0001",
    sheet="3fa9c1d2:S01-R1", on_rack=True,
)  # fmt: skip


def layer(label: str, name: str) -> ET.Element:
    found = ET.fromstring(label).find(f"{SVG}g[@id='{name}']")
    assert found is not None
    return found


def words(label: str) -> list[str]:
    return [node.text or "" for node in ET.fromstring(label).iter(f"{SVG}text")]


def modules(label: str, size: int) -> list[list[int]]:
    """Return the code as it is drawn, dark 1, by asking which rectangle covers the middle of each module."""
    step = CODE_MM / (size + 2 * QUIET)
    left, top = WIDE_MM - RIM_MM - CODE_MM + QUIET * step, RIM_MM + QUIET * step
    boxes = [[float(node.get(key, "")) for key in ("x", "y", "width", "height")]
             for node in layer(label, "code").iter(f"{SVG}rect")]  # fmt: skip

    def dark(x: float, y: float) -> int:
        return int(any(bx <= x <= bx + w and by <= y <= by + h for bx, by, w, h in boxes))

    return [[dark(left + (n + 0.5) * step, top + (line + 0.5) * step) for n in range(size)] for line in range(size)]


def test_the_label_is_drawn_at_real_size() -> None:
    root = ET.fromstring(offcut_label(OFFCUT, Unit.MM))
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("100mm", "60mm", "0 0 100 60")


def test_the_code_holds_the_id_and_nothing_else() -> None:
    code = segno.make("F-0036", error="q", micro=False, boost_error=False)
    assert modules(offcut_label(OFFCUT, Unit.MM), len(code.matrix)) == [list(line) for line in code.matrix]


def test_what_the_operator_needs_stands_on_it() -> None:
    told = words(offcut_label(OFFCUT, Unit.MM))
    for want in ("F-0036", "QF170", "across 380 / around 640 mm", "lot A6-118", "use by 2027-09-30",
                 "untouched, film on", "cut 2027-01-11 from L-0001", "place R2", "around", "coating"):  # fmt: skip
        assert want in told
    exposed = replace(OFFCUT, relief=0.6, exposed=date(2027, 2, 1), lot=None, expiry=None, place="")
    told = words(offcut_label(exposed, Unit.INCH))
    assert "back-exposed to relief 0.6 on 2027-02-01" in told
    assert "across 14.961 / around 25.197 in" in told
    assert {"lot not known", "use by not stated"} <= set(told)


@pytest.mark.parametrize("text", ["x" * 60, "W" * 60, "<&>\"'", "\u05d0\u05d1 42"])
def test_long_and_foreign_texts_stay_on_the_label(text: str) -> None:
    from nest.output.text_fit import text_width

    label = offcut_label(replace(OFFCUT, material=text, lot=text, place=text, id=text[:40]), Unit.MM)
    for node in layer(label, "words").iter(f"{SVG}text"):
        bold = node.get("font-weight") == "bold"
        end = float(node.get("x", "")) + text_width(node.text or "", float(node.get("font-size", "")), bold=bold)
        assert end <= WIDE_MM - RIM_MM - CODE_MM + 0.5


def test_an_id_too_long_for_a_code_that_can_be_read_is_refused() -> None:
    with pytest.raises(ValueError, match="too long for a code"):
        offcut_label(replace(OFFCUT, id="y" * 400), Unit.MM)
