"""Weibull lives: does a part fail early, at random, or by wear?"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from pipeline.estimators.arrays import (
    Bools,
    Floats,
    Ints,
    check_groups,
    check_same_length,
    floats_of,
    ints_of,
    tally,
)
from pipeline.estimators.curves import Entries
from pipeline.estimators.power_between import Between, fit_power_between
from pipeline.estimators.power_shape import Exposure, PowerFit, fit_power, log_limits
from pipeline.estimators.rates import exact_rate

EARLY = "early trouble"
CANNOT_TELL = "cannot tell from random"
WEAR = "wear"
# Fewer failures than this: no shape on a page.
MIN_FAILURES = 10


class Weibull(NamedTuple):
    """
    Fits of several groups, arrays (groups,); F(t) = 1 - exp(-(t / scale)**shape).

    Attributes
    ----------
    shape, shape_low, shape_high : float
        Without unit.
    scale, scale_low, scale_high : float
        In the unit of the times; the age by which 63.2 % have failed.
    log_likelihood : float
    events : int
    is_fitted : bool
        False where there is no answer; shape and scale are then infinite, their limits 0 and infinite.
    """

    shape: Floats
    shape_low: Floats
    shape_high: Floats
    scale: Floats
    scale_low: Floats
    scale_high: Floats
    log_likelihood: Floats
    events: Ints
    is_fitted: Bools


class Found(NamedTuple):
    """
    Lives found to have ended at a look, their age at the end not known: arrays (cells,).

    So many `lives` of a group had not ended by `after` (0: nobody looked before, a left-censored life) and had
    ended by `by`. A life that was under observation from a delayed entry on also stands in the `Entries`.
    """

    group: ArrayLike
    after: ArrayLike
    by: ArrayLike
    lives: ArrayLike


class Scale(NamedTuple):
    """A scale with its limits, in the unit of the times."""

    value: Floats
    low: Floats
    high: Floats


def fit_weibull(
    group: ArrayLike,
    time: ArrayLike,
    events: ArrayLike,
    censored: ArrayLike,
    *,
    groups: int,
    entries: Entries | None = None,
    found: Found | None = None,
    level: float = 0.95,
) -> Weibull:
    """
    Maximum likelihood with right and left censoring and delayed entry, from counted cells.

    Parameters
    ----------
    group : array_like of int, (cells,)
        Group 0 … groups - 1; any order, a pair of group and time may occur more than once.
    time : array_like, (cells,)
        Above 0, in any unit. A life counted in whole days can be 0: put it at day + 0.5, and entries
        likewise.
    events, censored : array_like of int, (cells,)
        Failures at that time (of this cause); lives followed up to it without one (other causes included).
    groups : int
    entries : Entries, optional
        Delayed entries; without, all lives are seen from 0.
    found : Found, optional
        Lives found ended at a look. They are no part of `events`, and count as events of their group.
    level : float
        Confidence level; normal limits on the logarithms, from the observed information.

    Returns
    -------
    Weibull

    Raises
    ------
    ValueError
        If lengths differ, a time is not above 0, a count is negative or not whole, a group is out of range, or
        a life was found ended before it was seen to go on.

    References
    ----------
    Lawless, J. F. (2003), Statistical Models and Methods for Lifetime Data, chapters 2 and 5.
    """
    place, at = ints_of("group", group), floats_of("time", time)
    failed, left = ints_of("events", events, at_least=0), ints_of("censored", censored, at_least=0)
    check_same_length(group=place, time=at, events=failed, censored=left)
    check_groups(place, groups)
    if (at <= 0.0).any():
        raise ValueError(f"time must be above 0 (days at day + 0.5), but was {at[at <= 0.0][0]:g}")
    d = tally(place, groups, failed)
    sum_log = tally(place, groups, failed * np.log(at))
    exposure = _exposure(place, at, failed + left, entries, groups)
    if found is None:
        return _with_limits(fit_power(d, sum_log, exposure), d.astype(np.int64), level)
    between = _between(found, groups)
    fit = fit_power_between(d, sum_log, exposure, between)
    total = d + tally(between.group, groups, between.lives)
    return _with_limits(fit, total.astype(np.int64), level)


def shape_words(fit: Weibull) -> list[str | None]:
    """
    Say what the interval of each shape means.

    Returns
    -------
    list of str or None, (groups,)
        `EARLY` where it lies below 1, `CANNOT_TELL` where it holds 1, `WEAR` where it lies above; None where
        there are fewer than `MIN_FAILURES` failures or no fit.
    """
    is_told = fit.is_fitted & (fit.events >= MIN_FAILURES)
    words = np.where(fit.shape_high < 1.0, EARLY, np.where(fit.shape_low > 1.0, WEAR, CANNOT_TELL))
    return [str(word) if told else None for word, told in zip(words, is_told, strict=True)]


def weibayes(time: ArrayLike, events: int, shape: float, level: float = 0.95) -> Scale:
    """
    Scale of one group when the shape is known: exact limits, also without any failure.

    Parameters
    ----------
    time : array_like, (lives,)
        Times to failure or to the last look, all of them.
    events : int
        How many of them failed.
    shape : float
        Known (or assumed) shape, above 0.
    level : float
        Confidence level; the one-sided lower bound at 0.95 is the `low` of level 0.90.

    Returns
    -------
    Scale
        Infinite where nothing failed (value and upper limit). With the shape known, time to its power is
        exposure at a constant rate, so the limits are Garwood's.

    Raises
    ------
    ValueError
        If a time is negative, a count is negative, the shape is not above 0, or the level is out of range.

    References
    ----------
    Abernethy, R. B. (2006), The New Weibull Handbook, chapter 6.
    """
    known = float(floats_of("shape", shape))
    if known <= 0.0:
        raise ValueError(f"shape must be above 0, but was {shape:g}")
    rate = exact_rate(events, (floats_of("time", time, at_least=0.0) ** known).sum(), level)
    value, low, high = (
        np.where(bound > 0.0, np.where(bound > 0.0, bound, 1.0) ** (-1.0 / known), np.inf)
        for bound in (rate.value, rate.high, rate.low)
    )
    return Scale(value, low, high)


def _exposure(place: Ints, at: Floats, ends: Ints, entries: Entries | None, groups: int) -> Exposure:
    if entries is None:
        return Exposure(place, at, ends.astype(np.float64))
    group, since = ints_of("entries.group", entries.group), floats_of("entries.time", entries.time)
    records = ints_of("entries.records", entries.records, at_least=0)
    check_same_length(group=group, time=since, records=records)
    check_groups(group, groups)
    # Seen from 0, or from before, is no delay.
    is_late = since > 0.0
    return Exposure(
        np.concatenate([place, group[is_late]]),
        np.concatenate([at, since[is_late]]),
        np.concatenate([ends, -records[is_late]]).astype(np.float64),
    )


def _between(found: Found, groups: int) -> Between:
    group = ints_of("found.group", found.group)
    after, by = floats_of("found.after", found.after, at_least=0.0), floats_of("found.by", found.by)
    lives = ints_of("found.lives", found.lives, at_least=0)
    check_same_length(group=group, after=after, by=by, lives=lives)
    check_groups(group, groups)
    if (by <= after).any():
        first = int(np.argmax(by <= after))
        raise ValueError(
            f"found.by must be later than found.after, but was {by[first]:g} and {after[first]:g}"
        )
    is_any = lives > 0
    return Between(group[is_any], after[is_any], by[is_any], lives[is_any].astype(np.float64))


def _with_limits(fit: PowerFit, events: Ints, level: float) -> Weibull:
    shape_low, shape_high = log_limits(fit.shape, fit.var_log_shape, fit.is_fitted, level)
    scale_low, scale_high = log_limits(fit.scale, fit.var_log_scale, fit.is_fitted, level)
    return Weibull(
        fit.shape,
        shape_low,
        shape_high,
        fit.scale,
        scale_low,
        scale_high,
        fit.log_likelihood,
        events,
        fit.is_fitted,
    )
