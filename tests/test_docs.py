"""The documents: commands that run, outputs that are real, tables that name every column and key.

With NEST_REWRITE_GOLDEN=1 the README's outputs and the demo's picture are written anew.
"""

from __future__ import annotations

import os
import re
import shlex
import xml.etree.ElementTree as ET
from dataclasses import MISSING, dataclass, fields
from pathlib import Path

import click
import pytest

from nest.cli.app import cli
from nest.cli.ends import run
from nest.domain.calendar import Calendar
from nest.domain.line import Line, Step
from nest.domain.room import Buying, Costs, Guides, Imager, Material, Offcut, Room, Selling, Sheet, Station
from nest.errors import StockError
from nest.intake.columns import COLUMNS
from nest.packing.bounds import AREA_PROOF, PATTERN_PROOF, SINGLE_PROOF
from nest.packing.solve import BOUND_SECONDS, MOST_AT_ONCE
from nest.pipeline import WORK_BASE, WORK_PER_UNIT
from nest.revise import revision
from nest.units import plain

ROOT = Path(__file__).parents[1]
README, DEVELOPERS, PICTURE = ROOT / "README.md", ROOT / "DEVELOPERS.md", ROOT / "fixtures" / "demo" / "guide-S01.svg"
OUTPUT = re.compile(r"<!-- output: (nest [^\n]*) -->\n```text\n(.*?)```\n", re.DOTALL)
REWRITE = bool(os.environ.get("NEST_REWRITE_GOLDEN"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Ran:
    """What the README's commands printed, by command, and the folder they ran in."""

    printed: dict[str, str]
    folder: Path


def text(path: Path = README) -> str:
    return path.read_text(encoding="utf-8")


def example_commands() -> list[str]:
    blocks = re.findall(r"```sh\n(.*?)```", text(), re.DOTALL)
    return [line for block in blocks for line in block.splitlines() if line.startswith("nest ")]


@pytest.fixture(scope="module")
def ran(tmp_path_factory: pytest.TempPathFactory) -> Ran:
    """Run every example command of the README, in its order, in an empty folder."""
    folder = tmp_path_factory.mktemp("readme")
    printed: dict[str, str] = {}
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        for command in example_commands():
            said: list[str] = []
            for module in (
                "planning", "demo", "verify", "inspection", "labels", "comparison", "printing", "stock_changes",
                "stock_views", "stock_take", "stock_labels", "release", "revising", "what_if", "forecasting", "quoting",
                "buying", "size_sets", "stock_orders", "timetable",
            ):  # fmt: skip
                patch.setattr(f"nest.cli.{module}.show", said.append)
            assert run(shlex.split(command)[1:]) == 0, command
            printed[command] = "".join(said)
            if command.startswith("nest demo"):
                # later examples plan into the same folder
                printed["the picture"] = (folder / "out" / PICTURE.name).read_text(encoding="utf-8")
    if REWRITE:
        README.write_text(OUTPUT.sub(lambda m: block(m[1], printed[m[1]]), text()), encoding="utf-8")
        PICTURE.parent.mkdir(parents=True, exist_ok=True)
        PICTURE.write_text(printed["the picture"], encoding="utf-8")
    return Ran(printed=printed, folder=folder)


def block(command: str, output: str) -> str:
    return f"<!-- output: {command} -->\n```text\n{output}```\n"


def headings(output: str) -> list[str]:
    """Return the headings that every complete plan has."""
    found = [line.split(":")[0] for line in output.splitlines() if re.match(r"[A-Z]{3,}", line)]
    return [one for one in found if not one.startswith(("PUT BACK", "SETS SPLIT", "FILL LEFT"))]


def test_every_example_command_runs_and_prints(ran: Ran) -> None:
    assert len(example_commands()) >= 6
    assert all(ran.printed[command] for command in example_commands())


def test_every_command_and_exit_code_is_described() -> None:
    assert isinstance(cli, click.Group)
    for name, command in cli.commands.items():
        assert f"nest {name}" in text()
        assert f"nest {name} " in command.get_help(click.Context(command, info_name=f"nest {name}"))
    for option in cli.commands["plan"].params:
        if isinstance(option, click.Option):
            assert f"`{option.opts[0]}" in text() or option.opts[0] == "--room", option.opts
    for name in ("replan", "remake", "timetable"):
        for option in cli.commands[name].params:
            if isinstance(option, click.Option):
                assert f"| `{max(option.opts, key=len)}" in text(), option.opts
    for code in ("0", "1", "2", "3", str(StockError.exit_code), "130"):
        assert f"| {code} |" in text()


def test_every_command_help_holds_an_example_of_its_own() -> None:
    assert isinstance(cli, click.Group)
    for name, command in cli.commands.items():
        help_text = command.get_help(click.Context(command, info_name=name))
        (example,) = re.findall(r"Example:\n\s+nest ([\w-]+) ", help_text)
        assert example == name


def test_outputs_shown_are_those_of_a_run(ran: Ran) -> None:
    shown = dict(OUTPUT.findall(text()))
    assert len(shown) == 4
    for command, output in shown.items():
        real = ran.printed[command]
        if command.startswith(("nest pieces", "nest stock")):
            assert output == real
            continue
        # another platform or version may find a slightly different plan
        assert headings(output) == headings(real)
        if command.startswith("nest timetable"):
            continue
        cost, real_cost = (float(re.findall(r"^  cost +([0-9.]+) ", one, re.MULTILINE)[0]) for one in (output, real))
        assert abs(cost - real_cost) <= 0.05 * real_cost
        assert output.split("\nNEXT\n")[1] == real.split("\nNEXT\n")[1]


def test_the_picture_is_the_guide_of_the_demo(ran: Ran) -> None:
    assert f'src="{PICTURE.relative_to(ROOT)}"' in text()
    shown, real = (ET.fromstring(one) for one in (text(PICTURE), ran.printed["the picture"]))
    layers = [
        [node.get("id") for node in root.findall("{http://www.w3.org/2000/svg}g")] for root in (shown, real)
    ]
    assert layers[0] == layers[1] != []
    assert shown.find("{http://www.w3.org/2000/svg}title") is not None


def test_the_first_paragraph_and_the_two_commands_come_first() -> None:
    title, first, start = text().split("\n\n")[:3]
    assert title == "# nest"
    assert first.startswith("`nest` plans the week")
    assert start == "## Start"
    setups = re.findall(r"```sh\n(python3 -m venv [^\n]*)\n```", text())
    assert len(setups) == 2
    assert setups[0].endswith("nest demo")
    assert setups[1].endswith("-m pytest")


def test_every_column_is_described() -> None:
    part = text().split("## Input: the jobs")[1].split("## Input: the room")[0]
    assert set(keys_and_defaults(part)) == set(COLUMNS)


def keys_and_defaults(part: str) -> dict[str, str]:
    rows = re.findall(r"^\| (`[^|]*) \| ([^|]*) \|", part, re.MULTILINE)
    return {name: default for cell, default in rows for name in re.findall(r"`(\w+)`", cell)}


@pytest.mark.parametrize(
    ("head", "record"),
    [("## Input: the room", Room), ("`[imager]`", Imager), ("`[stations.NAME]`", Station),
     ("`[materials.NAME]`", Material), ("`[[sheets]]`", Sheet), ("`[[offcuts]]`", Offcut), ("`[costs]`", Costs),
     ("`[guides]`", Guides), ("`[calendar]`", Calendar), ("`[selling]`", Selling), ("`[buying]`", Buying),
     ("`[line]`", Line), ("`[[line.steps]]`", Step)],
)  # fmt: skip
def test_every_key_is_described_with_its_default(head: str, record: type) -> None:
    part = re.split(r"\n`\[|\n## ", text().split(f"\n{head}")[1])[0]
    described = keys_and_defaults(part)
    tables = {"imager", "stations", "materials", "sheets", "offcuts", "costs", "guides", "calendar", "shifts",
              "changes", "buying", "selling", "line", "stated", "station", "name", "id"}
    for field in fields(record):
        key = field.name.removesuffix("_mm")
        if key in tables:
            continue
        assert key in described, key
        if isinstance(field.default, float | int) and not isinstance(field.default, bool):
            assert described[key].removesuffix(" mm") == plain(field.default), key
        if field.default is MISSING and field.default_factory is MISSING:
            assert described[key] == "required", key


def test_figures_and_proofs_of_the_engine_are_those_in_the_code() -> None:
    assert f"| {WORK_BASE:,}, and {WORK_PER_UNIT} more for each piece" in text()
    assert f"| {revision.WORK_BASE}, and {revision.WORK_PER_PIECE} more for each piece |" in text()
    assert f"| `--per-move AMOUNT` | {revision.PER_MOVE:.2f} |" in text()
    assert f"left out for more than {MOST_AT_ONCE} pieces of a material" in text()
    assert f"leaves it less than {BOUND_SECONDS[0][0]:.0f} s" in text()
    for proof in (AREA_PROOF, SINGLE_PROOF, PATTERN_PROOF):
        assert f"`{proof}`" in text()
        assert f"| {proof} |" in text(DEVELOPERS)


def test_files_named_in_the_developers_guide_exist() -> None:
    named = set(re.findall(r"`((?:nest|tests|fixtures)/[\w/.-]+)`", text(DEVELOPERS)))
    assert len(named) > 10
    assert [name for name in sorted(named) if not (ROOT / name).exists()] == []


def test_documents_name_no_machine_and_no_index() -> None:
    for path in (README, DEVELOPERS):
        assert not re.search(r"(?<![\w.])/(work|root|tmp|home)/|index-url|https?://\S*(pypi|simple)", text(path))
