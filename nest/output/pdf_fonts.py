"""Fonts of the PDF: the one that comes with the library, and fonts of this computer for signs it has not."""

from __future__ import annotations

import os
import sys
import unicodedata
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator

PLAIN, BOLD = "Vera", "VeraBd"
_MISSING = "\ufffd"
_LIKELY = ("DejaVuSans.ttf", "NotoSans-Regular.ttf", "LiberationSans-Regular.ttf", "Arial Unicode.ttf", "arial.ttf")
_MOST_FONTS = 400


def ready_fonts() -> None:
    """Make the library's own fonts known to it."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    for name in (PLAIN, BOLD):
        if name not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(name, f"{name}.ttf"))


def runs(words: str, *, bold: bool) -> list[tuple[str, str]]:
    """Return a text as runs of (font, text) in the order they are drawn from left to right.

    Signs the usual font has not are taken from a font of this computer that has them; where there is none they become
    the replacement sign. Letters of right-to-left scripts are put into the order of sight, without joining them.
    """
    usual = BOLD if bold else PLAIN
    out: list[tuple[str, str]] = []
    for sign in _in_sight(words):
        font = usual if _has(usual, sign) else _other_font(sign)
        if font is None:
            font, sign = usual, _MISSING if _has(usual, _MISSING) else "?"
        if out and out[-1][0] == font:
            out[-1] = (font, out[-1][1] + sign)
        else:
            out.append((font, sign))
    return out


def _in_sight(words: str) -> str:
    """Return a text with its right-to-left stretches turned round."""
    out, stretch = [], ""
    for sign in words:
        kind = unicodedata.bidirectional(sign)
        if kind in ("R", "AL") or (stretch and (kind in ("NSM", "ES", "CS") or sign == " ")):
            stretch += sign
            continue
        out.append(_turned(stretch))
        stretch = ""
        out.append(sign)
    return "".join([*out, _turned(stretch)])


def _turned(stretch: str) -> str:
    tail = stretch[len(stretch.rstrip()) :]
    return stretch.rstrip()[::-1] + tail


@cache
def _face(font: str) -> Any:
    from reportlab.pdfbase import pdfmetrics

    return pdfmetrics.getFont(font).face


@cache
def _has(font: str, sign: str) -> bool:
    return ord(sign) in _face(font).charToGlyph


@cache
def _other_font(sign: str) -> str | None:
    for path in _font_files():
        name = _registered(path)
        if name is not None and _has(name, sign):
            return name
    return None


@cache
def _registered(path: Path) -> str | None:
    """Return the name a font file is known to the library under, None where it cannot be read."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFError, TTFont

    name = f"own-{path.stem}"
    try:
        pdfmetrics.registerFont(TTFont(name, str(path)))
    except (TTFError, OSError, ValueError, KeyError, IndexError):
        return None
    return name


@cache
def _font_files() -> tuple[Path, ...]:
    """Return the TrueType files of this computer, likely ones first, the same on every run."""
    found = sorted(set(_walked()))
    likely = {name: rank for rank, name in enumerate(_LIKELY)}
    found.sort(key=lambda path: (likely.get(path.name, len(likely)), str(path)))
    return tuple(found[:_MOST_FONTS])


def _walked() -> Iterator[Path]:
    home = Path.home()
    folders = {
        "win32": (Path(os.environ.get("WINDIR", "C:/Windows")) / "Fonts",),
        "darwin": (Path("/System/Library/Fonts"), Path("/Library/Fonts"), home / "Library/Fonts"),
    }.get(sys.platform, (Path("/usr/share/fonts"), Path("/usr/local/share/fonts"), home / ".fonts",
                         home / ".local/share/fonts"))  # fmt: skip
    for folder in folders:
        for place, _, names in os.walk(folder):
            yield from (Path(place) / name for name in names if name.lower().endswith(".ttf"))
