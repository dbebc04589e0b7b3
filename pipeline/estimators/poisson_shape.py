"""
Whether counts rise and fall along something (the time of the year, the age of a machine), and by how much.

A Poisson regression of each part for itself, all parts at once: log rate = level + slopes x features, over bins with an
exposure each. A shape is taken for real only where it fits better than a flat rate by more than chance would let it, with
the share of false alarms held over all parts looked at; everywhere else the rate is flat.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from pipeline.estimators.multiplicity import benjamini_hochberg

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
# Events below which no shape is looked for: two slopes need some.
LEAST_EVENTS = 20
FALSE_ALARMS = 0.05
_ROUNDS, _LARGEST_STEP, _CLOSE = 50, 1.0, 1e-9


class Shape(NamedTuple):
    """
    Fitted shapes, by part.

    Attributes
    ----------
    slope : float, (parts, features)
        Of the log rate, drawn toward 0; 0 where nothing is shown.
    p : float, (parts,)
        Of the likelihood ratio test against a flat rate, adjusted; 1 where nothing was looked for.
    is_shown : bool, (parts,)
    """

    slope: Floats
    p: Floats
    is_shown: Bools

    def relative(self, features: ArrayLike) -> Floats:
        """Rate at some features over the rate where they are all 0, (parts, points)."""
        return np.asarray(np.exp(self.slope @ np.asarray(features, dtype=np.float64).T), dtype=np.float64)


def fit_shape(counts: ArrayLike, exposure: ArrayLike, features: ArrayLike) -> Shape:
    """
    Fit the shape of each part.

    Parameters
    ----------
    counts : array_like, (parts, bins)
        Events.
    exposure : array_like, (parts, bins)
        At least 0; bins with none count for nothing.
    features : array_like, (bins, features)

    Returns
    -------
    Shape

    References
    ----------
    McCullagh, P. & Nelder, J. A. (1989), Generalized Linear Models, chapter 6; Copas, J. B. (1983), JRSS B 45, 311-354
    (shrinkage of what was fitted); both from memory.
    """
    y, t = np.asarray(counts, dtype=np.float64), np.asarray(exposure, dtype=np.float64)
    x = np.asarray(features, dtype=np.float64)
    slope, p = np.zeros((len(y), x.shape[1])), np.ones(len(y))
    y = np.where(t > 0.0, y, 0.0)
    looked = np.flatnonzero((y.sum(axis=1) >= LEAST_EVENTS) & ((t > 0.0).sum(axis=1) > x.shape[1]))
    if len(looked):
        fitted, gain = _newton(y[looked], t[looked], x)
        p[looked] = benjamini_hochberg(stats.chi2.sf(2.0 * gain, x.shape[1]))
        # What stands out is partly chance: drawn toward flat by the share of the gain that chance alone would give.
        slope[looked] = fitted * (1.0 - np.minimum(1.0, x.shape[1] / np.maximum(2.0 * gain, 1e-300)))[:, None]
    shown = p < FALSE_ALARMS
    return Shape(np.where(shown[:, None], slope, 0.0), p, shown)


def _newton(y: Floats, t: Floats, x: Floats) -> tuple[Floats, Floats]:
    """Slopes of greatest likelihood with the level worked out of it, and the log likelihood gained over a flat rate."""
    total = y.sum(axis=1)
    beta = np.zeros((len(y), x.shape[1]))
    ridge = 1e-9 * np.eye(x.shape[1])
    best = _log_likelihood(y, t, x, beta)
    flat = best.copy()
    for _ in range(_ROUNDS):
        weight = t * np.exp(beta @ x.T)
        share = weight / weight.sum(axis=1, keepdims=True)
        mean = share @ x
        score = y @ x - total[:, None] * mean
        spread = np.einsum("pb,bi,bj->pij", share, x, x) - mean[:, :, None] * mean[:, None, :]
        step = np.linalg.solve(total[:, None, None] * spread + ridge, score[:, :, None])[:, :, 0]
        step *= np.minimum(1.0, _LARGEST_STEP / np.maximum(np.abs(step).max(axis=1), 1e-300))[:, None]
        # Half a step, and half of that, where a whole one goes too far.
        for _ in range(20):
            after = _log_likelihood(y, t, x, beta + step)
            worse = after < best - 1e-12
            if not worse.any():
                break
            step[worse] /= 2.0
        beta, best = beta + step, after
        if np.abs(step).max() < _CLOSE:
            break
    return beta, np.maximum(best - flat, 0.0)


def _log_likelihood(y: Floats, t: Floats, x: Floats, beta: Floats) -> Floats:
    """Of how the events fall on the bins, their number given."""
    line = beta @ x.T
    given = np.log((t * np.exp(line)).sum(axis=1))
    return np.asarray((y * line).sum(axis=1) - y.sum(axis=1) * given, dtype=np.float64)
