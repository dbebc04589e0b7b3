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


def reversals(gaps: ArrayLike) -> Trend:
    """
    Reverse arrangement test of one machine: do the times between its repairs grow? No model of the rate at all.

    Parameters
    ----------
    gaps : array_like, (events,)
        Times between successive repairs, in order, the first from age 0.

    Returns
    -------
    Trend
        `statistic` is the number of pairs in which the later gap is the longer one, 0 … n (n - 1) / 2; large: things improve.
        The p-values are exact where all gaps differ; pairs of equal gaps speak for neither side.

    Raises
    ------
    ValueError
        If a gap is negative.

    References
    ----------
    Mann, H. B. (1945), Econometrica 13, 245-259; NIST/SEMATECH e-Handbook 8.2.3.4.
    """
    each = floats_of("gaps", gaps, at_least=0.0)
    n = len(each)
    longer, shorter = (int(np.triu(pairs, 1).sum()) for pairs in (each > each[:, None], each < each[:, None]))
    # The number of such pairs is a sum of independent uniform whole numbers, 0 … 0, 0 … 1, up to 0 … n - 1.
    chances = np.ones(1)
    for size in range(2, n + 1):
        chances = np.convolve(chances, np.full(size, 1.0 / size))
    # By symmetry the tail of few long later gaps is that of many short ones.
    improving, worsening = (np.asarray(min(1.0, chances[count:].sum())) for count in (longer, shorter))
    return _two_sided(np.asarray(float(longer)), improving, worsening, np.asarray(n))


def _two_sided(statistic: Floats, improving: Floats, worsening: Floats, events: Ints) -> Trend:
    has_any = events > 0
    p = np.minimum(1.0, 2.0 * np.minimum(improving, worsening))
    return Trend(
        np.where(has_any, statistic, 0.0),
        *(np.where(has_any, tail, 1.0) for tail in (p, improving, worsening)),
    )
