"""
Too few to say: the one place that decides how much a figure may be trusted.

Each rule takes arrays and returns an array of the words `ENOUGH`, `ROUGH` and `TOO_FEW`. `TOO_FEW` means that
only the interval is shown, no value. A safety report never comes here: it is listed, whatever its number.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.estimators.arrays import Bools, floats_of, ints_of

ENOUGH = "enough"
ROUGH = "rough"
TOO_FEW = "too few"

BETTER = "better"
WORSE = "worse"
CANNOT_TELL = "cannot tell"

# Proportions, by effective n: below 10 a single record moves the value by more than ten points. The limits of
# 30 and of an interval width of 0.30 follow the presentation standards for proportions of the National Center
# for Health Statistics (Parker et al. 2017, Vital and Health Statistics 2/175), as we recall them.
PROPORTION_MIN_N = 10
PROPORTION_ENOUGH_N = 30
PROPORTION_MAX_WIDTH = 0.30

# Rates, by events: with 3 the upper limit is still about eight times the lower; with 10, about four times.
RATE_MIN_EVENTS = 3
RATE_ENOUGH_EVENTS = 10

# Means added up over ages: `enough` only where 20 machines are there all along. On simulated fleets whose line went
# down to 5 … 9 machines the interval held the truth in 88 to 93 %, to 10 … 19 in 91 to 95, from 20 on in 93 to 96.
AGE_ENOUGH_AT_RISK = 20

# Probabilities where machines repeat: `enough` only from 30 machines on. With 15 to 30 machines and frailty, ranges
# that came out narrow enough held the truth in 76 to 92 % only: they were narrow by chance.
PROPORTION_ENOUGH_UNITS = 30

# Means of times and money, by values: our own rule, in step with that of proportions; from 30 values on the
# interval comes from the bootstrap, below from the log-normal.
MEAN_MIN_N = 10
MEAN_ENOUGH_N = 30

# Comparisons: values (or effective n) on each side.
COMPARISON_MIN_N = 20

# An effective n is a quotient: one that should be 30 may come out as 29.999999999999996, and reaches 30 all
# the same.
SLACK = 1e-9


def proportion_sample(
    n_eff: ArrayLike, low: ArrayLike, high: ArrayLike, units: ArrayLike | None = None
) -> NDArray[np.str_]:
    """
    Judge a proportion or probability.

    Parameters
    ----------
    n_eff : array_like, any shape
        Effective sample size (n, where all were followed).
    low, high : array_like, same shape
        Limits of its interval, shares.
    units : array_like of int, same shape, optional
        Machines behind it; without, they do not repeat.

    Returns
    -------
    array of str
        n_eff < 10 'too few'; below 30, an interval wider than 0.30, or fewer than 30 machines, 'rough'; else 'enough'.

    Raises
    ------
    ValueError
        If a number is not finite or n_eff is negative.
    """
    n = floats_of("n_eff", n_eff, at_least=0.0) + SLACK
    width = floats_of("high", high) - floats_of("low", low) - SLACK
    is_rough = (n < PROPORTION_ENOUGH_N) | (width > PROPORTION_MAX_WIDTH)
    if units is not None:
        is_rough |= ints_of("units", units, at_least=0) < PROPORTION_ENOUGH_UNITS
    return _words(n < PROPORTION_MIN_N, is_rough)


def age_sample(events: ArrayLike, at_risk: ArrayLike) -> NDArray[np.str_]:
    """
    Judge a mean added up over ages.

    Parameters
    ----------
    events : array_like of int, any shape
        Events counted so far.
    at_risk : array_like of int, same shape
        Fewest machines under observation on the way.

    Returns
    -------
    array of str
        As `rate_sample`, but no more than 'rough' with fewer than 20 machines at some age.

    Raises
    ------
    ValueError
        If a count is negative or not whole.
    """
    words = rate_sample(events)
    few = ints_of("at_risk", at_risk, at_least=0) < AGE_ENOUGH_AT_RISK
    return np.where(few & (words == ENOUGH), ROUGH, words)


def rate_sample(events: ArrayLike) -> NDArray[np.str_]:
    """
    Judge a rate by its events.

    Parameters
    ----------
    events : array_like of int, any shape

    Returns
    -------
    array of str
        Fewer than 3 'too few'; 3 to 9 'rough'; else 'enough'.

    Raises
    ------
    ValueError
        If a count is negative or not whole.
    """
    d = ints_of("events", events, at_least=0)
    return _words(d < RATE_MIN_EVENTS, d < RATE_ENOUGH_EVENTS)


def mean_sample(n: ArrayLike) -> NDArray[np.str_]:
    """
    Judge a mean, median or quantile of times or money by the number of values; the rule is our own.

    Parameters
    ----------
    n : array_like of int, any shape

    Returns
    -------
    array of str
        Fewer than 10 'too few'; 10 to 29 'rough'; else 'enough'.

    Raises
    ------
    ValueError
        If a count is negative or not whole.
    """
    count = ints_of("n", n, at_least=0)
    return _words(count < MEAN_MIN_N, count < MEAN_ENOUGH_N)


def can_tell(n_first: ArrayLike, n_second: ArrayLike, low: ArrayLike, high: ArrayLike) -> Bools:
    """
    Tell whether a comparison may be called: at least 20 on each side, and an interval that leaves out zero.

    Parameters
    ----------
    n_first, n_second : array_like, shapes that broadcast
        Values, or effective n, on either side.
    low, high : array_like
        Limits of the difference (for a ratio, of its logarithm).

    Returns
    -------
    array of bool
    """
    has_enough = np.minimum(n_first, n_second) + SLACK >= COMPARISON_MIN_N
    result: Bools = has_enough & ((np.asarray(low) > 0.0) | (np.asarray(high) < 0.0))
    return result


def band_of(
    n_first: ArrayLike, n_second: ArrayLike, low: ArrayLike, high: ArrayLike, *, more_is_worse: bool = True
) -> NDArray[np.str_]:
    """
    Place a group against its reference: 'better', 'cannot tell' or 'worse'.

    Parameters
    ----------
    n_first, n_second, low, high : array_like
        As for `can_tell`; the difference is group minus reference.
    more_is_worse : bool
        Whether a larger figure is a worse one.

    Returns
    -------
    array of str
    """
    is_more = np.asarray(low) > 0.0
    words = np.where(is_more == more_is_worse, WORSE, BETTER)
    return np.where(can_tell(n_first, n_second, low, high), words, CANNOT_TELL)


def _words(is_too_few: NDArray[Any], is_rough: NDArray[Any]) -> NDArray[np.str_]:
    return np.where(is_too_few, TOO_FEW, np.where(is_rough, ROUGH, ENOUGH))
