"""The line of every key of a TOML text, which the standard library's reader does not give.

The text has already been read as valid TOML; this only walks it again. Grammar: TOML 1.0.0 (toml.io).
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right

KeyPath = tuple[str | int, ...]
"""Keys from the top, with the place (from 0) in arrays of tables and in arrays."""

BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
SPACE = re.compile(r"[ \t]*")
BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
BASIC = re.compile(r'"(?:[^"\\\n]|\\.)*"')
LITERAL = re.compile(r"'[^'\n]*'")
LONG_BASIC = re.compile(r'"""(?:[^\\]|\\.)*?"{3,5}', re.DOTALL)
LONG_LITERAL = re.compile(r"'''.*?'{3,5}", re.DOTALL)
SCALAR = re.compile(r"[^,\]}#\r\n]+")


def key_lines(text: str) -> dict[KeyPath, int]:
    r"""Return the line, counted from 1, of each key, table and array entry of a valid TOML text.

    Examples
    --------
    >>> key_lines('a = 1\n[[b]]\nc.d = [\n  2]\n')[("b", 0, "c", "d")]
    3
    """
    return _Scanner(text).run()


def line_of(path: KeyPath, lines: dict[KeyPath, int]) -> int:
    """Return the line of a key, or of the nearest table around it, or 0."""
    while path:
        if path in lines:
            return lines[path]
        path = path[:-1]
    return 0


class _Scanner:
    """Walks a TOML text once; lives only inside ``key_lines``."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines: dict[KeyPath, int] = {}
        self.counts: dict[KeyPath, int] = {}
        self.starts = [0, *(found.end() for found in re.finditer("\n", text))]

    def run(self) -> dict[KeyPath, int]:
        table: KeyPath = ()
        while self._skip(BLANK) < len(self.text):
            if self.text.startswith("[", self.at):
                table = self._header()
            else:
                self._pair(table)
        return self.lines

    def _skip(self, pattern: re.Pattern[str]) -> int:
        found = pattern.match(self.text, self.at)
        self.at = found.end() if found else self.at
        return self.at

    def _take(self, *patterns: re.Pattern[str]) -> str:
        for pattern in patterns:
            found = pattern.match(self.text, self.at)
            if found and found.end() > self.at:
                self.at = found.end()
                return found.group()
        raise ValueError(f"no TOML at character {self.at}")

    def _note(self, path: KeyPath, start: int) -> None:
        self.lines.setdefault(path, bisect_right(self.starts, start))

    def _header(self) -> KeyPath:
        start = self.at
        many = self.text.startswith("[[", self.at)
        self.at += 2 if many else 1
        *parents, last = self._dotted()
        self.at += 2 if many else 1
        path: KeyPath = ()
        for key in parents:
            path = self._entered((*path, key))
            self._note(path, start)
        path = (*path, last)
        if many:
            self._note(path, start)
            self.counts[path] = self.counts.get(path, 0) + 1
            path = self._entered(path)
        self._note(path, start)
        return path

    def _entered(self, path: KeyPath) -> KeyPath:
        """Return a table's path, for an array of tables that of its newest entry."""
        return (*path, self.counts[path] - 1) if path in self.counts else path

    def _dotted(self) -> list[str]:
        keys = []
        while True:
            self._skip(SPACE)
            keys.append(_key(self._take(BASIC, LITERAL, BARE_KEY)))
            self._skip(SPACE)
            if not self.text.startswith(".", self.at):
                return keys
            self.at += 1

    def _pair(self, table: KeyPath) -> None:
        start = self.at
        path = table
        for key in self._dotted():
            path = (*path, key)
            self._note(path, start)
        self.at += 1
        self._skip(SPACE)
        self._value(path)

    def _value(self, path: KeyPath) -> None:
        opening = self.text[self.at : self.at + 1]
        if opening not in ("[", "{"):
            self._take(LONG_BASIC, LONG_LITERAL, BASIC, LITERAL, SCALAR)
            return
        self.at += 1
        count = 0
        while self.text[self._skip(BLANK) : self.at + 1] not in ("]", "}", ""):
            if opening == "{":
                self._pair(path)
            else:
                self._note((*path, count), self.at)
                self._value((*path, count))
            count += 1
            if self.text[self._skip(BLANK) : self.at + 1] == ",":
                self.at += 1
        self.at += 1


def _key(token: str) -> str:
    if token[0] == "'":
        return token[1:-1]
    return str(tomllib.loads(f"k = {token}")["k"]) if token[0] == '"' else token
