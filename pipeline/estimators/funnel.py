"""
Funnel limits around observed over expected, and how much groups differ more than chance alone lets them.

Spiegelhalter, D. J. (2005), Statistics in Medicine 24, 1185-1202: limits are drawn against the expected count so that
small groups are not taken for good or bad ones; over-dispersion is estimated from winsorised z-scores.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

Floats = NDArray[np.float64]
WINSORISED = 0.10
# Fewer groups say too little about how much groups differ.
ENOUGH_GROUPS = 10


def funnel_limits(expected: ArrayLike, tail: float) -> tuple[Floats, Floats]:
    """
    Exact Poisson limits of observed over expected where nothing is wrong.

    Parameters
    ----------
    expected : array_like, (groups,)
        Above 0.
    tail : float
        Probability on either side: 0.025 for 95 %, 0.001 for 99.8 %.

    Returns
    -------
    low, high : arrays, (groups,)
    """
    e = np.asarray(expected, dtype=np.float64)
    low = stats.chi2.ppf(tail, 2.0 * e) / 2.0 / e
    high = stats.chi2.ppf(1.0 - tail, 2.0 * e + 2.0) / 2.0 / e
    return np.asarray(low), np.asarray(high)


def z_scores(observed: ArrayLike, expected: ArrayLike) -> Floats:
    """Distance of observed from expected on the scale on which counts vary alike: 2 (sqrt(O) - sqrt(E))."""
    o, e = np.asarray(observed, dtype=np.float64), np.asarray(expected, dtype=np.float64)
    return np.asarray(2.0 * (np.sqrt(o) - np.sqrt(e)))


def overdispersion(z: ArrayLike, winsorised: float = WINSORISED) -> float:
    """
    How many times as much as by chance the groups vary.

    Parameters
    ----------
    z : array_like, (groups,)
    winsorised : float
        Share of scores at either end that are drawn in to the score at its edge; 0 for none.

    Returns
    -------
    float
        Mean of the squared scores; 1 where groups differ by chance alone, 1 too where there is no group.
    """
    scores = np.asarray(z, dtype=np.float64)
    if not scores.size:
        return 1.0
    low, high = np.quantile(scores, [winsorised, 1.0 - winsorised])
    return float(np.mean(np.clip(scores, low, high) ** 2))
