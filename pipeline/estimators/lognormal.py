"""Summaries of times that are skewed to the right: the log-normal mean, median and quantiles."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

from pipeline.estimators.arrays import (
    Floats,
    Ints,
    check_level,
    floats_of,
    ints_of,
    normal_quantile,
    quotient,
)

# Rounding of the sum of squares, relative to the squares, below which all values count as equal.
EQUAL = 1e-14


class LogNormal(NamedTuple):
    """
    A log-normal fit, one entry a group.

    `n` values; `mean_log` and `sd_log` (divisor n - 1) of their natural logarithms; 0 where there is none,
    and `sd_log` 0 for a single value.
    """

    n: Ints
    mean_log: Floats
    sd_log: Floats


class Estimate(NamedTuple):
    """Value and limits in the unit of the times; arrays of one shape."""

    value: Floats
    low: Floats
    high: Floats


def fit_lognormal(n: ArrayLike, sum_log: ArrayLike, sum_log_squares: ArrayLike) -> LogNormal:
    """
    Fit from the sums a database delivers: count, sum of ln(t), sum of ln(t)**2 of each group.

    Parameters
    ----------
    n : array_like of int, any shape
        Values; all above 0, since a time of zero has no logarithm: leave zeros out and say how many.
    sum_log, sum_log_squares : array_like, same shape

    Returns
    -------
    LogNormal

    Raises
    ------
    ValueError
        If a count is negative or a sum is not finite.
    """
    counts = ints_of("n", n, at_least=0)
    sums, squares = floats_of("sum_log", sum_log), floats_of("sum_log_squares", sum_log_squares, at_least=0.0)
    mean = quotient(sums, counts)
    scatter = squares - mean * sums
    scatter = np.where(scatter > EQUAL * squares, scatter, 0.0)
    return LogNormal(counts, mean, np.sqrt(quotient(scatter, np.maximum(counts - 1, 0))))


def fit_times(times: ArrayLike) -> LogNormal:
    """
    Fit to one sample.

    Parameters
    ----------
    times : array_like, (n,)
        All above 0, in any unit.

    Returns
    -------
    LogNormal
        Of shape ().

    Raises
    ------
    ValueError
        If a time is not finite or not above 0.
    """
    values = floats_of("times", times)
    if (values <= 0.0).any():
        raise ValueError(f"times must be above 0, but was {values[values <= 0.0].flat[0]:g}")
    logs = np.log(values)
    count = len(logs)
    middle = logs.mean() if count else 0.0
    spread = logs.std(ddof=1) if count > 1 else 0.0
    return LogNormal(np.asarray(count), np.asarray(middle), np.asarray(spread))


def geometric_mean(fit: LogNormal, level: float = 0.95) -> Estimate:
    """
    Geometric mean, which is also the median of a log-normal, with Student's t interval on the logarithms.

    Parameters
    ----------
    fit : LogNormal
    level : float
        Confidence level.

    Returns
    -------
    Estimate
        In the unit of the times. Where n < 2 the limits are 0 and infinite, and where n = 0 so is the value.

    Raises
    ------
    ValueError
        If the level is out of range.
    """
    half = _t_quantile(fit, level) * quotient(fit.sd_log, np.sqrt(fit.n))
    return _on_times(fit, fit.mean_log, half)


def lognormal_mean(fit: LogNormal, level: float = 0.95, *, student: bool = True) -> Estimate:
    """
    Arithmetic mean of a log-normal with Cox's interval.

    Parameters
    ----------
    fit : LogNormal
    level : float
        Confidence level.
    student : bool
        Take the quantile from Student's t with n - 1 degrees of freedom, which holds its level better in
        small samples (Olsson); otherwise from the normal distribution, as Cox did.

    Returns
    -------
    Estimate
        exp(m + s**2 / 2) and exp(m + s**2 / 2 +- q * sqrt(s**2 / n + s**4 / (2 (n - 1)))), in the unit of the
        times. Where n < 2 the limits are 0 and infinite, and where n = 0 the value is infinite too.

    Raises
    ------
    ValueError
        If the level is out of range.

    References
    ----------
    Land, C. E. (1972), Technometrics 14, 145-158 (Cox's method). Olsson, U. (2005), J. Statistics Education
    13(1).
    """
    variance = fit.sd_log**2
    spread = quotient(variance, fit.n) + quotient(variance**2, 2.0 * np.maximum(fit.n - 1, 0))
    q = _t_quantile(fit, level) if student else normal_quantile(level)
    return _on_times(fit, fit.mean_log + variance / 2.0, q * np.sqrt(spread))


def lognormal_quantile(fit: LogNormal, share: float) -> Floats:
    """
    Plug-in quantile exp(m + z s): the time within which a share of the jobs is done.

    Parameters
    ----------
    fit : LogNormal
    share : float
        Strictly between 0 and 1.

    Returns
    -------
    array
        In the unit of the times; infinite where n = 0.

    Raises
    ------
    ValueError
        If the share is out of range.
    """
    if not 0.0 < share < 1.0:
        raise ValueError(f"share must be between 0 and 1, but was {share}")
    return np.where(fit.n > 0, np.exp(fit.mean_log + float(stats.norm.ppf(share)) * fit.sd_log), np.inf)


def _t_quantile(fit: LogNormal, level: float) -> Floats:
    return np.asarray(stats.t.ppf(0.5 + check_level(level) / 2.0, np.maximum(fit.n - 1, 1)), dtype=np.float64)


def _on_times(fit: LogNormal, middle: Floats, half: Floats) -> Estimate:
    # Two times far apart reach beyond what a number can hold: infinite, as where there is one time only.
    with np.errstate(over="ignore"):
        value = np.where(fit.n > 0, np.exp(middle), np.inf)
        high = np.where(fit.n > 1, np.exp(middle + half), np.inf)
    return Estimate(value, np.where(fit.n > 1, np.exp(middle - half), 0.0), high)
