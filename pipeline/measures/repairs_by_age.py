"""Repairs per machine as it ages: Nelson's mean cumulative function, counts and cost (measure book, section 3)."""

from __future__ import annotations

from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.errors import CannotAnswerError
from pipeline.estimators.mcf import MIN_AT_RISK, read_at
from pipeline.estimators.sample import age_sample
from pipeline.measures.age_change import change_columns
from pipeline.measures.ageing import DAYS_A_YEAR, Curves, ageing, machines_at
from pipeline.measures.question import Question
from pipeline.measures.result import frame, sorted_rows, with_note

EXTRAS = (
    *("from_age_years", "at_risk", "cost", "cost_low", "cost_high", "currency"),
    *(
        "split_age_years",
        "to_age_years",
        "early_a_year",
        "late_a_year",
        "change",
        "change_low",
        "change_high",
    ),
    *("change_adjusted_p", "change_says", "from", "complete_to"),
)


def repairs_by_age(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """
    Mean number (and cost) of fault jobs a machine has had by each whole year of age, one row a group and age.

    Given is M(t) - M(t0), t0 the first age with at least 5 machines under observation (`from_age_years`); rows stop at
    the last age with as many. `age_years` is a group column. The `change` columns say the same in each row of a group:
    repairs a year below and above `split_age_years`, up to `to_age_years`, and whether they differ.

    Raises
    ------
    CannotAnswerError
        If no machine of known age was followed, or `shares` is asked for.
    """
    curves = ageing(con, question)
    changes = change_columns(curves, question.level)
    rows = [
        row for place, change in enumerate(changes) for row in _rows(place, curves, change, question.level)
    ]
    if not rows:
        raise CannotAnswerError(
            f"Fewer than {MIN_AT_RISK} machines of known age were followed at any one age, so nothing can be said of ageing."
        )
    names = (*question.by, "age_years")
    return sorted_rows(frame(rows, names, EXTRAS), names)


def _rows(at: int, curves: Curves, change: dict[str, Any], level: float) -> list[dict[str, Any]]:
    """One row for each whole year of age up to which at least five machines were under observation."""
    entry, leave = curves.windows_of(at)
    since = max(float(curves.since[at]), 0.0)  # a machine watched from its first day enters before it
    if not np.isfinite(since):
        return []
    years = np.arange(int(since // DAYS_A_YEAR) + 1, int(leave.max() // DAYS_A_YEAR) + 2)
    ages = years * DAYS_A_YEAR
    at_risk = machines_at(curves, at, ages)
    enough = _as_far_as_the_line_goes(at_risk)
    years, ages, at_risk = years[enough], ages[enough], at_risk[enough]
    if not years.size:
        return []
    first = max(int((entry < since + 1).sum()), MIN_AT_RISK)
    count = read_at(curves.count, at, ages, first, level)
    cost = None if curves.cost is None else read_at(curves.cost, at, ages, first, level)
    begin, end = curves.count.offsets[at], curves.count.offsets[at + 1]
    seen = np.searchsorted(curves.count.time[begin:end], ages, side="right")
    so_far = np.concatenate([[0.0], np.cumsum(curves.count.amount[begin:end])])[seen]
    fewest = np.concatenate([at_risk[:1], np.minimum.accumulate(curves.count.at_risk[begin:end])])[seen]
    samples = age_sample(so_far, np.minimum(fewest, at_risk))
    same = {**curves.keys[at], **_same_in_every_row(curves, change, level), "denominator": len(entry)}
    return [
        {
            **same,
            "age_years": int(year),
            "value": float(count.value[n]),
            "low": float(count.low[n]),
            "high": float(count.high[n]),
            "numerator": float(so_far[n]),
            "sample": str(samples[n]),
            "from_age_years": round(since / DAYS_A_YEAR, 2),
            "at_risk": int(at_risk[n]),
            "cost": None if cost is None else float(cost.value[n]),
            "cost_low": None if cost is None else float(cost.low[n]),
            "cost_high": None if cost is None else float(cost.high[n]),
        }
        for n, year in enumerate(years)
    ]


def _same_in_every_row(curves: Curves, change: dict[str, Any], level: float) -> dict[str, Any]:
    left_out = curves.left_out
    return {
        "unit": "repairs a machine, mean",
        "level": level,
        "basis": curves.basis,
        "note": with_note(f"{left_out} machines of unknown age left out" if left_out else ""),
        "currency": curves.currency,
        **change,
        "from": curves.bounds.window.from_at,
        "complete_to": curves.bounds.window.complete_to,
    }


def _as_far_as_the_line_goes(at_risk: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Up to before the first age with too few machines: the line does not begin again behind a gap."""
    too_few: NDArray[np.bool_] = np.logical_or.accumulate(at_risk < MIN_AT_RISK)
    return ~too_few
