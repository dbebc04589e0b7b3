"""Time to fix as a line to draw: the share of jobs done within so much time (measure book, section 6)."""

from __future__ import annotations

from collections.abc import Mapping

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.errors import CannotAnswerError
from pipeline.estimators.line import incidence_line
from pipeline.measures.groups import positions
from pipeline.measures.lines import Line, of, points
from pipeline.measures.question import Question
from pipeline.measures.time_to_fix import (
    FIXED,
    RESTRICTED_TO_DAYS,
    bounds_of,
    fixed_jobs,
    grouping_of,
    refuse_slots,
    waits,
)

LINE_POINTS = 80
SHOWN = 0.98  # the longest jobs would squeeze the others into a corner; the line ends before them
X_UNITS = {
    "hands-on": "minutes on the machine",
    "restored": "days since the report",
    "visits": "visits",
}


def time_to_fix_line(con: duckdb.DuckDBPyConnection, question: Question, only: Mapping[str, str]) -> Line:
    """
    Share of jobs done within so many minutes, days or visits, as a line to draw.

    Parameters
    ----------
    con, question
        As for `time_to_fix`.
    only : mapping
        Values of group columns: only such groups are drawn.

    Raises
    ------
    CannotAnswerError
        As `time_to_fix`.
    """
    groups = grouping_of(question)
    records = of(_records(con, question), only)
    keys, at = positions(records, groups.names)
    time = records["time"].to_numpy().astype(np.int64)
    line = incidence_line(
        at,
        time,
        records["cause"].to_numpy().astype(np.int64),
        records["unit"].to_numpy(),
        groups=len(keys),
        days=(x := _grid(time, question.clock)),
        n_causes=2,
        causes=(FIXED,),
        level=question.level,
    )
    return Line(
        points(keys, groups.names, x, line), groups.names, X_UNITS[question.clock], "share of jobs done"
    )


def _records(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """One row per job and group: time in whole minutes (begun ones count), days or visits; how it ended; machine."""
    if question.clock == "restored":
        found = waits(con, grouping_of(question), bounds_of(con, question))
        return found.rename({"days": "time"})
    if question.clock == "hands-on":
        refuse_slots(con)
    column = {"hands-on": "j.hands_on_min", "visits": "j.count_visits"}[question.clock]
    found = fixed_jobs(con, question, column)
    if not found.height:
        raise CannotAnswerError("The log records no such time for a fixed job, so there is nothing to draw.")
    return found.with_columns(pl.col("x").ceil().alias("time"), pl.lit(FIXED).alias("cause"))


def _grid(time: NDArray[np.int64], clock: str) -> NDArray[np.int64]:
    end = RESTRICTED_TO_DAYS if clock == "restored" else int(np.quantile(time, SHOWN, method="inverted_cdf"))
    return np.unique(np.linspace(0, max(end, 1), LINE_POINTS).round().astype(np.int64))
