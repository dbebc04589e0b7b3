"""What is usual for a count: the range in which the next one is expected, from those before it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from scipy.stats import betabinom

from pipeline.estimators.arrays import check_level, check_same_length, ints_of

# Fewer stretches say too little of how much they differ among each other.
FEWEST = 6
BELOW, WITHIN, ABOVE = "below", "within", "above"


class Usual(NamedTuple):
    """The usual share, and the limits between which so many of `of` are expected."""

    share: float
    low: int
    high: int

    def where(self, events: int) -> str:
        """BELOW, WITHIN or ABOVE what is usual."""
        return BELOW if events < self.low else ABOVE if events > self.high else WITHIN


def usual_range(events: ArrayLike, of: ArrayLike, now_of: int, level: float = 0.95) -> Usual | None:
    """
    Range of the next count, by what was counted before.

    Beta-binomial with Jeffreys' prior; where stretches differ by more than chance, wider by the root of the dispersion.

    Parameters
    ----------
    events, of : array_like of int, (stretches,)
        Counted in each stretch before, of so many; a stretch of none is left out.
    now_of : int
        How many there are now.
    level : float
        Share of stretches that shall lie within.

    Returns
    -------
    Usual or None
        None where fewer than FEWEST stretches came before, or there is nothing now.

    Raises
    ------
    ValueError
        If lengths differ, a count is negative or above its total, or the level is out of range.

    References
    ----------
    Prediction by the beta-binomial: Aitchison, J. & Dunsmore, I. R. (1975), Statistical Prediction Analysis, ch. 5, from
    memory. Dispersion as Pearson's chi-squared over its degrees of freedom: McCullagh & Nelder (1989), section 4.5.
    """
    x, n = ints_of("events", events, at_least=0), ints_of("of", of, at_least=0)
    check_same_length(events=x, of=n)
    check_level(level)
    if (x > n).any():
        raise ValueError("events must not be more than what they are counted of")
    x, n = x[n > 0], n[n > 0]
    if len(n) < FEWEST or now_of < 1:
        return None
    a, b = x.sum() + 0.5, (n - x).sum() + 0.5
    middle = float(now_of * a / (a + b))
    low, high = betabinom.ppf([(1.0 - level) / 2.0, (1.0 + level) / 2.0], now_of, a, b)
    wider = np.sqrt(_dispersion(x, n))
    return Usual(
        float(a / (a + b)),
        max(0, int(np.floor(middle - (middle - low) * wider))),
        min(now_of, int(np.ceil(middle + (high - middle) * wider))),
    )


def _dispersion(x: np.ndarray, n: np.ndarray) -> float:
    p = x.sum() / n.sum()
    if p in (0.0, 1.0):
        return 1.0
    return max(1.0, float((((x - n * p) ** 2) / (n * p * (1.0 - p))).sum() / (len(n) - 1)))
