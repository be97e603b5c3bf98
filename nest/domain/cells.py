"""Text cells of a CSV file that no spreadsheet takes for a formula, and back.

A spreadsheet runs a cell that begins with one of ``= + - @``, a tab or a line break, also in their wide forms. Such a
cell gets an apostrophe in front; so does one that begins with apostrophes and then one of these, so that taking one
apostrophe off gives every text back exactly. (The rule of the prefix: OWASP's page on CSV injection, from memory.)
"""

from __future__ import annotations

import re

RISKY = re.compile("'*[=+\\-@\t\r\n\uff1d\uff0b\uff0d\uff20]")
GUARDED = re.compile("'+[=+\\-@\t\r\n\uff1d\uff0b\uff0d\uff20]")


def guarded(text: str) -> str:
    """Return a text as a cell that stays text.

    Examples
    --------
    >>> guarded("=1+1"), guarded("'=x"), guarded("A6-118"), guarded("it's")
    ("'=1+1", "''=x", 'A6-118', "it's")
    """
    return "'" + text if RISKY.match(text) else text


def unguarded(cell: str) -> str:
    """Return the text of a cell; undoes `guarded`.

    Examples
    --------
    >>> unguarded("'=1+1"), unguarded("''=x"), unguarded("=1+1"), unguarded("'quoted'")
    ('=1+1', "'=x", '=1+1', "'quoted'")
    """
    return cell[1:] if GUARDED.match(cell) else cell
