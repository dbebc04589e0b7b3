"""Part life after a fix: how long until the same part of the same machine is worked on again (measure book, section 4)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.estimators.competing import Probability, incidence_of_records
from pipeline.estimators.curves import curves_from_records
from pipeline.estimators.jackknife import checked_records
from pipeline.estimators.restricted import RestrictedMean, restricted_mean
from pipeline.estimators.sample import TOO_FEW, proportion_sample
from pipeline.estimators.weibull import MIN_FAILURES, Weibull, fit_weibull, shape_words
from pipeline.measures.counted_parts import without_group
from pipeline.measures.groups import positions
from pipeline.measures.life_records import FIRST_LIFE, WORKED_AGAIN, ends, followed, grouping
from pipeline.measures.question import Question
from pipeline.measures.result import frame, more_noted, sorted_rows, with_note
from pipeline.measures.window import Bounds, resolve

DAYS = (30, 90, 365)
YEAR = 365
EXTRAS = (
    *("days", "at_risk", "effective_n"),
    *(f"{name}_{days}" for days in DAYS for name in ("by", "low", "high", "at_risk", "sample")),
    *("mean_days_in_year", "mean_days_low", "mean_days_high", "mean_days_sample"),
    *("shape", "shape_low", "shape_high", "scale_days", "shape_says", "from", "complete_to"),
)


@dataclass(frozen=True)
class _Lives:
    """What is worked out of the records, one entry a group."""

    asked: Probability
    by: dict[int, Probability]
    mean: RestrictedMean
    shape: Weibull
    says: list[str | None]


def part_life(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """
    Probability that a part is worked on again within the days asked for, by 30, 90 and 365 days, and its mean life in a year.

    With `action` among the groups, first lives of machines installed within the window stand in rows of their own.

    Raises
    ------
    CannotAnswerError
        If no part was fixed on a known machine on a known day.
    """
    bounds = resolve(con, question, needs_closed_jobs=True)
    groups = grouping(question)
    records = followed(con, groups, bounds)
    keys, at = positions(records, groups.names)
    lives = _estimate(records, at, len(keys), question)
    rows = [_row(key, place, lives, question, bounds) for place, key in enumerate(keys)]
    found = sorted_rows(frame(rows, groups.names, EXTRAS), groups.names)
    return more_noted(found, without_group(con, groups.names))


def _estimate(records: pl.DataFrame, at: NDArray[np.int64], groups: int, question: Question) -> _Lives:
    time, cause = ends(records)
    unit = records["machine_no"].to_numpy()

    def by(day: int) -> Probability:
        return incidence_of_records(
            at,
            time,
            cause,
            unit,
            groups=groups,
            day=day,
            n_causes=2,
            causes=(WORKED_AGAIN,),
            level=question.level,
        )

    curves = curves_from_records(at, time, cause, groups=groups, causes=2)
    by_unit = checked_records(at, time, cause, unit, None)
    failed = curves.events[:, WORKED_AGAIN]
    others = curves.events.sum(axis=1) - failed + curves.censored
    # A life of whole days can be 0 days long: it stands at the middle of its day. Days are far fewer than lives.
    shape = fit_weibull(curves.group, curves.time + 0.5, failed, others, groups=groups, level=question.level)
    return _Lives(
        by(question.days),
        {day: by(day) for day in DAYS},
        restricted_mean(curves, YEAR, (WORKED_AGAIN,), question.level, by_unit),
        shape,
        shape_words(shape),
    )


def _row(key: dict[str, Any], at: int, lives: _Lives, question: Question, bounds: Bounds) -> dict[str, Any]:
    asked = lives.asked
    low, high = float(asked.low[at]), float(asked.high[at])
    short = int(asked.followed_to[at]) < question.days and float(asked.value[at]) < 1.0
    is_first = key.get("action") == FIRST_LIFE
    return {
        **key,
        "value": float(asked.value[at]),
        "low": low,
        "high": high,
        "numerator": int(asked.events[at]),
        "denominator": int(asked.n[at]),
        "unit": f"probability that the part is worked on again within {question.days} days",
        "level": question.level,
        "sample": _sample(asked, at, is_reached=not short),
        "basis": "listed machines installed within the window"
        if is_first
        else "parts fixed on known machines",
        "note": with_note("followed for fewer days than asked: a floor" if short else ""),
        "days": question.days,
        "at_risk": int(asked.at_risk[at]),
        "effective_n": float(asked.n_eff[at]),
        **_by_days(lives, at),
        **_mean_life(lives, at),
        **_shape(lives, at),
        "from": bounds.window.from_at,
        "complete_to": bounds.window.complete_to,
    }


def _by_days(lives: _Lives, at: int) -> dict[str, Any]:
    """Nothing is said of a day that nobody was followed to."""
    found: dict[str, Any] = {}
    for day, estimate in lives.by.items():
        is_reached = int(estimate.followed_to[at]) >= day or float(estimate.value[at]) >= 1.0
        sample = _sample(estimate, at, is_reached=is_reached)
        found |= {
            f"by_{day}": None if sample == TOO_FEW else float(estimate.value[at]),
            f"low_{day}": float(estimate.low[at]) if is_reached else None,
            f"high_{day}": float(estimate.high[at]) if is_reached else None,
            f"at_risk_{day}": int(estimate.at_risk[at]),
            f"sample_{day}": sample,
        }
    return found


def _sample(estimate: Probability, at: int, *, is_reached: bool) -> str:
    if not is_reached:
        return TOO_FEW
    low, high = float(estimate.low[at]), float(estimate.high[at])
    return str(proportion_sample(float(estimate.n_eff[at]), low, high, int(estimate.units[at])))


def _mean_life(lives: _Lives, at: int) -> dict[str, Any]:
    """As much may be said of the mean as of the year's probability: the same records stand behind both."""
    if not bool(lives.mean.is_complete[at]):
        return {}
    sample = _sample(lives.by[YEAR], at, is_reached=True)
    return {
        "mean_days_in_year": None if sample == TOO_FEW else float(lives.mean.value[at]),
        "mean_days_sample": sample,
        "mean_days_low": float(lives.mean.low[at]),
        "mean_days_high": float(lives.mean.high[at]),
    }


def _shape(lives: _Lives, at: int) -> dict[str, Any]:
    fit = lives.shape
    if not bool(fit.is_fitted[at]) or int(fit.events[at]) < MIN_FAILURES:
        return {}
    return {
        "shape": float(fit.shape[at]),
        "shape_low": float(fit.shape_low[at]),
        "shape_high": float(fit.shape_high[at]),
        "scale_days": float(fit.scale[at]),
        "shape_says": lives.says[at],
    }
