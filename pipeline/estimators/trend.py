"""Tests of "no trend": does a machine's rate of repairs rise or fall with age?"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

from pipeline.estimators.arrays import Floats, Ints, floats_of, ints_of, quotient


class Trend(NamedTuple):
    """
    A test of "no trend", arrays (groups,).

    `statistic`; `p` two-sided; `p_improving` and `p_worsening` one-sided. Without events: statistic 0, p 1.
    """

    statistic: Floats
    p: Floats
    p_improving: Floats
    p_worsening: Floats


def laplace(events: ArrayLike, sum_fraction: ArrayLike) -> Trend:
    """
    Laplace test on time-truncated observation from age 0.

    Parameters
    ----------
    events : array_like of int, (groups,)
    sum_fraction : array_like, (groups,)
        Sum over the events of age / age at the end of that machine's observation.

    Returns
    -------
    Trend
        `statistic` is standard normal without a trend; negative: events came early, things improve.

    Raises
    ------
    ValueError
        If a number is negative, or the fractions exceed the number of events.

    References
    ----------
    Cox, D. R. & Lewis, P. A. W. (1966), The Statistical Analysis of Series of Events; NIST/SEMATECH
    e-Handbook 8.2.3.4.
    """
    n, fractions = (
        ints_of("events", events, at_least=0),
        floats_of("sum_fraction", sum_fraction, at_least=0.0),
    )
    if (fractions > n).any():
        raise ValueError("sum_fraction must be at most the number of events")
    z = quotient(fractions - n / 2.0, np.sqrt(n / 12.0))
    return _two_sided(z, np.asarray(stats.norm.cdf(z)), np.asarray(stats.norm.sf(z)), n)


def military_handbook(events: ArrayLike, sum_log: ArrayLike) -> Trend:
    """
    Military handbook test on time-truncated observation from age 0; strongest against a power law.

    Parameters
    ----------
    events : array_like of int, (groups,)
    sum_log : array_like, (groups,)
        Sum over the events of ln(age at the end of that machine's observation / age).

    Returns
    -------
    Trend
        `statistic` is chi-squared with 2 x events degrees of freedom without a trend; large: things improve.

    Raises
    ------
    ValueError
        If a number is negative.

    References
    ----------
    MIL-HDBK-189 (1981); NIST/SEMATECH e-Handbook 8.2.3.4.
    """
    n, logs = ints_of("events", events, at_least=0), floats_of("sum_log", sum_log, at_least=0.0)
    statistic, freedom = 2.0 * logs, 2.0 * np.maximum(n, 1)
    return _two_sided(
        statistic,
        np.asarray(stats.chi2.sf(statistic, freedom)),
        np.asarray(stats.chi2.cdf(statistic, freedom)),
        n,
    )


def _two_sided(statistic: Floats, improving: Floats, worsening: Floats, events: Ints) -> Trend:
    has_any = events > 0
    p = np.minimum(1.0, 2.0 * np.minimum(improving, worsening))
    return Trend(
        np.where(has_any, statistic, 0.0),
        *(np.where(has_any, tail, 1.0) for tail in (p, improving, worsening)),
    )
