"""The forecast sheet: demand of coming weeks by size with bands, beside the past, and how such forecasts did."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Sheets as simulated: the mean, and between which numbers half and nine tenths of the futures lie."""

    mean: float
    low90: int
    low50: int
    high50: int
    high90: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeForecast:
    """One size: what the past weeks drew, each coming week, and all coming weeks up to each together.

    ``past_error`` is the standard error of the mean of the past weeks, sheets a week.
    """

    size: str
    past: tuple[int, ...]
    past_error: float
    weeks: tuple[Band, ...]
    upto: tuple[Band, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeTest:
    """How forecasts of one size did, sheets.

    ``bias`` is forecast less truth of a week on average, ``off`` the mean distance of the total over the weeks forecast
    from the truth; ``plain_*`` the same of the mean of the last weeks. ``in50`` and ``in90`` are the shares of weeks
    inside the bands, ``due50`` and ``due90`` the shares that the futures themselves have there: more than the band is
    named for, as sheets are whole.
    """

    size: str
    weekly: float
    bias: float
    off: float
    plain_bias: float
    plain_off: float
    in50: float
    in90: float
    due50: float
    due90: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BackTest:
    """Forecasts made at weeks of the past from what was known then; ``origins`` are their first Mondays."""

    origins: tuple[date, ...]
    weeks: int
    paths: int
    plain_weeks: int
    sizes: tuple[SizeTest, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ForecastSheet:
    """Demand of coming weeks; ``untested`` says why there is no back-test where there is none."""

    past_weeks: tuple[date, ...]
    weeks: tuple[date, ...]
    sizes: tuple[SizeForecast, ...]
    paths: int
    basis: tuple[str, ...] = ()
    back_test: BackTest | None = None
    untested: str = ""
