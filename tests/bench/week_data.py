"""Which weeks the parts run on: those of the data folder, else invented ones."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.bench.invented import SHOPS, invented_week

if TYPE_CHECKING:
    from pathlib import Path

    from tests.bench.options import Options

USUAL_PIECES = (60, 140)
QUICK_PIECES = 10


def week_folders(options: Options, scratch: Path) -> list[Path]:
    """Return the folders of the weeks asked for, by name; a quick run takes one small week.

    Raises
    ------
    SystemExit
        If no week has a name that was asked for.
    """
    if options.data is None:
        if options.quick:
            return [invented_week(scratch, SHOPS[0], QUICK_PIECES, 0)]
        folders = [invented_week(scratch, shop, pieces, 0) for shop in SHOPS for pieces in USUAL_PIECES]
    else:
        folders = sorted(path.parent for path in options.data.glob("weeks/*/jobs.csv"))
    wanted = [folder for folder in folders if options.wants_week(folder.name)]
    if not wanted:
        raise SystemExit(f"no week named {', '.join(options.weeks)}; there are {', '.join(f.name for f in folders)}")
    return wanted[:1] if options.quick else wanted
