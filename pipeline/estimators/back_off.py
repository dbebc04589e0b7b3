"""
Chances of the fixes of a symptom, from the coarsest group of jobs to the finest: each level leans on the one before it.

A level with few jobs stays near the one before, one with many speaks for itself: Dirichlet smoothing with the coarser
level as its mean and `kappa` jobs of weight (MacKay and Peto, 1995, Natural Language Engineering 1, 289-308).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from pipeline.estimators.arrays import check_level

Floats = NDArray[np.float64]
ROOT = 0.5  # added to every fix seen at all


class Chances(NamedTuple):
    """Arrays (fixes,): chance at the finest level, its limits, and the jobs behind it, those lent by the level before too."""

    value: Floats
    low: Floats
    high: Floats
    weight: Floats


def root(counts: ArrayLike) -> Floats:
    """Chances at the coarsest level: one half added to every fix."""
    n = np.asarray(counts, dtype=np.float64) + ROOT
    return np.asarray(n / n.sum()) if n.size else n


def leaning(counts: ArrayLike, before: ArrayLike, kappa: float, even: float = 0.0) -> Floats:
    """Chances at a level: n + kappa p, p those of the level before, and `even` more for every fix seen, over their sum."""
    n = np.asarray(counts, dtype=np.float64)
    jobs = n + _lent(n, np.asarray(before, dtype=np.float64), kappa, even)
    return np.asarray(jobs / jobs.sum())


def _lent(n: Floats, before: Floats, kappa: float, even: float) -> Floats:
    return np.asarray(kappa * before + even * (n > 0.0))


def chances(
    levels: Sequence[ArrayLike], kappa: ArrayLike, even: ArrayLike = 0.0, level: float = 0.95
) -> Chances:
    """
    Chances at the finest of several levels.

    Parameters
    ----------
    levels : sequence of array_like, (fixes,)
        Jobs by fix, coarsest first; weights need not be whole.
    kappa : float or array_like, (levels - 1,)
        Above 0; one for every step from a level to the next, or one for all.
    even : float or array_like, (levels - 1,)
        Not below 0: jobs lent at each step to every fix seen at the finer level, as if each were as likely before any was
        seen. Shares as they stand are too sure of the commonest.
    level : float
        Of the limits: Beta(n + lent, N - n + lent to the others), lent = kappa p of the level before the finest, and even.

    Returns
    -------
    Chances
        Adding up to 1.

    Raises
    ------
    ValueError
        If there is no level, kappa is not above 0, or even is below it.
    """
    check_level(level)
    if not levels:
        raise ValueError("there must be at least one level")
    steps = np.broadcast_to(np.asarray(kappa, dtype=np.float64), (len(levels) - 1,))
    if not np.all(np.asarray(kappa, dtype=np.float64) > 0.0):
        raise ValueError(f"kappa must be above 0, but was {steps.tolist()}")
    evens = np.broadcast_to(np.asarray(even, dtype=np.float64), (len(levels) - 1,))
    if np.any(evens < 0.0):
        raise ValueError(f"even must not be below 0, but was {evens.tolist()}")
    value = root(levels[0])
    lent = np.full(value.shape, ROOT)
    for counts, weight, more in zip(levels[1:], steps, evens, strict=True):
        lent = _lent(np.asarray(counts, dtype=np.float64), value, float(weight), float(more))
        value = leaning(counts, value, float(weight), float(more))
    n = np.asarray(levels[-1], dtype=np.float64)
    a, b = n + lent, n.sum() - n + lent.sum() - lent
    tail = (1.0 - level) / 2.0
    low, high = (np.asarray(stats.beta.ppf(at, a, b)) for at in (tail, 1.0 - tail))
    return Chances(value, low, high, np.asarray(a))


def something_else(seen_once: float, jobs: float) -> float:
    """Chance of a fix not seen before: (n1 + 1/2) / (n + 1), at most one half (Good, 1953, Biometrika 40, 237-264)."""
    return min(0.5, (seen_once + 0.5) / (jobs + 1.0))
