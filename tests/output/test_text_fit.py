from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from nest.output.placing import clear_part, spot_on_line
from nest.output.text_fit import Box, best_fit, largest_size, shortened, text_box, text_width, wrapped
from nest.output.words import one_line

sizes = st.floats(min_value=0.5, max_value=400.0)


@given(text=st.text(max_size=60), width=sizes, size=st.floats(min_value=0.5, max_value=20.0))
def test_shortened_text_is_never_wider_than_asked_unless_it_is_the_mere_ellipsis(
    text: str, width: float, size: float
) -> None:
    short = shortened(text, width, size)
    assert short == "…" or text_width(short, size) <= width
    assert short == text or short.endswith("…")


@given(lines=st.lists(st.text(min_size=1, max_size=30), min_size=1, max_size=5), w=sizes, h=sizes)
def test_fitted_text_stays_in_its_room(lines: list[str], w: float, h: float) -> None:
    fit = best_fit([lines], w, h, most=30.0, least=0.1)
    if fit is None:
        assert max(largest_size(lines, w, h, most=30.0, bold_first=True),
                   largest_size(lines, h, w, most=30.0, bold_first=True)) < 0.1  # fmt: skip
        return
    box = text_box(Box(x=0.0, y=0.0, w=w, h=h), fit)
    assert min(box.x, box.y) >= -1e-6
    assert box.x + box.w <= w + 1e-6
    assert box.y + box.h <= h + 1e-6


def test_text_runs_upward_where_that_makes_it_larger_by_a_third() -> None:
    upward = best_fit([["Side bearer"]], 10.0, 200.0, most=8.0, least=2.0)
    level = best_fit([["Side bearer"]], 200.0, 10.0, most=8.0, least=2.0)
    assert upward is not None
    assert level is not None
    assert (upward.upward, level.upward) == (True, False)


def test_wrapped_text_keeps_its_words_in_order() -> None:
    text = "Uncured polymer harms skin: wear gloves"
    lines = wrapped(text, 60.0, 5.0)
    assert len(lines) > 1
    assert " ".join(lines) == text
    assert all(text_width(line, 5.0) <= 60.0 for line in lines)


def test_what_cannot_be_shown_is_replaced_and_stays_on_one_line() -> None:
    assert one_line("a\x00b\x1bc\u202ed\ud800e") == "a\ufffdb\ufffdc\ufffdd\ufffde"
    assert one_line(" two\r\n\tlines ") == "two lines"
    assert one_line("印刷 é 🎨") == "印刷 é 🎨"


@given(x=sizes, y=sizes, w=sizes, h=sizes)
def test_the_clear_part_touches_nothing_taken_and_lies_in_its_box(x: float, y: float, w: float, h: float) -> None:
    box, taken = Box(x=0.0, y=0.0, w=200.0, h=100.0), [Box(x=x, y=y, w=w, h=h), Box(x=10.0, y=-5.0, w=20.0, h=10.0)]
    part = clear_part(box, taken)
    assert part.x >= 0
    assert part.y >= 0
    assert part.x + part.w <= 200.0 + 1e-9
    assert part.y + part.h <= 100.0 + 1e-9
    assert part.w * part.h < 1e-6 or not any(part.inset(1e-9).touches(other) for other in taken)


def test_a_number_goes_where_the_line_is_free() -> None:
    page = Box(x=-50.0, y=-50.0, w=300.0, h=100.0)
    busy = [Box(x=-5.0, y=-5.0, w=150.0, h=10.0)]
    found = spot_on_line((0.0, 0.0), (200.0, 0.0), 10.0, 6.0, busy, [], page)
    assert found is not None
    assert not found.touches(busy[0])
    # Nothing free at all: no number rather than one over another.
    assert spot_on_line((0.0, 0.0), (100.0, 0.0), 10.0, 6.0, [page], [], page) is None
