"""
Shrinkage: a rate or share of a small group is drawn toward its family, by as much as the family is alike.

What a family is, and how its prior is fitted, stands in `empirical_bayes`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

from pipeline.estimators.arrays import Floats, check_level, floats_of, ints_of, quotient
from pipeline.estimators.beta_binomial import checked_shares, fit_beta
from pipeline.estimators.empirical_bayes import Prior
from pipeline.estimators.gamma_poisson import fit_gamma

__all__ = ["Prior", "Shrunk", "beta_posterior", "fit_beta", "fit_gamma", "shrink_rates", "shrink_shares"]


class Shrunk(NamedTuple):
    """Posterior mean and equal-tailed limits of each member; arrays (members,)."""

    value: Floats
    low: Floats
    high: Floats


def shrink_rates(
    prior: Prior, family: ArrayLike, events: ArrayLike, exposure: ArrayLike, level: float = 0.95
) -> Shrunk:
    """
    Posterior rate of each member: Gamma(a + d, b + t), averaged over the priors its family may have.

    Parameters
    ----------
    prior : Prior
        From `fit_gamma`.
    family, events, exposure : array_like, (members,)
        Members of the families fitted; exposure in the same unit.
    level : float
        Probability between the limits, those of the gamma distribution with the posterior's mean and
        variance.

    Returns
    -------
    Shrunk
        Per unit of exposure. Without a prior and without exposure: value infinite, limits 0 and infinite.

    Raises
    ------
    ValueError
        If a number is negative or not finite, or the level is out of range.

    References
    ----------
    As `fit_prior`.
    """
    place, d = ints_of("family", family), ints_of("events", events, at_least=0)
    t = floats_of("exposure", exposure, at_least=0.0)
    tail = (1.0 - check_level(level)) / 2.0
    first, second = np.zeros(t.shape), np.zeros(t.shape)
    for a, b, weight, spread in _priors(prior, place):
        mean = quotient(a + d, b + t)
        own = quotient(b, b + t)
        variance = quotient(mean, b + t) + (mean * own) ** 2 * spread
        first += weight * mean
        second += weight * (variance + mean * mean)
    variance = np.maximum(second - first * first, 0.0)
    shape, scale = quotient(first * first, variance, otherwise=1.0), quotient(variance, first)
    is_known = (prior.b[place] + t) > 0.0
    low, high = _array(stats.gamma.ppf(tail, shape)) * scale, _array(stats.gamma.isf(tail, shape)) * scale
    return Shrunk(np.where(is_known, first, np.inf), low, np.where(is_known, high, np.inf))


def shrink_shares(prior: Prior, family: ArrayLike, x: ArrayLike, n: ArrayLike, level: float = 0.95) -> Shrunk:
    """
    Posterior share of each member: Beta(a + x, b + n - x), averaged over the priors its family may have.

    Parameters
    ----------
    prior : Prior
        From `fit_beta`.
    family, x, n : array_like, (members,)
        Members of the families fitted.
    level : float
        Probability between the limits, those of the beta distribution with the posterior's mean and variance.

    Returns
    -------
    Shrunk
        Shares in [0, 1]; a member without trials has the prior's.

    Raises
    ------
    ValueError
        If a count is negative or not finite, x exceeds n, or the level is out of range.

    References
    ----------
    As `fit_prior`.
    """
    place, (hits, trials) = ints_of("family", family), checked_shares(x, n)
    check_level(level)
    first, second = np.zeros(trials.shape), np.zeros(trials.shape)
    for a, b, weight, spread in _priors(prior, place):
        worth = a + b
        mean, centre = (a + hits) / (worth + trials), a / worth
        variance = mean * (1.0 - mean) / (worth + trials + 1.0)
        variance += (worth / (worth + trials) * centre * (1.0 - centre)) ** 2 * spread
        first += weight * mean
        second += weight * (variance + mean * mean)
    worth = first * (1.0 - first) / (second - first * first) - 1.0
    return beta_posterior(first * worth, (1.0 - first) * worth, 0.0, 0.0, level)


def beta_posterior(a: ArrayLike, b: ArrayLike, x: ArrayLike, n: ArrayLike, level: float = 0.95) -> Shrunk:
    """
    Share under a given prior: Beta(a + x, b + n - x).

    Parameters
    ----------
    a, b, x, n : array_like, shapes that broadcast
        Prior, above 0; successes and trials.
    level : float
        Probability between the limits.

    Returns
    -------
    Shrunk
        Shares in [0, 1].

    Raises
    ------
    ValueError
        If a count is negative or not finite, x exceeds n, or the level is out of range.
    """
    hits, trials = checked_shares(x, n)
    tail = (1.0 - check_level(level)) / 2.0
    first, second = floats_of("a", a, at_least=0.0) + hits, floats_of("b", b, at_least=0.0) + trials - hits
    low, high = stats.beta.ppf(tail, first, second), stats.beta.isf(tail, first, second)
    return Shrunk(first / (first + second), _array(low), _array(high))


def _priors(prior: Prior, place: np.ndarray) -> zip[tuple[Floats, Floats, Floats, Floats]]:
    """Yield a, b, weight and variance of the centre, member by member, for each worth averaged over."""
    columns = (prior.grid_a, prior.grid_b, prior.weight, prior.centre_variance)
    return zip(*(column[:, place] for column in columns), strict=True)


def _array(values: ArrayLike) -> Floats:
    return np.asarray(values, dtype=np.float64)
