"""What `nest stock labels` does: labels for offcuts, one file each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.cli.stock_view import open_ledger
from nest.cli.streams import show, tell
from nest.errors import StockError
from nest.output.drawing import id_of
from nest.output.offcut_label import offcut_label
from nest.output.words import counted
from nest.output.write import write_files

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path


def write_labels(path: Path, refs: Sequence[str], out: Path) -> int:
    """Write labels of the offcuts named, or of all on the rack; return the exit code.

    Raises
    ------
    StockError
        If an id is no offcut on the rack.
    """
    with open_ledger(path) as ledger:
        stock = ledger.stock()
    rack = {offcut.id: offcut for offcut in stock.offcuts if offcut.on_rack}
    missing = [ref for ref in refs if ref not in rack]
    if missing:
        raise StockError(f"{', '.join(missing)}: not on the rack; see nest stock list; nothing has been written")
    files: dict[str, str] = {}
    for ref in refs or rack:
        try:
            files[f"label-{id_of(ref)}.svg"] = offcut_label(rack[ref], stock.unit)
        except ValueError as fault:
            raise StockError(f"{fault}; nothing has been written") from fault
    if not files:
        tell("no offcut is on the rack")
        return 0
    write_files(out, files)
    show("".join(f"{out / name}\n" for name in files))
    tell(f"{counted(len(files), 'label')}; print at 100 %: the frame measures 100 × 60 mm")
    return 0
