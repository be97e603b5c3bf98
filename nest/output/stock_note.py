"""Which ledger a plan was made from and what it relies on: kept beside plan.json so that it can be released."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING

from nest.domain.stock import StockNote  # noqa: TC001 - the note is built from its type hints
from nest.errors import Fault, InputError
from nest.output.records import Wrong, json_text, value_as

if TYPE_CHECKING:
    from pathlib import Path

FORMAT = "nest-stock"
VERSION = 1
NAME = "stock.json"
_REMEDY = "make the plan with nest plan --stock LEDGER"


@dataclass(frozen=True, slots=True, kw_only=True)
class _File:
    """The whole file."""

    format: str
    version: int
    note: StockNote


def text_name(text: str) -> str:
    """Return the name of a plan file's text: its SHA-256."""
    return hashlib.sha256(text.encode()).hexdigest()


def dump_note(note: StockNote) -> str:
    """Return the text of the file; the same note always gives the same bytes."""
    value = asdict(note)
    drawn = ",\n   ".join(json_text(one) for one in value.pop("drawn"))
    head = json_text(value)[:-1]
    return f'{{"format": {json_text(FORMAT)}, "version": {VERSION},\n "note": {head},\n  "drawn": [\n   {drawn}]}}}}\n'


def load_note(path: Path, plan_text: str) -> StockNote:
    """Read the file that stands beside a plan.

    Raises
    ------
    InputError
        If it is missing, is not as `dump_note` writes it, or belongs to another plan file.
    """
    try:
        value = json.loads(path.read_bytes().decode("utf-8"))
    except FileNotFoundError:
        raise _fault(path, "a plan that draws from a ledger has this file beside it", None) from None
    except (OSError, ValueError, RecursionError) as error:
        raise _fault(path, "must be readable JSON", str(error)) from None
    try:
        read = value_as(_File, value, "")
        if (read.format, read.version) != (FORMAT, VERSION):
            raise Wrong("format", f"must be {FORMAT}, version {VERSION}", f"{read.format}, version {read.version}")
    except Wrong as wrong:
        raise _fault(path, wrong.rule, repr(wrong.got)[:60], wrong.place or None) from None
    note: StockNote = read.note
    if note.text != text_name(plan_text):
        raise _fault(path, "must belong to the plan.json beside it", "another plan's")
    return note


def _fault(path: Path, rule: str, got: str | None, where: str | None = None) -> InputError:
    return InputError((Fault(file=str(path), where=where, rule=rule, got=got, remedy=_REMEDY),))
