"""Procedures held against others in like jobs: where the total says one thing, and like machines another (Simpson's paradox)."""

from __future__ import annotations

from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray
from scipy import stats

from pipeline.estimators.multiplicity import benjamini_hochberg
from pipeline.estimators.observed_expected import (
    LEAST_OVER,
    QUESTION,
    WORSE,
    WORSE_BELOW,
    Compared,
    Stratified,
    expected_of_others,
)
from pipeline.estimators.rates import exact_rate
from pipeline.measures.procedure_jobs import DAYS

# In what jobs may be alike, beside the action; the first that disagrees with the total is told.
LIKE = ("unit_type", "age_band", "make", "symptom")
# Where fewer of a procedure's jobs have like ones elsewhere, the others say little about it.
_LEAST_COMPARED = 0.5
_NOTHING = {"like": None, "like_jobs": None, "like_observed": None, "like_expected": None}


def disagreements(
    records: pl.DataFrame, at: NDArray[np.int64], compared: Compared, level: float
) -> list[dict[str, Any]]:
    """
    For each procedure the column of LIKE in which total and like jobs disagree, with the counts in like jobs.

    A total that is worse is contradicted where in like jobs the likely range reaches down to what is usual and the ratio is
    below the question's; one that is not worse, where it is worse in like jobs (the same question, adjusted over all
    procedures and all columns). Usual is pooled from the other procedures with the same action that are not worse
    themselves: two bad ones on one kind of machine must not excuse each other.

    Parameters
    ----------
    records : DataFrame
        Of `procedure_jobs`; jobs in which a column is not known are left out of it.
    at : array of int, (jobs,)
        Place of each job's procedure.
    compared : Compared
        The totals.
    level : float
        Of the likely range.

    Returns
    -------
    list of dict, (procedures,)
        `like`, `like_jobs`, `like_observed`, `like_expected`; all null where nothing disagrees.
    """
    found = [_in_like_jobs(records, at, like, compared) for like in LIKE]
    can = np.array([(one.expected > 0.0) & (one.jobs >= _LEAST_COMPARED * compared.jobs) for one in found])
    observed = np.array([one.observed for one in found])
    expected = np.where(can, np.array([one.expected for one in found]), 1.0)
    variance = np.array([one.variance for one in found])
    disagrees = can & np.where(
        np.array(compared.band) == WORSE,
        _as_usual(observed, expected, level),
        _worse(observed, expected, variance, can),
    )
    first = disagrees.argmax(axis=0)
    return [
        {
            "like": LIKE[n],
            "like_jobs": int(found[n].jobs[place]),
            "like_observed": int(found[n].observed[place]),
            "like_expected": float(found[n].expected[place]),
        }
        if disagrees[n, place]
        else _NOTHING
        for place, n in enumerate(first.tolist())
    ]


def _in_like_jobs(records: pl.DataFrame, at: NDArray[np.int64], like: str, compared: Compared) -> Stratified:
    known = records.get_column(like).is_not_null()
    rows = records.filter(known)
    stratum = rows.select(pl.struct("action", like).rank("dense").cast(pl.Int64)).to_series().to_numpy() - 1
    return expected_of_others(
        at[known.to_numpy()],
        stratum,
        rows["time"].to_numpy(),
        rows["is_back"].to_numpy(),
        groups=len(compared.band),
        days=DAYS,
        reference=np.array(compared.band) != WORSE,
    )


def _as_usual(
    observed: NDArray[np.float64], expected: NDArray[np.float64], level: float
) -> NDArray[np.bool_]:
    limits = exact_rate(observed, expected, level)
    return np.asarray((limits.low <= 1.0) & (limits.value < QUESTION))


def _worse(
    observed: NDArray[np.float64],
    expected: NDArray[np.float64],
    variance: NDArray[np.float64],
    can: NDArray[np.bool_],
) -> NDArray[np.bool_]:
    """Asked with what is expected taken for the estimate it is: the like jobs of others may have few returns."""
    worse = np.zeros(can.shape, dtype=np.bool_)
    aim = QUESTION * expected[can]
    shape = aim**2 / np.maximum(QUESTION**2 * variance[can], aim * LEAST_OVER)
    upper = stats.nbinom.sf(observed[can] - 1.0, shape, shape / (shape + aim))
    worse[can] = benjamini_hochberg(upper) < WORSE_BELOW
    return worse
