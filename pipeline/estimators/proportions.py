"""Intervals for a proportion, and for the difference of two."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

from pipeline.estimators.arrays import ROUNDING, Floats, check_level, floats_of, normal_quantile, quotient


class Interval(NamedTuple):
    """Two arrays of one shape; `low` <= `high`."""

    low: Floats
    high: Floats


class Difference(NamedTuple):
    """First minus second, with its interval; three arrays of one shape."""

    value: Floats
    low: Floats
    high: Floats


def wilson(x: ArrayLike, n: ArrayLike, level: float = 0.95) -> Interval:
    """
    Wilson score interval for a proportion.

    Parameters
    ----------
    x, n : array_like, any shapes that broadcast
        Successes and trials, 0 <= x <= n. They need not be whole: with an effective sample size,
        `n` is that size and `x` is `n` times the estimated probability.
    level : float
        Confidence level, strictly between 0 and 1.

    Returns
    -------
    Interval
        Shares in [0, 1]. `low` is exactly 0 where x = 0, `high` exactly 1 where x = n, and [0, 1] where n =
        0.

    Raises
    ------
    ValueError
        If a count is negative or not finite, x exceeds n, or the level is out of range.

    References
    ----------
    Wilson, E. B. (1927), JASA 22, 209-212. Newcombe, R. G. (1998), Stat. Med. 17, 857-872, method 3.
    """
    hits, trials = _counts(x, n)
    z = normal_quantile(level)
    share = quotient(hits, trials)
    spread = z * np.sqrt(share * (1.0 - share) * trials + z * z / 4.0)
    middle = hits + z * z / 2.0
    low = np.where(hits == 0.0, 0.0, (middle - spread) / (trials + z * z))
    high = np.where(hits == trials, 1.0, (middle + spread) / (trials + z * z))
    return Interval(np.clip(low, 0.0, share), np.where(trials == 0.0, 1.0, np.clip(high, share, 1.0)))


def clopper_pearson(x: ArrayLike, n: ArrayLike, level: float = 0.95) -> Interval:
    """
    Exact ("guaranteed") interval for a proportion, from the binomial tails.

    Parameters
    ----------
    x, n : array_like, any shapes that broadcast
        Successes and trials, 0 <= x <= n.
    level : float
        Confidence level; a one-sided bound at 0.95 is the bound of `level` 0.90.

    Returns
    -------
    Interval
        Shares in [0, 1]; `low` 0 where x = 0, `high` 1 where x = n; [0, 1] where n = 0.

    Raises
    ------
    ValueError
        As `wilson`.

    References
    ----------
    Clopper, C. J. & Pearson, E. S. (1934), Biometrika 26, 404-413.
    """
    return _beta_interval(*_counts(x, n), extra=(0.0, 1.0), level=level)


def jeffreys(x: ArrayLike, n: ArrayLike, level: float = 0.95) -> Interval:
    """
    Equal-tailed Jeffreys interval, from Beta(x + 1/2, n - x + 1/2); for decisions.

    Parameters
    ----------
    x, n : array_like, any shapes that broadcast
        Successes and trials, 0 <= x <= n; they need not be whole.
    level : float
        Probability between the limits.

    Returns
    -------
    Interval
        Shares in [0, 1]. `low` is 0 where x = 0 and `high` 1 where x = n, so that the interval holds x / n.

    Raises
    ------
    ValueError
        As `wilson`.

    References
    ----------
    Brown, L. D., Cai, T. T. & DasGupta, A. (2001), Statistical Science 16, 101-133, section 3 and equation
    (8).
    """
    return _beta_interval(*_counts(x, n), extra=(0.5, 0.5), level=level)


def newcombe_difference(
    first: tuple[ArrayLike, ArrayLike, ArrayLike], second: tuple[ArrayLike, ArrayLike, ArrayLike]
) -> Difference:
    """
    Difference of two independent estimates from their own intervals (MOVER).

    Parameters
    ----------
    first, second : (value, low, high)
        Array_like each, shapes that broadcast; low <= value <= high, and both at the same level.
        With Wilson limits this is Newcombe's method 10 for proportions.

    Returns
    -------
    Difference
        `value` = first - second, with limits at the level of the two intervals, in the unit of the estimates.

    Raises
    ------
    ValueError
        If an interval does not hold its own value.

    References
    ----------
    Newcombe, R. G. (1998), Stat. Med. 17, 873-890. Zou, G. Y. & Donner, A. (2008), Stat. Med. 27, 1693-1702.
    """
    value1, low1, high1 = _estimate("first", first)
    value2, low2, high2 = _estimate("second", second)
    value = value1 - value2
    low = value - np.hypot(value1 - low1, high2 - value2)
    high = value + np.hypot(high1 - value1, value2 - low2)
    return Difference(value, low, high)


def _counts(x: ArrayLike, n: ArrayLike) -> tuple[Floats, Floats]:
    hits, trials = np.broadcast_arrays(floats_of("x", x, at_least=0.0), floats_of("n", n, at_least=0.0))
    over = hits > trials * (1.0 + ROUNDING)
    if over.any():
        raise ValueError(f"x must be at most n, but was {hits[over].flat[0]:g} of {trials[over].flat[0]:g}")
    return np.minimum(hits, trials), trials


def _beta_interval(x: Floats, n: Floats, extra: tuple[float, float], level: float) -> Interval:
    tail = (1.0 - check_level(level)) / 2.0
    before, after = extra
    # The limit at an edge is the edge itself; a 1 in its place keeps the quantile function within its domain.
    inside_low, inside_high = x > 0.0, x < n
    low = stats.beta.ppf(tail, np.where(inside_low, x + before, 1.0), n - x + after)
    high = stats.beta.ppf(1.0 - tail, x + after, np.where(inside_high, n - x + before, 1.0))
    return Interval(np.where(inside_low, low, 0.0), np.where(inside_high, high, 1.0))


def _estimate(name: str, given: tuple[ArrayLike, ArrayLike, ArrayLike]) -> tuple[Floats, Floats, Floats]:
    value, low, high = (np.asarray(part, dtype=np.float64) for part in given)
    slack = ROUNDING * np.maximum(1.0, np.abs(value))
    if not ((low <= value + slack) & (value <= high + slack)).all():
        raise ValueError(f"{name} must hold its value within its limits, but was {value}, {low}, {high}")
    return value, low, high
