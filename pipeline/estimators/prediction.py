"""What the next period will bring, foretold from periods that have been: an interval for a share yet to be counted."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

# Jeffreys' prior of a share.
PRIOR = 0.5


class Predicted(NamedTuple):
    """Share so far, and between which the next one will lie."""

    value: float
    low: float
    high: float
    dispersion: float


def next_share(successes: ArrayLike, trials: ArrayLike, next_trials: int, level: float = 0.95) -> Predicted:
    """
    Prediction interval for the share of successes in the next period.

    Beta-binomial with Jeffreys' prior. Where past periods differ more from each other than chance lets them (Pearson's
    chi-square over its degrees of freedom above 1), the interval is wider by the square root of that ratio, and by
    Student's t over the normal quantile, since the ratio itself rests on few periods.

    Parameters
    ----------
    successes, trials : array_like of int, (periods,)
        Counts of each period, at least one trial in all.
    next_trials : int
        Trials of the next period, at least 1.
    level : float
        Probability of the interval, strictly between 0 and 1.

    Returns
    -------
    Predicted
        Shares; `dispersion` is the ratio, at least 1.

    Raises
    ------
    ValueError
        If there was no trial, or a count or the level is out of range.

    References
    ----------
    Aitchison, J. & Dunsmore, I. R. (1975), Statistical Prediction Analysis (beta-binomial predictive; from memory).
    McCullagh, P. & Nelder, J. A. (1989), Generalized Linear Models, 4.5 (dispersion from Pearson's chi-square; from memory).
    """
    x, n = np.asarray(successes, dtype=np.float64), np.asarray(trials, dtype=np.float64)
    if not n.sum() > 0 or (x < 0).any() or (x > n).any():
        raise ValueError("successes must lie between 0 and trials, and there must be a trial")
    if next_trials < 1 or not 0.0 < level < 1.0:
        raise ValueError("next_trials must be at least 1, level strictly between 0 and 1")
    total, count = float(x.sum()), float(n.sum())
    tail = (1.0 - level) / 2
    future = stats.betabinom(next_trials, total + PRIOR, count - total + PRIOR)
    low, high = float(future.ppf(tail)) / next_trials, float(future.ppf(1.0 - tail)) / next_trials
    ratio = _dispersion(x[n > 0], n[n > 0])
    if ratio > 1.0:
        degrees = int((n > 0).sum()) - 1
        wider = np.sqrt(ratio) * stats.t.ppf(1.0 - tail, degrees) / stats.norm.ppf(1.0 - tail)
        middle = total / count
        low, high = middle - wider * (middle - low), middle + wider * (high - middle)
    return Predicted(total / count, max(0.0, float(low)), min(1.0, float(high)), ratio)


def _dispersion(x: np.ndarray, n: np.ndarray) -> float:
    """Pearson's chi-square of equal shares over its degrees of freedom; at least 1."""
    share = x.sum() / n.sum()
    if len(n) < 2 or not 0.0 < share < 1.0:
        return 1.0
    return max(1.0, float((((x - n * share) ** 2) / (n * share * (1.0 - share))).sum() / (len(n) - 1)))
