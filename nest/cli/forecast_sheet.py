"""The forecast sheet of `nest forecast`: past weeks nested alike, the back-test, and the files that hold it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.buying.back_test import HORIZON, LEAST_PAST, back_test, paths_needed
from nest.buying.crew import Crew
from nest.buying.demand_text import demand_text
from nest.buying.forecast import forecast_sheet
from nest.buying.paths import past_demand
from nest.cli.engine import engine
from nest.cli.interrupt import interruptible
from nest.output.forecast_chart import forecast_charts
from nest.output.forecast_text import forecast_csv, forecast_text
from nest.packing.team import cores_here

if TYPE_CHECKING:
    from nest.buying.demand import Demand
    from nest.cli.forecasting import ForecastRequest, Simulated
    from nest.domain.forecast import BackTest, ForecastSheet

CSV_NAME, TEXT_NAME = "forecast.csv", "forecast.txt"
STOPPING = "stopping: forecasts of the back-test that are finished are kept; once more stops at once, writes nothing"


def sheet_of(found: Simulated, request: ForecastRequest) -> ForecastSheet:
    """Return the forecast sheet of what was simulated; after an interrupt there is no back-test."""
    past = past_demand(found.history, found.room, found.wishes)
    tested, why = None, _untested(found, request)
    if not why:
        tested = _back_test(found, past, request)
        why = "" if tested else "it was interrupted"
    return forecast_sheet(found.demand, past, back_test=tested, untested=why)


def _untested(found: Simulated, request: ForecastRequest) -> str:
    """Return why there is no back-test, empty where there is one."""
    weeks = len(found.history.weeks)
    if request.no_back_test:
        return "as asked for (--no-back-test)"
    if found.interrupted:
        return "the simulation was interrupted"
    if weeks < LEAST_PAST + HORIZON:
        return (
            f"it needs {LEAST_PAST + HORIZON} past weeks and there are {weeks}: how far off such forecasts are is not "
            "known, so order with a margin of your own"
        )
    return ""


def _back_test(found: Simulated, past: Demand, request: ForecastRequest) -> BackTest | None:
    from nest.cli.forecasting import bar

    count = paths_needed(len(found.history.weeks), found.wishes.paths)
    cores = cores_here() if request.cores is None else min(request.cores, cores_here())
    words = f"back-test: {count} paths of {HORIZON} weeks"
    with interruptible(quiet=False, words=STOPPING) as interrupt, engine(), bar(count, words) as told:
        means = Crew(cores=cores, cluster=request.cluster, interrupt=interrupt, told=told)
        return back_test(found.history, past, found.room, found.wishes, means)


def sheet_files(sheet: ForecastSheet, demand: Demand) -> dict[str, str]:
    """Return the files of a forecast sheet by name: text, CSV, and a drawing for each few sizes."""
    text = f"{demand_text(demand)}\n{forecast_text(sheet)}"
    return {TEXT_NAME: text, CSV_NAME: forecast_csv(sheet), **forecast_charts(sheet)}
