from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nest.intake.toml_lines import KeyPath, key_lines, line_of

TEXT = '''# a room
unit = "mm"   # [not a table]
"a b".'c.d' = 1
long = """
[fake]
x = 1
"""
raw = \'\'\'
[[fake]] \\ \'\'\'
list = [ # comment with ]
  1, "]", [
    2 ],
]
inline = { p = 1, q = { r = "}" } }
day = 2027-06-30 14:00:00

[imager]
clamp = 12.0
[stations . washer]
bar = 1
[[sheets]]
across = 1
[[sheets]]
across = 2
[sheets.box]
n = 3
[[sheets.lots]]
id = "x"
'''


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("unit",), 2),
        (("a b",), 3),
        (("a b", "c.d"), 3),
        (("long",), 4),
        (("raw",), 8),
        (("list",), 10),
        (("list", 0), 11),
        (("list", 2, 0), 12),
        (("inline", "q", "r"), 14),
        (("day",), 15),
        (("imager",), 17),
        (("imager", "clamp"), 18),
        (("stations",), 19),
        (("stations", "washer"), 19),
        (("stations", "washer", "bar"), 20),
        (("sheets",), 21),
        (("sheets", 0), 21),
        (("sheets", 0, "across"), 22),
        (("sheets", 1), 23),
        (("sheets", 1, "across"), 24),
        (("sheets", 1, "box", "n"), 26),
        (("sheets", 1, "lots", 0, "id"), 28),
    ],
)
def test_each_key_is_found_on_its_line(path: KeyPath, line: int) -> None:
    assert key_lines(TEXT)[path] == line


def test_text_inside_strings_and_comments_is_no_key() -> None:
    assert not [path for path in key_lines(TEXT) if "fake" in path or "x" in path]


def test_an_absent_key_has_the_line_of_the_table_around_it() -> None:
    lines = key_lines(TEXT)
    assert line_of(("sheets", 1, "price"), lines) == 23
    assert line_of(("nowhere",), lines) == 0


def paths_of(value: object, path: KeyPath = ()) -> set[KeyPath]:
    found = {path} - {()}
    entries = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, below in entries:
        found |= paths_of(below, (*path, key))
    return found


def test_every_key_the_reader_sees_has_a_line() -> None:
    assert paths_of(tomllib.loads(TEXT)) <= set(key_lines(TEXT))


KEYS = st.sampled_from(["a", "b-1", '"q q"', "'l.l'", '"\\u00e9"', "a.b", "x . y"])
VALUES = st.sampled_from(
    ["1", '"t#[x]"', "'''m\n[n]\n'''", '"""\\"""x"""', "[1,\n 2]", "{ a = [ {b = 1} ] }", "2027-01-01", "true"]
)
STATEMENTS = st.one_of(
    st.tuples(KEYS, VALUES).map(lambda pair: f"{pair[0]} = {pair[1]} # c"),
    KEYS.map(lambda key: f"[{key}]"),
    KEYS.map(lambda key: f"[[ {key} ]]"),
    st.just("# [c]"),
    st.just(""),
)


@given(st.lists(STATEMENTS, max_size=12))
def test_every_key_of_any_valid_text_has_a_line_that_holds_it(statements: list[str]) -> None:
    text = "\n".join(statements)
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    lines = key_lines(text)
    assert paths_of(table) <= set(lines)
    assert all(1 <= line <= text.count("\n") + 1 for line in lines.values())
