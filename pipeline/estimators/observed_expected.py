"""
Observed against expected returns: which procedures do not hold, whatever follow-up each of their jobs had.

Expected is the sum, over a procedure's jobs, of the cumulative hazard of comparable jobs up to where each job was
followed, so that observed less expected is a martingale and no job has to be followed to the end. The procedure itself
is left out of what it is compared with.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from pipeline.estimators.arrays import check_groups, check_level, check_same_length, ints_of
from pipeline.estimators.multiplicity import benjamini_hochberg
from pipeline.estimators.rates import exact_rate

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
# A procedure is asked about when it may bring back more than half as many again as usual.
QUESTION = 1.5
WORSE_BELOW = 0.05
WORSE, CANNOT_TELL, BETTER = "worse", "cannot tell", "better"


class Compared(NamedTuple):
    """
    Arrays (procedures,).

    Attributes
    ----------
    jobs : int
    observed, expected : float
        Returns seen, and returns that comparable procedures would have had over the same follow-up.
    ratio, low, high : float
        Observed over expected with its exact Poisson limits; not a number where nothing is expected.
    adjusted_p : float
        One-sided, that the ratio is above 1.5 (mid-p), adjusted over all procedures; 1 where it cannot be asked.
    band : list of str
        worse where adjusted_p is below 0.05, better where the upper limit lies below 1 / 1.5, else cannot tell.
    """

    jobs: Ints
    observed: Floats
    expected: Floats
    ratio: Floats
    low: Floats
    high: Floats
    adjusted_p: Floats
    band: list[str]


def compare_procedures(
    procedure: ArrayLike,
    kind: ArrayLike,
    time: ArrayLike,
    returned: ArrayLike,
    *,
    days: int,
    level: float = 0.95,
) -> Compared:
    """
    Compare each procedure with the others of its kind.

    Parameters
    ----------
    procedure : array_like of int, (jobs,)
        0 … procedures - 1.
    kind : array_like of int, (procedures,)
        Procedures of one kind (the same action) are comparable.
    time : array_like of int, (jobs,)
        Day of the return, or last day followed.
    returned : array_like of bool, (jobs,)
        Whether it ended with a return.
    days : int
        Returns count up to this day.
    level : float

    Returns
    -------
    Compared
        Reference is the median of the other procedures' ratios to what is pooled from them, each weighted by what it
        expects, so that one bad procedure does not make the rest look good.

    Raises
    ------
    ValueError
        If lengths differ or a procedure is out of range.

    References
    ----------
    Breslow, N. E. & Day, N. E. (1987), Statistical Methods in Cancer Research II, chapters 2 and 3. Benjamini, Y. &
    Hochberg, Y. (1995), J. R. Statist. Soc. B 57, 289-300.
    """
    check_level(level)
    at, kinds = ints_of("procedure", procedure), ints_of("kind", kind)
    followed, back = ints_of("time", time, at_least=0), np.asarray(returned, dtype=np.bool_)
    check_same_length(procedure=at, time=followed, returned=back)
    check_groups(at, len(kinds))
    counts = _Counts(at, len(kinds), np.minimum(followed, days), back & (followed <= days), days)
    expected = np.zeros(len(kinds))
    for one in range(len(kinds)):
        others = np.flatnonzero((kinds == kinds[one]) & (np.arange(len(kinds)) != one))
        expected[one] = _reference(counts, one, others)
    return _compared(counts, expected, level)


class _Counts:
    """Returns and jobs at risk on each day, by procedure."""

    def __init__(self, at: Ints, procedures: int, time: Ints, back: NDArray[np.bool_], days: int) -> None:
        width = days + 1
        ends = np.bincount(at * width + time, minlength=procedures * width).reshape(procedures, width)
        self.jobs = ends.sum(axis=1)
        self.at_risk = ends[:, ::-1].cumsum(axis=1)[:, ::-1].astype(np.float64)
        self.returns = (
            np.bincount(at[back] * width + time[back], minlength=procedures * width)
            .reshape(procedures, width)
            .astype(np.float64)
        )
        self.observed = self.returns.sum(axis=1)

    def expected_of(self, procedures: Ints, returns: Floats, at_risk: Floats) -> Floats:
        """Returns each procedure would have with the hazard of returns over at_risk, (procedures,)."""
        hazard = np.divide(returns, at_risk, out=np.zeros_like(returns), where=at_risk > 0.0)
        return np.asarray(self.at_risk[procedures] @ hazard)


def _reference(counts: _Counts, one: int, others: Ints) -> float:
    if not others.size:
        return 0.0
    returns, at_risk = counts.returns[others].sum(axis=0), counts.at_risk[others].sum(axis=0)
    pooled = float(counts.expected_of(np.array([one]), returns, at_risk)[0])
    by_other = counts.expected_of(others, returns, at_risk)
    known = by_other > 0.0
    if not known.any():
        return 0.0
    return pooled * _weighted_median(counts.observed[others][known] / by_other[known], by_other[known])


def _weighted_median(values: Floats, weights: Floats) -> float:
    order = np.argsort(values, kind="stable")
    heaped = np.cumsum(weights[order])
    half = heaped[-1] / 2.0
    place = int(np.searchsorted(heaped, half))
    if np.isclose(heaped[place], half) and place + 1 < len(order):
        return float((values[order[place]] + values[order[place + 1]]) / 2.0)
    return float(values[order[place]])


def _compared(counts: _Counts, expected: Floats, level: float) -> Compared:
    observed, can = counts.observed, expected > 0.0
    limits = exact_rate(observed, np.where(can, expected, 1.0), level)
    aim = np.where(can, QUESTION * expected, 1.0)
    upper = stats.poisson.sf(observed, aim) + 0.5 * stats.poisson.pmf(observed, aim)
    adjusted = np.ones(len(expected))
    if can.any():
        adjusted[can] = benjamini_hochberg(upper[can])
    ratio = np.where(can, observed / np.where(can, expected, 1.0), np.nan)
    low, high = np.where(can, limits.low, np.nan), np.where(can, limits.high, np.nan)
    band = [
        WORSE if p < WORSE_BELOW else BETTER if top < 1.0 / QUESTION else CANNOT_TELL
        for p, top in zip(adjusted.tolist(), high.tolist(), strict=True)
    ]
    return Compared(counts.jobs, observed, expected, ratio, low, high, adjusted, band)
