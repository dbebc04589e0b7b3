"""Intervals for a rate (events over exposure), and for the ratio of two rates."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

from pipeline.estimators.arrays import (
    Bools,
    Floats,
    check_level,
    floats_of,
    ints_of,
    normal_quantile,
    quotient,
)
from pipeline.estimators.proportions import clopper_pearson

# The by-unit variance is itself estimated from the events; from fewer than this it is not worth more than
# Poisson's.
ROBUST_MIN_EVENTS = 10


class Rate(NamedTuple):
    """Three arrays of one shape, in events per unit of exposure; `low` <= `value` <= `high`."""

    value: Floats
    low: Floats
    high: Floats


class UnitRate(NamedTuple):
    """A rate whose interval knows that units differ; arrays of one shape."""

    value: Floats
    low: Floats
    high: Floats
    variance_ratio: Floats
    is_robust: Bools


class UnitSums(NamedTuple):
    """
    What the units of each group add up to; arrays of one shape.

    A unit with `d` events in exposure `t` adds d, t, d * d, d * t and t * t, so that a database delivers one
    row a group; `units` is the number of units with exposure.
    """

    d: ArrayLike
    t: ArrayLike
    dd: ArrayLike
    dt: ArrayLike
    tt: ArrayLike
    units: ArrayLike


class RateRatio(NamedTuple):
    """First rate over second, with interval and two-sided p-value of "equal"; arrays of one shape."""

    value: Floats
    low: Floats
    high: Floats
    p: Floats


def exact_rate(events: ArrayLike, exposure: ArrayLike, level: float = 0.95) -> Rate:
    """
    Exact Poisson (Garwood) interval for a rate.

    Parameters
    ----------
    events : array_like of int, any shape
        Events counted, >= 0.
    exposure : array_like, shape that broadcasts
        Time under observation, >= 0, in any unit (machine-years).
    level : float
        Confidence level; a one-sided bound at 0.95 is the bound of `level` 0.90.

    Returns
    -------
    Rate
        Per unit of exposure. Without exposure nothing is known: value infinite, limits 0 and infinite
        (`finite_or_none` turns what is infinite into None). Never NaN.

    Raises
    ------
    ValueError
        If a count or an exposure is negative or not finite, events are not whole, or the level is out of
        range.

    References
    ----------
    Garwood, F. (1936), Biometrika 28, 437-442.
    """
    d, t = np.broadcast_arrays(
        ints_of("events", events, at_least=0), floats_of("exposure", exposure, at_least=0.0)
    )
    tail = (1.0 - check_level(level)) / 2.0
    low = np.where(d > 0, stats.chi2.ppf(tail, 2.0 * np.maximum(d, 1)), 0.0) / 2.0
    high = stats.chi2.isf(tail, 2.0 * d + 2.0) / 2.0
    return Rate(
        quotient(d, t, otherwise=np.inf),
        np.where(t > 0.0, quotient(low, t), 0.0),
        quotient(high, t, otherwise=np.inf),
    )


def score_rate(events: ArrayLike, exposure: ArrayLike, level: float = 0.95) -> Rate:
    """
    Score interval for a rate: quicker and narrower than the exact one, right on average.

    Parameters, returned value and errors as for `exact_rate`.

    References
    ----------
    Rao, C. R. (1948), Proc. Camb. Phil. Soc. 44, 50-57; for the Poisson mean see Barker, L. (2002),
    The American Statistician 56, 85-89.
    """
    d, t = np.broadcast_arrays(
        ints_of("events", events, at_least=0), floats_of("exposure", exposure, at_least=0.0)
    )
    z = normal_quantile(level)
    middle, spread = d + z * z / 2.0, z * np.sqrt(d + z * z / 4.0)
    low = np.where(d == 0, 0.0, middle - spread)
    return Rate(
        quotient(d, t, otherwise=np.inf),
        np.where(t > 0.0, quotient(low, t), 0.0),
        quotient(middle + spread, t, otherwise=np.inf),
    )


def unit_rate(sums: UnitSums, level: float = 0.95) -> UnitRate:
    """
    Rate whose interval allows for units that fail again and again.

    The interval is the exact Poisson one while no unit has more than one event (then the sum of d * d is that
    of d), while there are fewer than 10 events, and for a single unit, which says nothing about how units
    differ. Otherwise it is r * exp(+-q * se), se**2 = m/(m-1) * sum((d - r t)**2) / (sum d)**2 over the m
    units, with q from Student's t with m - 1 degrees of freedom (for thousands of units, the normal
    quantile). Units that all behave exactly alike leave no by-unit variance to measure: exact again.

    Parameters
    ----------
    sums : UnitSums
        Events whole and >= 0, exposure >= 0 in any unit of time (machine-years).
    level : float
        Confidence level.

    Returns
    -------
    UnitRate
        Value and limits per unit of exposure; `variance_ratio`, robust over Poisson variance (0 without
        events, 1 for a single unit), reported also where the exact interval was chosen; `is_robust`, which
        one was. Without exposure as `exact_rate`. Never NaN.

    Raises
    ------
    ValueError
        As `exact_rate`.

    References
    ----------
    Liang, K.-Y. & Zeger, S. L. (1986), Biometrika 73, 13-22 (log-linear model, working independence);
    m/(m-1) and t(m-1): Cameron, A. C. & Miller, D. L. (2015), J. Human Resources 50, 317-372.
    """
    d, units = ints_of("d", sums.d, at_least=0), ints_of("units", sums.units, at_least=0)
    t, dd = floats_of("t", sums.t, at_least=0.0), floats_of("dd", sums.dd, at_least=0.0)
    exact = exact_rate(d, t, level)
    ratio = _variance_ratio(sums, quotient(d, t))
    is_robust = (d >= ROBUST_MIN_EVENTS) & (dd > d) & (units > 1) & (t > 0.0) & (ratio > 0.0)
    se = np.where(is_robust, np.sqrt(quotient(ratio, d)), 0.0)
    factor = np.exp(stats.t.ppf(0.5 + level / 2.0, np.maximum(units - 1, 1)) * se)
    return UnitRate(
        exact.value,
        np.where(is_robust, exact.value / factor, exact.low),
        np.where(is_robust, exact.value * factor, exact.high),
        ratio,
        is_robust,
    )


def rate_ratio(d1: ArrayLike, t1: ArrayLike, d2: ArrayLike, t2: ArrayLike, level: float = 0.95) -> RateRatio:
    """
    Ratio of two Poisson rates: conditional exact, central.

    Given the sum of the events, the first count is binomial; its Clopper-Pearson limits give those of the
    ratio, and the p-value is twice the smaller tail (at most 1), so that p < 1 - level exactly when the
    interval leaves out 1.

    Parameters
    ----------
    d1, d2 : array_like of int, shapes that broadcast
        Events on either side, >= 0.
    t1, t2 : array_like
        Exposures on either side, >= 0, in one unit.
    level : float
        Confidence level.

    Returns
    -------
    RateRatio
        Without events on both sides, or without exposure on one: value infinite, limits 0 and infinite, p 1.
        Without events on the second side: value and upper limit infinite. Never NaN.

    Raises
    ------
    ValueError
        As `exact_rate`.

    References
    ----------
    Przyborowski, J. & Wilenski, H. (1940), Biometrika 31, 313-323; central p-value: Fay, M. P. (2010),
    Biostatistics 11, 373-374.
    """
    first, second, over, under = np.broadcast_arrays(
        ints_of("d1", d1, at_least=0),
        ints_of("d2", d2, at_least=0),
        floats_of("t1", t1, at_least=0.0),
        floats_of("t2", t2, at_least=0.0),
    )
    total = first + second
    scale = quotient(under, over)
    # Exposures so unlike that their ratio is no number any more say as little as none.
    is_known = (over > 0.0) & (under > 0.0) & (total > 0) & (scale > 0.0) & np.isfinite(scale)
    scale = np.where(is_known, scale, 1.0)
    share = np.where(is_known, quotient(over, over + under), 0.5)
    limits = clopper_pearson(first, total, level)
    tails = np.minimum(stats.binom.cdf(first, total, share), stats.binom.sf(first - 1, total, share))
    return RateRatio(
        np.where(is_known, quotient(first, second, otherwise=np.inf) * scale, np.inf),
        np.where(is_known, quotient(limits.low, 1.0 - limits.low) * scale, 0.0),
        np.where(is_known, quotient(limits.high, 1.0 - limits.high, otherwise=np.inf) * scale, np.inf),
        np.where(is_known, np.minimum(1.0, 2.0 * tails), 1.0),
    )


def _variance_ratio(sums: UnitSums, rate: Floats) -> Floats:
    d, units = np.asarray(sums.d, dtype=np.float64), np.asarray(sums.units, dtype=np.float64)
    dd = np.asarray(sums.dd, dtype=np.float64)
    dt, tt = floats_of("dt", sums.dt, at_least=0.0), floats_of("tt", sums.tt, at_least=0.0)
    squares = dd - 2.0 * rate * dt + rate * rate * tt
    # Equal units cancel to a rounding error, which must not pass for a measured variance.
    squares = np.where(squares > 1e-12 * dd, squares, 0.0)
    ratio = quotient(squares, d) * quotient(units, units - 1.0)
    return np.where(units > 1, ratio, np.where(d > 0, 1.0, 0.0))
