"""One table of the room file: takes each key with its rule, notes faults, and knows which keys it did not ask for."""

from __future__ import annotations

import math
import unicodedata
from datetime import date, datetime
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING, TypeVar

from nest.intake.faults import FaultList, nearest, offer, quoted
from nest.intake.toml_lines import KeyPath, line_of

if TYPE_CHECKING:
    from collections.abc import Mapping

LONGEST_MM = 100_000.0
MOST_MONEY = 1e9
MOST_COUNT = 1_000_000

Choice = TypeVar("Choice", bound=StrEnum)


class Keys:
    """The keys of one table. Every ``take`` method notes what is wrong and then answers with the default."""

    def __init__(
        self, table: Mapping[str, object], path: KeyPath, lines: dict[KeyPath, int], faults: FaultList, scale: Fraction
    ) -> None:
        self.table = table
        self.path = path
        self.lines = lines
        self.faults = faults
        self.scale = scale
        self._asked: set[str] = set()

    def __contains__(self, key: str) -> bool:
        return key in self.table

    def note(self, key: str | None, *, rule: str, remedy: str, got: str | None = None) -> None:
        """Note a fault of a key, or of the whole table where the key is None."""
        self.note_at(self.path if key is None else (*self.path, key), rule=rule, remedy=remedy, got=got)

    def note_at(self, path: KeyPath, *, rule: str, remedy: str, got: str | None = None) -> None:
        """Note a fault of any key of the file, by its path from the top."""
        where = dotted(path) or None
        self.faults.add(line=line_of(path, self.lines), where=where, rule=rule, got=got, remedy=remedy)

    def take(self, key: str, *, required: bool = False) -> object | None:
        """Return a value as it stands, None where the key is absent."""
        self._asked.add(key)
        value = self.table.get(key)
        if value is None and required:
            self.note(None, rule=f"the required key '{key}' is missing", remedy="add it")
        return value

    def number(
        self, key: str, *, least: float = 0.0, most: float = LONGEST_MM, above: bool = False, required: bool = False
    ) -> float | None:
        """Return a finite number from ``least`` (or above it) to ``most``."""
        value = self.take(key, required=required)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float):
            remedy = "write it without quotes, with a decimal point" if isinstance(value, str) else "write one figure"
            self._refuse(key, "must be a number", value, remedy)
            return None
        rule = None
        if not isinstance(value, int) and not math.isfinite(value):
            rule = "must be a finite number"
        elif value < least or (above and value <= least):
            rule = f"must be above {least:.10g}" if above else f"must be {least:.10g} or more"
        elif value > most:
            rule = f"must be at most {most:.10g}"
        if rule is not None:
            self._refuse(key, rule, value, "correct the figure")
            return None
        return float(value)

    def length(self, key: str, *, above: bool = False, required: bool = False) -> float | None:
        """Return a length in mm, converted exactly from the room's unit."""
        value = self.number(key, most=LONGEST_MM / float(self.scale), above=above, required=required)
        return None if value is None else float(Fraction(repr(value)) * self.scale)

    def length_or(self, key: str, default_mm: float) -> float:
        """Return a length in mm, the default where the key is absent."""
        value = self.length(key)
        return default_mm if value is None else value

    def number_or(self, key: str, default: float, *, most: float = MOST_MONEY) -> float:
        """Return a number of 0 or more, the default where the key is absent."""
        value = self.number(key, most=most)
        return default if value is None else value

    def count(self, key: str, *, least: int = 0, most: int = MOST_COUNT) -> int | None:
        """Return a whole number."""
        value = self.number(key, least=least, most=most)
        if value is None:
            return None
        if not value.is_integer():
            self._refuse(key, "must be a whole number", self.table[key], "write a count")
            return None
        return int(value)

    def count_or(self, key: str, default: int, *, least: int = 0) -> int:
        """Return a whole number, the default where the key is absent."""
        value = self.count(key, least=least)
        return default if value is None else value

    def text(self, key: str, *, required: bool = False) -> str | None:
        """Return a text of one line, not empty, without spaces at its ends."""
        value = self.take(key, required=required)
        if value is None:
            return None
        if not isinstance(value, str):
            self._refuse(key, "must be text", value, "write it in quotes")
            return None
        rule = text_rule(value)
        if rule is not None:
            self._refuse(key, rule, value, "correct the text")
            return None
        return value

    def flag(self, key: str, default: bool) -> bool:
        """Return true or false."""
        value = self.take(key)
        if value is None:
            return default
        if not isinstance(value, bool):
            self._refuse(key, "must be true or false", value, "write true or false, without quotes")
            return default
        return value

    def choice(self, key: str, choices: type[Choice], default: Choice) -> Choice:
        """Return one of the choices, in any case."""
        value = self.take(key)
        if value is None:
            return default
        words = [choice.value for choice in choices]
        if not isinstance(value, str) or value.strip().casefold() not in words:
            remedy = offer(value, words) if isinstance(value, str) else "write the word in quotes"
            self._refuse(key, f"must be one of {', '.join(words)}", value, remedy)
            return default
        return choices(value.strip().casefold())

    def day(self, key: str) -> date | None:
        """Return a date without a time."""
        value = self.take(key)
        if value is None:
            return None
        if isinstance(value, datetime) or not isinstance(value, date):
            self._refuse(key, "must be a date", value, "write it like 2027-06-30, without quotes and time")
            return None
        return value

    def tables(self, key: str) -> tuple[Keys, ...]:
        """Return the tables of an array of tables such as ``[[sheets]]``."""
        value = self.take(key)
        if value is None:
            return ()
        if not isinstance(value, list) or not all(isinstance(entry, dict) for entry in value):
            self._refuse(key, "must be an array of tables", value, f"head each entry with [[{key}]]")
            return ()
        return tuple(self._below(entry, (*self.path, key, n)) for n, entry in enumerate(value))

    def section(self, key: str) -> Keys | None:
        """Return a table below this one, None where it is absent."""
        value = self.take(key)
        if value is None:
            return None
        if not isinstance(value, dict):
            self._refuse(key, "must be a table", value, f"head it with [{dotted((*self.path, key))}]")
            return None
        return self._below(value, (*self.path, key))

    def finish(self) -> None:
        """Note every key that nobody asked for, with the nearest known one."""
        for key in self.table:
            if key not in self._asked:
                near = nearest(key, self._asked)
                remedy = f"did you mean '{near}'?" if near else f"known here: {', '.join(sorted(self._asked))}"
                self.note(key, rule="unknown key", got=quoted(key), remedy=remedy)

    def _below(self, table: dict[str, object], path: KeyPath) -> Keys:
        return Keys(table, path, self.lines, self.faults, self.scale)

    def _refuse(self, key: str, rule: str, value: object, remedy: str) -> None:
        self.note(key, rule=rule, got=quoted(value), remedy=remedy)


def text_rule(text: str) -> str | None:
    """Return the rule a text of the room file breaks, None where it is in order."""
    if not text.strip():
        return "must not be empty"
    if text != text.strip():
        return "must not begin or end with spaces"
    if any(unicodedata.category(c) in ("Cc", "Zl", "Zp", "Cs") for c in text):
        return "must be one line of text without control characters"
    return None


def dotted(path: KeyPath) -> str:
    """Return a key path as faults show it; entries of arrays are counted from 1.

    Examples
    --------
    >>> dotted(("sheets", 0, "across")), dotted(("materials", "HB 170", "base"))
    ('sheets[1].across', "materials.'HB 170'.base")
    """
    words = ""
    for key in path:
        if isinstance(key, int):
            words += f"[{key + 1}]"
        else:
            plain = key.isascii() and key.replace("_", "").replace("-", "").isalnum()
            words += ("." if words else "") + (key if plain else quoted(key))
    return words
