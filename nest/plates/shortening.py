"""Shortening of the image around the cylinder (distortion).

A flat plate is bent round a cylinder: its printing face stretches, its base film does not. The image is therefore
made shorter around by a factor f, so that it prints at size. Derived from geometry with the base film's upper face as
the neutral layer (trade handbook practice; Flexography: Principles & Practices, 5th ed., FTA 1999, chapter on
platemaking, gives the direction; the variant without base film is NV Publications' Q&A on plate stretch).
"""

from __future__ import annotations

import math


def k_factor(thickness_mm: float, base_mm: float) -> float:
    """Return K = 2*pi*(T - B) in mm: how much longer the printing face is than the base film, per turn.

    Examples
    --------
    >>> round(k_factor(1.70, 0.125), 6)
    9.896017
    >>> k_factor(0.125, 0.125)
    0.0
    """
    return 2 * math.pi * (thickness_mm - base_mm)


def shortening_factor(k_mm: float, repeat_mm: float | None) -> float:
    """Return f = 1 - K/R, or 1 where there is no repeat.

    Raises
    ------
    ValueError
        If the repeat is not longer than K: no such cylinder can carry the plate.

    Examples
    --------
    >>> round(shortening_factor(k_factor(1.70, 0.125), 500.0), 7)
    0.980208
    >>> shortening_factor(9.9, None)
    1.0
    """
    if repeat_mm is None:
        return 1.0
    if repeat_mm <= k_mm:
        raise ValueError(f"repeat {repeat_mm} mm must be longer than K = {k_mm:.4f} mm")
    return 1.0 - k_mm / repeat_mm


def repeat_of_teeth(teeth: float, pitch_mm: float) -> float:
    """Return the repeat in mm of a gear with so many teeth (CP or DP systems differ only in the pitch)."""
    return teeth * pitch_mm


def full_wrap_length(repeat_mm: float, k_mm: float, seam_mm: float) -> float:
    """Return the longest flat piece in mm that goes round its cylinder: R - K - seam (seam at base film level)."""
    return repeat_mm - k_mm - seam_mm
