"""The power-law process: a machine's mean count of repairs as a power of its age."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

from pipeline.estimators.arrays import (
    Bools,
    Floats,
    Ints,
    check_level,
    floats_of,
    ints_of,
    normal_quantile,
    quotient,
    tally,
)
from pipeline.estimators.mcf_input import Happenings, Windows, checked_events, checked_windows
from pipeline.estimators.power_shape import Exposure, fit_power, log_limits


class PowerLaw(NamedTuple):
    """
    Mean count M(t) = (t / scale)**shape, arrays (groups,).

    `shape` below 1: repairs become rarer with age; above 1: more frequent. `rate` is the lambda of
    M(t) = lambda t**shape. Without a fit shape, scale and rate are infinite and the limits 0 and infinite.
    """

    shape: Floats
    low: Floats
    high: Floats
    scale: Floats
    rate: Floats
    events: Ints
    is_fitted: Bools


class Growth(NamedTuple):
    """Mean time between repairs at the end of observation, in the unit of time."""

    value: float
    low: float
    high: float


def power_law(
    events: ArrayLike, sum_log: ArrayLike, machines: ArrayLike, end: ArrayLike, level: float = 0.95
) -> PowerLaw:
    """
    Power-law process of machines all seen from age 0 to one common age: explicit, with exact limits.

    Parameters
    ----------
    events : array_like of int, (groups,)
    sum_log : array_like, (groups,)
        Sum over the events of ln(end / age).
    machines : array_like of int, (groups,)
    end : array_like, (groups,)
        The common age, above 0.
    level : float
        Confidence level.

    Returns
    -------
    PowerLaw
        Maximum likelihood shape n / sum_log (`unbiased_shape` takes n - 1), limits shape * chi2(2n) / 2n.

    Raises
    ------
    ValueError
        If a number is negative or the level is out of range.

    References
    ----------
    Crow, L. H. (1974), in Reliability and Biometry, SIAM, 379-410.
    """
    n, logs = ints_of("events", events, at_least=0), floats_of("sum_log", sum_log, at_least=0.0)
    units, age = floats_of("machines", machines, at_least=0.0), floats_of("end", end, at_least=0.0)
    tail = (1.0 - check_level(level)) / 2.0
    is_fitted = (n > 0) & (logs > 0.0) & (units > 0.0) & (age > 0.0)
    shape = np.where(is_fitted, quotient(n, logs), 1.0)
    freedom = 2.0 * np.maximum(n, 1)
    rate = quotient(n, units * np.where(age > 0.0, age, 1.0) ** shape)
    low, high = (
        shape * stats.chi2.ppf(tail, freedom) / freedom,
        shape * stats.chi2.isf(tail, freedom) / freedom,
    )
    scale = np.where(rate > 0.0, rate, 1.0) ** (-1.0 / shape)
    return _law((shape, low, high), scale, n, is_fitted)


def unbiased_shape(events: ArrayLike, sum_log: ArrayLike) -> Floats:
    """Return (n - 1) / sum of ln(end / age): the shape of `power_law` without its bias; 0 for a single event."""
    n = ints_of("events", events, at_least=0)
    return quotient(np.maximum(n - 1, 0), floats_of("sum_log", sum_log, at_least=0.0), otherwise=np.inf)


def fit_power_law(windows: Windows, happenings: Happenings, *, groups: int, level: float = 0.95) -> PowerLaw:
    """
    Power-law process of machines seen over different ages: maximum likelihood, delayed entry included.

    Parameters
    ----------
    windows, happenings
        As for `mean_cumulative`; ages from 0 up, amounts are not used.
    groups : int
    level : float
        Confidence level; normal limits on the logarithm, as if machines of one group were alike (the interval
        of the mean cumulative function does not need that).

    Returns
    -------
    PowerLaw

    Raises
    ------
    ValueError
        As `mean_cumulative`, or if an entry is below 0.

    References
    ----------
    Crow, L. H. (1974); Rigdon, S. E. & Basu, A. P. (2000), Statistical Methods for the Reliability of
    Repairable Systems.
    """
    group, entry, leave = checked_windows(windows, groups)
    floats_of("entry", entry, at_least=0.0)
    unit, time, _ = checked_events(happenings, entry, leave)
    place = group[unit]
    n = tally(place, groups)
    is_late = entry > 0.0
    exposure = Exposure(
        np.concatenate([group, group[is_late]]),
        np.concatenate([leave, entry[is_late]]),
        np.concatenate([np.ones(len(leave)), -np.ones(int(is_late.sum()))]),
    )
    fit = fit_power(n, tally(place, groups, np.log(time)), exposure)
    low, high = log_limits(fit.shape, fit.var_log_shape, fit.is_fitted, level)
    return _law((fit.shape, low, high), fit.scale, n.astype(np.int64), fit.is_fitted)


def mtbf_at_end(events: int, sum_log: float, end: float, level: float = 0.80) -> Growth:
    """
    Mean time between repairs of one machine at the end of its observation, by the power law without bias.

    Parameters
    ----------
    events : int
        At least 2.
    sum_log : float
        Sum over the events of ln(end / age).
    end : float
        Age at the end of observation.
    level : float
        Confidence level of the (approximate) limits.

    Returns
    -------
    Growth

    Raises
    ------
    ValueError
        If there are fewer than 2 events, or a number or the level is out of range.

    References
    ----------
    Crow, L. H. (1982); formula of the NIST/SEMATECH e-Handbook 8.4.5.2.
    """
    z = normal_quantile(level)
    n, logs, age = (
        int(ints_of("events", events, at_least=2)),
        float(floats_of("sum_log", sum_log)),
        float(end),
    )
    if logs <= 0.0 or age <= 0.0:
        raise ValueError(f"sum_log and end must be above 0, but were {logs:g} and {age:g}")
    value = age * logs / (n * (n - 1))
    spread = np.sqrt(n * z * z / 2.0 + z**4 / 16.0)
    least = n - z * np.sqrt(n / 2.0)
    high = value * n * (n - 1) / least**2 if least > 0.0 else np.inf
    return Growth(value, float(value * n * (n - 1) / (n + z * z / 4.0 + spread) ** 2), float(high))


def _law(shapes: tuple[Floats, Floats, Floats], scale: Floats, events: Ints, is_fitted: Bools) -> PowerLaw:
    shape, low, high = shapes
    rate = np.where(is_fitted, scale, 1.0) ** -np.where(is_fitted, shape, 1.0)
    return PowerLaw(
        np.where(is_fitted, shape, np.inf),
        np.where(is_fitted, low, 0.0),
        np.where(is_fitted, high, np.inf),
        np.where(is_fitted, scale, np.inf),
        np.where(is_fitted, rate, np.inf),
        events,
        is_fitted,
    )
