"""Repairs per machine as it ages, as a line to draw; of two groups their difference too (measure book, section 3)."""

from __future__ import annotations

from collections.abc import Mapping

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.errors import CannotAnswerError
from pipeline.estimators.line import Line as Estimated
from pipeline.estimators.mcf import MIN_AT_RISK, MeanCumulative, mcf_difference, mean_cumulative, read_at
from pipeline.measures.age_change import alone
from pipeline.measures.ageing import DAYS_A_YEAR, Curves, ageing, last_age, machines_at
from pipeline.measures.lines import Line, of_one, points
from pipeline.measures.question import Question

LINE_STEP_DAYS = 30


def repairs_by_age_line(con: duckdb.DuckDBPyConnection, question: Question, only: Mapping[str, str]) -> Line:
    """
    Mean number of repairs by age, in steps of 30 days, as a line to draw; of two groups their difference too.

    The difference, first less second in the order of the groups, stands in rows whose group columns read
    `first less second`; it goes as far as both lines do, from the later of their first ages.

    Parameters
    ----------
    con, question
        As for `repairs_by_age`.
    only : mapping
        Values of group columns: only such groups are drawn.

    Raises
    ------
    CannotAnswerError
        As `repairs_by_age`.
    """
    curves = ageing(con, question, only)
    order = sorted(range(len(curves.keys)), key=lambda at: str(tuple(curves.keys[at].values())))
    frames = [_points(curves, at, question) for at in order]
    drawn = pl.concat(frames)
    if not drawn.height:
        raise CannotAnswerError(
            f"Fewer than {MIN_AT_RISK} machines of known age were followed at any one age, so nothing can be drawn."
        )
    if len(order) == 2 and all(each.height for each in frames):
        drawn = pl.concat([drawn, _difference(curves, order[0], order[1], question)])
    return Line(drawn, question.by, "age, years", "repairs a machine has had, mean")


def _points(curves: Curves, at: int, question: Question) -> pl.DataFrame:
    since = max(float(curves.since[at]), 0.0)
    if not np.isfinite(since):
        return points([], question.by, np.zeros(0), _nothing())
    ages = _grid(since, last_age(curves, at))
    here = _here(curves, at, ages)
    read = read_at(curves.count, at, ages, int(here[0]), question.level)
    line = of_one(read.value, read.low, read.high, here)
    return points([curves.keys[at]], question.by, ages / DAYS_A_YEAR, line)


def _difference(curves: Curves, first: int, second: int, question: Question) -> pl.DataFrame:
    since = max(0.0, *(float(curves.since[at]) for at in (first, second)))
    end = min(last_age(curves, at) for at in (first, second))
    if end <= since:
        return points([], question.by, np.zeros(0), _nothing())
    ages = _grid(since, end)
    here = [_here(curves, at, ages) for at in (first, second)]
    read = [
        read_at(_since(curves, at, since, question.level), 0, ages, int(count[0]), question.level)
        for at, count in zip((first, second), here, strict=True)
    ]
    said = " less ".join(" ".join(map(str, curves.keys[at].values())) for at in (first, second))
    apart = mcf_difference(*read)
    line = of_one(apart.value, apart.low, apart.high, np.minimum(*here))
    return points([dict.fromkeys(question.by, said)], question.by, ages / DAYS_A_YEAR, line)


def _since(curves: Curves, at: int, since: float, level: float) -> MeanCumulative:
    """The curve of one group counted from a later age than its own first, so that like is compared with like."""
    windows, happenings = alone(curves, at)
    entry = np.maximum(np.asarray(windows.entry), since) if since > 0.0 else np.asarray(windows.entry)
    seen = np.asarray(windows.exit) > entry
    kept = np.asarray(happenings.time) > entry[np.asarray(happenings.unit)]
    place = np.cumsum(seen) - 1
    later = windows._replace(
        group=np.zeros(int(seen.sum()), dtype=np.int64),
        entry=entry[seen],
        exit=np.asarray(windows.exit)[seen],
    )
    events = happenings._replace(
        unit=place[np.asarray(happenings.unit)[kept]], time=np.asarray(happenings.time)[kept]
    )
    return mean_cumulative(later, events, groups=1, level=level, min_at_risk=MIN_AT_RISK)


def _grid(since: float, end: float) -> NDArray[np.float64]:
    return np.unique(np.append(np.arange(since, end, LINE_STEP_DAYS), end))


def _here(curves: Curves, at: int, ages: NDArray[np.float64]) -> NDArray[np.int64]:
    # A machine is at risk after its entry: whoever is there at the first age is counted a day later.
    return machines_at(curves, at, np.maximum(ages, ages[0] + 1))


def _nothing() -> Estimated:
    none = np.zeros((0, 0))
    return Estimated(none, none, none, none.astype(np.int64))
