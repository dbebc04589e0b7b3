"""
Priors fitted to families of groups (empirical Bayes), with how uncertain they are.

A family is what may lend to each other: the same part over the models of one machine type, never one part
to another. A prior has a centre and a worth (how many of a member's own events or trials it outweighs). Both
are fitted by maximum likelihood. Limits that took the fitted prior as known would be too narrow (on simulated
families of ten they hold the truth in as little as 79 % of cases), so the worth is averaged over its
likelihood, and the spread of the centre is added.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import ArrayLike

from pipeline.estimators.arrays import Bools, Floats, Ints, quotient

# Two members cannot show how much a family varies.
FAMILY_MIN = 3
# The worth is sought from here up, in logarithms; below e**-7 of an event a prior is none.
LOWEST_LOG_WORTH = -7.0
# The centre is sought this far to either side of the pooled one, in logarithms or logits.
REACH = 16.0
# Halvings of an interval some 30 wide: down to 1e-13.
HALVINGS = 48
# Worths averaged over: from e**-7 to e**7 times what a typical member has itself.
GRID = np.arange(-7.0, 7.01, 0.5)


class Prior(NamedTuple):
    """
    Fitted priors, one a family.

    Attributes
    ----------
    a, b : float, (families,)
        Maximum likelihood: Gamma(a, b) for rates (mean a / b), Beta(a, b) for shares (mean a / (a + b)). The
        worth is at most all the family's own events or trials: that well its centre is known.
    is_fitted : bool, (families,)
        False where fewer than `FAMILY_MIN` members say something, or nothing varies because nothing (or
        everything) happened; a and b are then those of Jeffreys' prior, Gamma(1/2, 0) or Beta(1/2, 1/2).
    grid_a, grid_b, weight, centre_variance : float, (worths, families)
        The priors averaged over: best a and b for each worth, their weight, and the variance of the logarithm
        (rates) or logit (shares) of the centre.
    """

    a: Floats
    b: Floats
    is_fitted: Bools
    grid_a: Floats
    grid_b: Floats
    weight: Floats
    centre_variance: Floats


class Model(Protocol):
    """What is known of the families' members under one distribution; all results (families,)."""

    is_fitted: Bools
    # Logarithms: of all events or trials of the family, and of those of a typical member.
    log_all: Floats
    log_typical: Floats

    def parameters(self, log_worth: Floats, shift: Floats) -> tuple[Floats, Floats]:
        """Return a and b of the prior with this worth, its centre shifted from the pooled one."""
        ...

    def centre_score(self, log_worth: Floats, shift: Floats) -> Floats:
        """Return the slope of the log likelihood in the shift; it falls steadily."""
        ...

    def worth_score(self, log_worth: Floats, shift: Floats) -> Floats:
        """Return the slope of the log likelihood in the worth, up to a positive factor."""
        ...

    def log_likelihood(self, log_worth: Floats, shift: Floats) -> Floats:
        """Return the log likelihood, up to what does not depend on the prior."""
        ...


def fit_prior(model: Model, without: tuple[float, float]) -> Prior:
    """
    Fit all families at once.

    Parameters
    ----------
    model : Model
    without : (a, b)
        Prior of the families that lend nothing.

    Returns
    -------
    Prior
        No family can fail to converge: where more worth would always fit better, the worth is its upper
        limit.

    References
    ----------
    Spread of the centre: Kass, R. E. & Steffey, D. (1989), JASA 84, 717-726. Weight of the worth before the
    data, uniform in the shrinkage of a typical member: Christiansen, C. L. & Morris, C. N. (1997), JASA 92,
    618-632.
    """
    log_worth = _halve(
        lambda at: model.worth_score(at, _best_shift(model, at)),
        np.full(model.log_all.shape, LOWEST_LOG_WORTH),
        np.maximum(model.log_all, LOWEST_LOG_WORTH),
    )
    best = model.parameters(log_worth, _best_shift(model, log_worth))
    grid = model.log_typical + GRID[:, None]
    shifts = np.stack([_best_shift(model, at) for at in grid])
    pairs = [model.parameters(at, shift) for at, shift in zip(grid, shifts, strict=True)]
    logs = np.stack([model.log_likelihood(at, shift) for at, shift in zip(grid, shifts, strict=True)])
    # Uniform in own / (own + worth) is, on the scale of logarithms, the logistic density.
    logs += (GRID - 2.0 * np.logaddexp(0.0, GRID))[:, None]
    weight = np.exp(logs - logs.max(axis=0))
    spread = np.stack([_centre_variance(model, at, shift) for at, shift in zip(grid, shifts, strict=True)])
    keep = model.is_fitted
    a, b = (np.where(keep, fitted, plain) for fitted, plain in zip(best, without, strict=True))
    grid_a, grid_b = (np.where(keep, np.stack([pair[k] for pair in pairs]), without[k]) for k in (0, 1))
    return Prior(a, b, keep, grid_a, grid_b, weight / weight.sum(axis=0), np.where(keep, spread, 0.0))


def family_sums(place: Ints, families: int) -> Callable[[ArrayLike], Floats]:
    """Return the function that adds up the members' values in each family."""

    def total(values: ArrayLike) -> Floats:
        weights = np.asarray(values, dtype=np.float64)
        return np.bincount(place, weights=weights, minlength=families).astype(np.float64)

    return total


def _best_shift(model: Model, log_worth: Floats) -> Floats:
    reach = np.full(log_worth.shape, REACH)
    return _halve(lambda shift: model.centre_score(log_worth, shift), -reach, reach)


def _centre_variance(model: Model, log_worth: Floats, shift: Floats) -> Floats:
    step = 1e-4
    slope = model.centre_score(log_worth, shift + step) - model.centre_score(log_worth, shift - step)
    return np.maximum(quotient(-2.0 * step, slope), 0.0)


def _halve(score: Callable[[Floats], Floats], low: Floats, high: Floats) -> Floats:
    """Return where a score that falls through zero does so, or the end it stays away from zero at."""
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        is_below = score(middle) > 0.0
        low, high = np.where(is_below, middle, low), np.where(is_below, high, middle)
    return (low + high) / 2.0
