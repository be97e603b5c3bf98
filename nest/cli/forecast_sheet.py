"""The forecast sheet of `nest forecast`: past weeks nested alike, the back-test, and the files that hold it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.buying.back_test import HORIZON, LEAST_PAST, back_test, paths_needed
from nest.buying.crew import Crew
from nest.buying.demand_text import demand_text
from nest.buying.forecast import forecast_sheet
from nest.buying.paths import corrected, past_demand
from nest.cli.bar import bar
from nest.cli.engine import engine
from nest.cli.interrupt import interruptible
from nest.output.forecast_chart import forecast_charts
from nest.output.forecast_text import forecast_csv, forecast_text
from nest.packing.team import cores_here

if TYPE_CHECKING:
    from nest.buying.checks import Ratios
    from nest.buying.demand import Demand
    from nest.buying.past import History, Wishes
    from nest.domain.forecast import ForecastSheet
    from nest.domain.room import Room

CSV_NAME, TEXT_NAME = "forecast.csv", "forecast.txt"
STOPPING = "stopping: forecasts of the back-test that are finished are kept; once more stops at once, writes nothing"


def sheet_of(demand: Demand, history: History, room: Room, wishes: Wishes, ratios: Ratios, *, cores: int | None,
             cluster: str | None, skip: str) -> ForecastSheet:  # fmt: skip
    """Return the forecast sheet of a demand.

    Parameters
    ----------
    demand
        The coming weeks, simulated from ``history``, ``room`` and ``wishes``.
    ratios
        How they were corrected; the past weeks are corrected alike. The back-test holds uncorrected figures against
        uncorrected ones.
    cores, cluster
        Who does the work of the back-test.
    skip
        Why there is to be no back-test; empty where there is.
    """
    past = past_demand(history, room, wishes)
    count = len(history.weeks)
    if not skip and count < LEAST_PAST + HORIZON:
        skip = (
            f"it needs {LEAST_PAST + HORIZON} past weeks and there are {count}: how far off such forecasts are is not "
            "known, so order with a margin of your own"
        )
    tested = None
    if not skip:
        paths = paths_needed(count, wishes.paths)
        cores = cores_here() if cores is None else min(cores, cores_here())
        words = f"back-test: {paths} paths of {HORIZON} weeks"
        with interruptible(quiet=False, words=STOPPING) as interrupt, engine(), bar(paths, words) as told:
            means = Crew(cores=cores, cluster=cluster, interrupt=interrupt, told=told)
            tested = back_test(history, past, room, wishes, means)
        skip = "" if tested else "it was interrupted"
    return forecast_sheet(demand, corrected(past, ratios), back_test=tested, untested=skip)


def sheet_files(sheet: ForecastSheet, demand: Demand) -> dict[str, str]:
    """Return the files of a forecast sheet by name: text, CSV, and a drawing for each few sizes."""
    text = f"{demand_text(demand)}\n{forecast_text(sheet)}"
    return {TEXT_NAME: text, CSV_NAME: forecast_csv(sheet), **forecast_charts(sheet)}
