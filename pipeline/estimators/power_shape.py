"""
The shape of a power-law hazard, by maximum likelihood, for thousands of groups at once.

A Weibull life and a power-law process have one likelihood: with hazard b t**(b-1) / c**b, the sum of its
logarithm over the events, less the cumulative hazard (t / c)**b at the ends of observation, plus that at
delayed entries. For a given b the best c is explicit, so one equation in b is left for each group.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from pipeline.estimators.arrays import Bools, Floats, Ints, normal_quantile, quotient, tally

# Shapes beyond these are no finding about machines but a sign that the data hold no answer.
SMALLEST, LARGEST = 0.01, 100.0
# Newton's steps take about six; each failed one halves the bracket, so this many end any search.
MAX_STEPS = 80
TOLERANCE = 1e-13


class Exposure(NamedTuple):
    """
    Where observation ends (weight > 0) and begins (weight < 0): arrays (points,); times above 0.

    A beginning at 0 adds nothing and is left out.
    """

    group: Ints
    time: Floats
    weight: Floats


class PowerFit(NamedTuple):
    """
    Fit of each group, arrays (groups,); infinite where `is_fitted` is False.

    `scale` is the c of (t / c)**shape. The variances are those of the logarithms, from the observed
    information.
    """

    shape: Floats
    scale: Floats
    log_likelihood: Floats
    var_log_shape: Floats
    var_log_scale: Floats
    is_fitted: Bools


class _Sums(NamedTuple):
    """Weighted sums of u**b, u**b ln u, u**b (ln u)**2, u the time over the largest of its group."""

    plain: Floats
    once: Floats
    twice: Floats


def fit_power(events: Floats, sum_log: Floats, exposure: Exposure) -> PowerFit:
    """
    Fit all groups at once: Newton's method, halving a bracket wherever a step would leave it.

    Parameters
    ----------
    events, sum_log : array, (groups,)
        Number of events, and the sum of the logarithms of their times.
    exposure : Exposure

    Returns
    -------
    PowerFit
        Not fitted: a group without events, and one whose likelihood has no maximum between the shapes 0.01
        and 100 (as with a single event at the very end of observation).

    References
    ----------
    Lawless, J. F. (2003), Statistical Models and Methods for Lifetime Data, section 5.2 and 2.4 (truncation);
    Crow, L. H. (1974) for the process.
    """
    groups = len(events)
    largest = np.full(groups, -np.inf)
    log_time = np.log(exposure.time)
    np.maximum.at(largest, exposure.group, log_time)
    largest[np.isinf(largest)] = 0.0
    relative = log_time - largest[exposure.group]
    mean_log = quotient(sum_log, events) - largest

    def sums(shape: Floats) -> _Sums:
        power = exposure.weight * np.exp(shape[exposure.group] * relative)
        parts = (power, power * relative, power * relative * relative)
        return _Sums(*(tally(exposure.group, groups, part) for part in parts))

    def score(shape: Floats, at: _Sums) -> Floats:
        gap: Floats = 1.0 / shape + mean_log - quotient(at.once, at.plain)
        return gap

    def slope(shape: Floats, at: _Sums) -> Floats:
        ratio = quotient(at.once, at.plain)
        fall: Floats = ratio * ratio - quotient(at.twice, at.plain) - 1.0 / (shape * shape)
        return fall

    low, high = np.full(groups, SMALLEST), np.full(groups, LARGEST)
    is_bracketed = (events > 0.0) & (score(low, sums(low)) > 0.0) & (score(high, sums(high)) < 0.0)
    shape = np.ones(groups)
    for _ in range(MAX_STEPS):
        at = sums(shape)
        gap, fall = score(shape, at), slope(shape, at)
        low, high = np.where(gap > 0.0, shape, low), np.where(gap > 0.0, high, shape)
        # A step on the logarithm of the shape, which cannot turn negative.
        newton = shape * np.exp(np.clip(quotient(-gap, fall * shape), -2.0, 2.0))
        is_good = (fall < 0.0) & (newton > low) & (newton < high)
        following = np.where(is_good, newton, np.sqrt(low * high))
        following = np.where(gap == 0.0, shape, following)
        has_moved = np.abs(following - shape) > TOLERANCE * shape
        shape = following
        if not (has_moved & is_bracketed).any():
            break
    at = sums(shape)
    is_fitted = is_bracketed & (at.plain > 0.0) & (slope(shape, at) < 0.0)
    return _finish(events, sum_log, largest, (shape, at, is_fitted))


def log_limits(value: Floats, variance: Floats, is_fitted: Bools, level: float) -> tuple[Floats, Floats]:
    """Return value * exp(-+ z sqrt(variance)); 0 and infinite where there is no fit."""
    half = normal_quantile(level) * np.sqrt(np.where(is_fitted, variance, 0.0))
    # So far out there is no number left to write down, and nothing that it would say.
    half = np.minimum(half, 700.0)
    known = np.where(is_fitted, value, 1.0)
    return np.where(is_fitted, known * np.exp(-half), 0.0), np.where(is_fitted, known * np.exp(half), np.inf)


def _finish(
    events: Floats, sum_log: Floats, largest: Floats, solution: tuple[Floats, _Sums, Bools]
) -> PowerFit:
    shape, at, is_fitted = solution
    per_event = np.where(is_fitted, quotient(at.plain, events), 1.0)
    # c**b = sum(t**b) / d, with times over the largest: ln(c / largest).
    log_scale = np.log(per_event) / shape
    ratio = quotient(at.once, at.plain)
    # Weighted moments of ln(t / c), the weights adding up to the number of events.
    first = events * (ratio - log_scale)
    second = events * (quotient(at.twice, at.plain) - 2.0 * log_scale * ratio + log_scale**2)
    # Information of (ln b, ln c): [[d + b**2 second, -b**2 first], [-b**2 first, d b**2]].
    of_shape, crossed, of_scale = events + shape**2 * second, shape**2 * first, events * shape**2
    determinant = of_shape * of_scale - crossed**2
    is_fitted = is_fitted & (determinant > 0.0)
    log_likelihood = (
        events * np.log(shape) + (shape - 1.0) * sum_log - events * shape * (log_scale + largest) - events
    )

    def known(values: Floats) -> Floats:
        return np.where(is_fitted, values, np.inf)

    return PowerFit(
        known(shape),
        known(np.exp(np.where(is_fitted, log_scale + largest, 0.0))),
        known(log_likelihood),
        known(quotient(of_scale, determinant)),
        known(quotient(of_shape, determinant)),
        is_fitted,
    )
