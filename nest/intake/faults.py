"""Gathering the faults of one input file, so that all of them are reported at once and in file order."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING

from nest.errors import Fault, InputError

if TYPE_CHECKING:
    from collections.abc import Iterable

SHOWN_CHARS = 60


class FaultList:
    """The faults found so far in one file; reading goes on after each."""

    def __init__(self, file: str) -> None:
        self.file = file
        self._found: list[tuple[int, Fault]] = []

    def add(
        self,
        *,
        rule: str,
        remedy: str,
        where: str | None = None,
        got: str | None = None,
        line: int = 0,
        show: bool = True,
    ) -> None:
        """Note one fault; ``line`` 0 is the whole file, ``show`` False keeps the line for the order only."""
        shown = line if show and line > 0 else None
        self._found.append((line, Fault(file=self.file, line=shown, where=where, rule=rule, got=got, remedy=remedy)))

    def in_order(self) -> tuple[Fault, ...]:
        """Return the faults by line, those of one line as they were found."""
        return tuple(fault for _, fault in sorted(self._found, key=lambda entry: entry[0]))

    def __bool__(self) -> bool:
        return bool(self._found)

    def stop_if_any(self) -> None:
        """Raise what was found.

        Raises
        ------
        InputError
            If there is any fault.
        """
        if self._found:
            raise InputError(self.in_order())


def quoted(value: object) -> str:
    """Return a value as a fault shows it: in quotes when text, unprintable characters escaped, never long.

    Examples
    --------
    >>> quoted("twelve"), quoted(-1.5), quoted([1, 2])
    ("'twelve'", '-1.5', 'a list')
    """
    if isinstance(value, str):
        return repr(_cut(value))
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "a table"
    return "a list" if isinstance(value, list) else _cut(str(value))


def _cut(text: str) -> str:
    return text if len(text) <= SHOWN_CHARS else text[: SHOWN_CHARS - 1] + "…"


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known name that looks most like a word, None where none does."""
    plain = {_plain(name): name for name in sorted(known, reverse=True)}
    close = difflib.get_close_matches(_plain(word)[:SHOWN_CHARS], plain, n=1, cutoff=0.55)
    return plain[close[0]] if close else None


def offer(word: str, known: Iterable[str]) -> str:
    """Return what to do about an unknown name: the nearest known one, else the list of them."""
    names = sorted(known)
    near = nearest(word, names)
    if near is not None:
        return f"did you mean '{near}'?"
    listed = ", ".join(quoted(name)[1:-1] for name in names[:30]) + (", …" if len(names) > 30 else "")
    return f"known here: {listed}" if names else "nothing is known here"


def _plain(name: str) -> str:
    return "_".join(name.casefold().replace("-", " ").replace("_", " ").split())
