"""The demo: an invented week shipped with the package, planned like any other, and what to look at then."""

from __future__ import annotations

from importlib import resources
from shlex import quote
from typing import TYPE_CHECKING

from nest.cli.folder import by_sheet, check_folder
from nest.cli.planning import Request, plan_week
from nest.cli.streams import show
from nest.errors import OutputError
from nest.output.report.page import NAME as REPORT
from nest.output.write import write_files

if TYPE_CHECKING:
    from pathlib import Path

WEEK = ("jobs.csv", "room.toml")


def demo_files() -> dict[str, str]:
    """Return the shipped week: text by file name."""
    folder = resources.files("nest") / "demo_week"
    return {name: (folder / name).read_text(encoding="utf-8") for name in WEEK}


def plan_demo(out: Path) -> int:
    """Copy the week into ``out/week``, plan it into ``out`` and say what to open; return the exit code.

    Raises
    ------
    OutputError
        If the folder cannot be written, or holds a demo week that somebody has changed; what was there before stands.
    """
    check_folder(out, ())
    week = out / "week"
    _check_unchanged(week)
    write_files(week, demo_files())
    code = plan_week(Request(jobs=week / "jobs.csv", room=week / "room.toml", out=out))
    show(next_steps(out))
    return code


def write_history(out: Path) -> int:
    """Write the past weeks of the demo's room into ``out/weeks`` and its room file into ``out``; return the exit code.

    Raises
    ------
    OutputError
        If a folder cannot be written; what was there before stands.
    """
    from nest.buying.demo_history import week_files

    files = week_files()
    write_files(out / "weeks", files)
    write_files(out, {"room.toml": demo_files()["room.toml"]})
    weeks, room = quote(str(out / "weeks")), quote(str(out / "room.toml"))
    show(
        f"{len(files)} past weeks of an invented plate room: {weeks}, {min(files)} to {max(files)}\n"
        f"\nNEXT\n  what coming weeks draw: nest forecast {weeks} --room {room}\n"
    )
    return 0


def _check_unchanged(week: Path) -> None:
    for name, text in demo_files().items():
        path = week / name
        if path.is_file() and path.read_bytes() != text.encode():
            jobs, room = (quote(str(week / one)) for one in WEEK)
            raise OutputError(
                f"{path}: has been changed and would be overwritten; plan it with: nest plan {jobs} --room {room}, or "
                "choose another folder with --out"
            )


def next_steps(out: Path) -> str:
    """Return what to open and to try after the demo, with commands that run as they stand."""
    first = min((path.name for path in out.glob("guide-*.svg")), key=by_sheet, default="")
    jobs, room = (quote(str(out / "week" / name)) for name in WEEK)
    steps = (
        ("open in a browser", quote(str(out / REPORT))),
        ("print at 100 % and cut by it", quote(str(out / first))),
        ("the week it was made from", f"{jobs}, {room}"),
        ("check the plan independently", f"nest verify {quote(str(out / 'plan.json'))}"),
        ("size of every piece", f"nest pieces {jobs} --room {room}"),
        ("change a row, plan again", f"nest plan {jobs} --room {room} --out {quote(str(out))}"),
    )
    return "\nNEXT\n" + "".join(f"  {words + ':':<30} {command}\n" for words, command in steps)
