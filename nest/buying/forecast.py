"""The forecast sheet from simulated demand: bands week by week and of the weeks together."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from nest.domain.forecast import BackTest, Band, ForecastSheet, SizeForecast

if TYPE_CHECKING:
    from nest.buying.demand import Demand

HALF, NINE_TENTHS = (0.25, 0.75), (0.05, 0.95)


def band_of(sheets: np.ndarray) -> Band:
    """Return mean and bands of one number of sheets, a value for each path; bounds are numbers that were met.

    Examples
    --------
    >>> band_of(np.arange(1, 101))
    Band(mean=50.5, low90=5, low50=25, high50=75, high90=95)
    """
    low90, low50, high50, high90 = (
        int(np.quantile(sheets, level, method="inverted_cdf")) for level in (NINE_TENTHS[0], *HALF, NINE_TENTHS[1])
    )
    return Band(mean=float(sheets.mean()), low90=low90, low50=low50, high50=high50, high90=high90)


def forecast_sheet(
    demand: Demand, past: Demand, *, back_test: BackTest | None = None, untested: str = ""
) -> ForecastSheet:
    """Return the forecast sheet.

    Parameters
    ----------
    demand
        The coming weeks; at least one path.
    past
        The past weeks nested in the same way, as `nest.buying.paths.past_demand` returns them: one path.
    back_test, untested
        How forecasts from the past did, or why that is not known.
    """
    sizes = []
    for at, size in enumerate(demand.sizes):
        sheets, drawn = demand.sheets[:, :, at], past.sheets[0, :, at]
        error = float(drawn.std(ddof=1)) / math.sqrt(len(drawn)) if len(drawn) > 1 else math.inf
        sizes.append(
            SizeForecast(
                size=size.label,
                past=tuple(int(n) for n in drawn),
                past_error=error,
                weeks=tuple(band_of(sheets[:, week]) for week in range(demand.weeks)),
                upto=tuple(band_of(sheets[:, : week + 1].sum(axis=1)) for week in range(demand.weeks)),
            )
        )
    return ForecastSheet(
        past_weeks=tuple(past.first_week + timedelta(weeks=n) for n in range(past.weeks)),
        weeks=tuple(demand.first_week + timedelta(weeks=n) for n in range(demand.weeks)),
        sizes=tuple(sizes), paths=demand.paths, basis=demand.basis, back_test=back_test, untested=untested,
    )  # fmt: skip
