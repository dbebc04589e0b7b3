"""What to teach next: returns that need not be, and the hours that nobody pays for them, by procedure (section 12)."""

from __future__ import annotations

from typing import Any

import duckdb
import numpy as np
import polars as pl

from pipeline.measures.procedure_jobs import PROCEDURE, procedure_jobs
from pipeline.measures.question import Question
from pipeline.measures.window import resolve

DRAWS, SEED = 1000, 15
_YEAR = 365.25
# Fewer returns with known hours say little of one procedure: all procedures together speak.
FEWEST_RETURNS = 3


def what_to_teach(
    con: duckdb.DuckDBPyConnection, question: Question, compared: pl.DataFrame
) -> list[dict[str, Any]]:
    """
    Procedures that come back more often than others, by the unpaid hours a year that teaching might save.

    Avoidable: observed less expected of the median of the others, a year. Its range: the observed count drawn from
    Gamma(O + 1/2), the hours of a return drawn anew from the returns, 1,000 times, seeded; the expected count stands.

    Parameters
    ----------
    con : DuckDBPyConnection
        An open build.
    question : Question
        As it was asked of `procedures`.
    compared : DataFrame
        Its rows.

    Returns
    -------
    list of dict
        Rows of `procedures` with band worse, and `avoidable, avoidable_low, avoidable_high` (returns a year), `hours_a_return`,
        `hours, hours_low, hours_high` (a year; None where no unpaid return has its minutes). The surest saving first:
        sorted by the low end.
    """
    rows = compared.filter(pl.col("band") == "worse").to_dicts()
    if not rows:
        return []
    bounds = resolve(con, question, needs_closed_jobs=True)
    records = procedure_jobs(con, bounds)
    all_hours = (records.filter(pl.col("is_back"))["unpaid_min"].drop_nulls() / 60.0).to_numpy()
    years = (bounds.to_on - bounds.from_on).days / _YEAR
    rng = np.random.default_rng(SEED)
    found = []
    for row in rows:
        is_it = pl.all_horizontal(pl.col(name).eq_missing(pl.lit(row[name])) for name in PROCEDURE)
        own = (records.filter(is_it & pl.col("is_back"))["unpaid_min"].drop_nulls() / 60.0).to_numpy()
        found.append({**row, **_saved(row, own if len(own) >= FEWEST_RETURNS else all_hours, years, rng)})
    return sorted(
        found, key=lambda row: (-(row["hours_low"] or 0.0), -row["avoidable_low"], str(row["part_no"]))
    )


def _saved(row: dict[str, Any], hours: np.ndarray, years: float, rng: np.random.Generator) -> dict[str, Any]:
    observed, expected = row["observed"], row["expected"]
    draws = np.maximum(rng.gamma(observed + 0.5, 1.0, DRAWS) - expected, 0.0) / years
    low, high = (float(end) for end in np.quantile(draws, [0.025, 0.975]))
    avoidable = max(observed - expected, 0.0) / years
    told = {"avoidable": avoidable, "avoidable_low": low, "avoidable_high": high}
    if not len(hours):
        return {**told, "hours_a_return": None, "hours": None, "hours_low": None, "hours_high": None}
    means = rng.choice(hours, (DRAWS, len(hours))).mean(axis=1)
    ends = [float(end) for end in np.quantile(draws * means, [0.025, 0.975])]
    mean = float(hours.mean())
    return {
        **told,
        "hours_a_return": mean,
        "hours": avoidable * mean,
        "hours_low": ends[0],
        "hours_high": ends[1],
    }
