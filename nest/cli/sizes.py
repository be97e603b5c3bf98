"""Options that hold two numbers, such as ``3x8`` labels on a page or ``210x297`` mm of paper."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import click

from nest.output.paper_sizes import PAPERS

if TYPE_CHECKING:
    from collections.abc import Callable

    Command = Callable[..., int]

MOST_MM, MOST_LABELS = 5000.0, 100
_PAIR = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*[x×X]\s*(\d+(?:[.,]\d+)?)\s*")


def pair(text: str, *, whole: bool = False, most: float = MOST_MM) -> tuple[float, float]:
    """Return the two numbers of a text such as ``63.5x38.1``.

    Raises
    ------
    click.BadParameter
        If it is not two numbers up to ``most``, or not two whole ones from 1 where ``whole`` is asked for.
    """
    found = _PAIR.fullmatch(text)
    if found is None:
        raise click.BadParameter(f"{text!r} is not two numbers such as {'3x8' if whole else '63.5x38.1'}.")
    one, other = (float(part.replace(",", ".")) for part in found.groups())
    if max(one, other) > most:
        raise click.BadParameter(f"{text!r} is above {most:g}.")
    if whole and not all(side >= 1 and side == int(side) for side in (one, other)):
        raise click.BadParameter(f"{text!r} is not two whole numbers from 1 such as 3x8.")
    return one, other


def paper(text: str) -> tuple[float, float]:
    """Return the width and height of a paper given by its name, upright, or by its size in mm.

    Raises
    ------
    click.BadParameter
        If it is neither.
    """
    by_name = {name.lower(): size for name, size in PAPERS.items()}
    if text.strip().lower() in by_name:
        return by_name[text.strip().lower()]
    if _PAIR.fullmatch(text) is None:
        raise click.BadParameter(f"{text!r} is none of {', '.join(PAPERS)} and no size in mm such as 210x297.")
    return pair(text)


def _counts(_context: click.Context, _option: click.Parameter, text: str) -> tuple[float, float]:
    return pair(text, whole=True, most=MOST_LABELS)


def _lengths(_context: click.Context, _option: click.Parameter, text: str | None) -> tuple[float, float] | None:
    return None if text is None else pair(text)


def _paper(_context: click.Context, _option: click.Parameter, text: str) -> tuple[float, float]:
    return paper(text)


def label_options(command: Command) -> Command:
    """Add the options that lay out a page of labels, all lengths in mm."""
    for option in (
        click.option("--lines/--no-lines", default=True, show_default=True,
                     help="Draw the edges of the labels, to cut plain paper by."),
        click.option("--start", type=click.IntRange(1, 10_000), default=1, show_default=True, metavar="N",
                     help="First free label on a page used before."),
        click.option("--gap", callback=_lengths, default="0x0", show_default=True, metavar="AxB",
                     help="Between labels, across x down, mm."),
        click.option("--margin", callback=_lengths, default="0x0", show_default=True, metavar="AxB",
                     help="Left of and above the first label, mm."),
        click.option("--cell", callback=_lengths, default=None, metavar="AxB",
                     help="Size of a label, mm; else the grid fills the paper inside its margins."),
        click.option("--paper", callback=_paper, default="A4", show_default=True, metavar="PAPER",
                     help=f"{', '.join(PAPERS)} or a size in mm such as 210x297."),
        click.option("--grid", callback=_counts, default="3x8", show_default=True, metavar="CxR",
                     help="Labels across x down."),
    ):  # fmt: skip
        command = option(command)
    return command
