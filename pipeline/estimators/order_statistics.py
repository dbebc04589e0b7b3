"""Limits of a quantile from the values themselves, whatever their shape."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

from pipeline.estimators.arrays import check_level


class Quantile(NamedTuple):
    """A quantile and its limits; a limit that too few values give is the least or greatest value."""

    value: float
    low: float
    high: float


def quantile(values: ArrayLike, share: float, level: float = 0.95) -> Quantile:
    """
    A quantile with limits by order statistics (David & Nagaraja 2003, Order Statistics, section 7.1; from memory).

    Parameters
    ----------
    values : array_like, (n,)
        At least one.
    share : float
        Between 0 and 1: 0.5 for the median.
    level : float

    Raises
    ------
    ValueError
        If there is no value, or the share is not between 0 and 1.
    """
    check_level(level)
    x = np.sort(np.asarray(values, dtype=np.float64))
    if not x.size or not 0.0 < share < 1.0:
        raise ValueError(f"a quantile needs values and a share between 0 and 1, but had {x.size} and {share}")
    tail = (1.0 - level) / 2.0
    first = int(stats.binom.ppf(tail, x.size, share))
    last = int(stats.binom.ppf(1.0 - tail, x.size, share)) + 1
    return Quantile(
        float(np.quantile(x, share)), float(x[max(first - 1, 0)]), float(x[min(last - 1, x.size - 1)])
    )
