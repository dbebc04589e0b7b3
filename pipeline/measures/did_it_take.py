"""Did the teaching take: returns before and after, against procedures of the same action that were not taught (section 12)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.estimators.arrays import normal_quantile
from pipeline.estimators.observed_expected import expected_of_hazard
from pipeline.estimators.sample import CANNOT_TELL
from pipeline.measures.procedure_jobs import DAYS, PROCEDURE, procedure_jobs
from pipeline.measures.question import Question
from pipeline.measures.window import last_day, resolve

FEWEST_FIXES = 20  # on each side, as for every comparison
HOLDS, WORSE, NOT_YET = "holds better", "comes back more", "not yet known"


@dataclass(frozen=True)
class Side:
    """Fixes, their returns, and the returns that the others' hazard lets expect."""

    jobs: int
    observed: int
    expected: float

    @property
    def ratio(self) -> float:
        """Observed over expected, half a return added so that none is no proof."""
        return (self.observed + 0.5) / (self.expected + 0.5)


@dataclass(frozen=True)
class DidItTake:
    """
    What a look at a procedure after it was taught says.

    Attributes
    ----------
    verdict : str
        HOLDS, WORSE, CANNOT_TELL or NOT_YET.
    before, after, others_before, others_after : Side
        Others: procedures of the same action that were not taught.
    change, low, high : float
        Returns after over before, the others' change taken out: 0.5 is half as many.
    untouched : float
        Returns after that would be expected had nothing been taught: what is worst by chance gets better by itself.
    known_from : date
        The day from which it can be judged, as far as can be foreseen.
    """

    verdict: str
    before: Side
    after: Side
    others_before: Side
    others_after: Side
    change: float
    low: float
    high: float
    untouched: float
    known_from: date


def did_it_take(
    con: duckdb.DuckDBPyConnection,
    key: dict[str, Any],
    taught_on: date,
    *,
    also_taught: list[dict[str, Any]],
    question: Question,
) -> DidItTake:
    """
    Compare fixes finished before `taught_on` with those finished on it or later.

    Parameters
    ----------
    key : dict
        The procedure, by PROCEDURE.
    also_taught : list of dict
        Other procedures that were taught at any time: they are no comparison.
    """
    bounds = resolve(con, question, needs_closed_jobs=True)
    jobs = procedure_jobs(con, bounds).filter(pl.col("action") == key["action"])
    is_it = _is(key)
    others = jobs.filter(~pl.any_horizontal(is_it, *(_is(other) for other in also_taught)))
    mine, split = jobs.filter(is_it), (taught_on - bounds.from_on).days
    expected = _expected(mine, others), _expected(others, others)
    sides = [
        _side(side, due, is_late)
        for side, due in zip((mine, others), expected, strict=True)
        for is_late in ((side["finished_day"] < split).to_numpy(), (side["finished_day"] >= split).to_numpy())
    ]
    before, after, others_before, others_after = sides
    change, low, high = _change(sides, question.level)
    known_from = _known_from(mine, split, bounds.from_on, taught_on, last_day(bounds))
    # Shrunk toward the others by what a few returns are worth: the worst of many is partly bad luck.
    shrunk = (before.observed + _WORTH) / (before.expected + _WORTH)
    return DidItTake(
        _verdict(sides, low, high, is_known=known_from <= last_day(bounds)),
        before,
        after,
        others_before,
        others_after,
        change,
        low,
        high,
        shrunk * after.expected * others_after.ratio / others_before.ratio,
        known_from,
    )


# Returns of the others that stand beside a procedure's own before it is judged; common practice, no source.
_WORTH = 3.0


def _is(key: dict[str, Any]) -> pl.Expr:
    return pl.all_horizontal(pl.col(name).eq_missing(pl.lit(key[name])) for name in PROCEDURE)


def _expected(jobs: pl.DataFrame, others: pl.DataFrame) -> NDArray[np.float64]:
    return expected_of_hazard(jobs["time"], others["time"], others["is_back"], days=DAYS)


def _side(jobs: pl.DataFrame, expected: NDArray[np.float64], inside: NDArray[np.bool_]) -> Side:
    back = jobs["is_back"].to_numpy()
    return Side(int(inside.sum()), int(back[inside].sum()), float(expected[inside].sum()))


def _change(sides: list[Side], level: float) -> tuple[float, float, float]:
    before, after, others_before, others_after = sides
    middle = np.log(after.ratio / before.ratio) - np.log(others_after.ratio / others_before.ratio)
    spread = normal_quantile(level) * np.sqrt(sum(1.0 / (side.observed + 0.5) for side in sides))
    return tuple(float(np.exp(end)) for end in (middle, middle - spread, middle + spread))  # type: ignore[return-value]


def _verdict(sides: list[Side], low: float, high: float, *, is_known: bool) -> str:
    if not is_known:
        return NOT_YET
    if min(side.jobs for side in sides) < FEWEST_FIXES or low <= 1.0 <= high:
        return CANNOT_TELL
    return HOLDS if high < 1.0 else WORSE


def _known_from(jobs: pl.DataFrame, split: int, from_on: date, taught_on: date, last_on: date) -> date:
    """Day on which FEWEST_FIXES fixes since will have been followed DAYS days."""
    later = jobs.filter(pl.col("finished_day") >= split)["finished_day"].sort()
    if later.len() >= FEWEST_FIXES:
        return from_on + timedelta(days=int(later[FEWEST_FIXES - 1]) + DAYS)
    each = max((last_on - from_on).days, 1) / max(jobs.height, 1)
    start = max(taught_on, last_on) if later.len() else taught_on
    return max(
        start + timedelta(days=round((FEWEST_FIXES - later.len()) * each) + DAYS), last_on + timedelta(days=1)
    )
