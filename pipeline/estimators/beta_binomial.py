"""Shares that vary within a family as a beta distribution: the beta-binomial likelihood of their counts."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from pipeline.estimators.arrays import (
    ROUNDING,
    Floats,
    Ints,
    check_groups,
    check_same_length,
    floats_of,
    ints_of,
    quotient,
)
from pipeline.estimators.empirical_bayes import FAMILY_MIN, Prior, family_sums, fit_prior


def fit_beta(family: ArrayLike, x: ArrayLike, n: ArrayLike, *, families: int) -> Prior:
    """
    Beta prior of each family's shares, by maximum likelihood of the beta-binomial.

    Parameters
    ----------
    family : array_like of int, (members,)
        Family 0 … families - 1 of each member.
    x, n : array_like, (members,)
        Successes and trials; an effective n need not be whole. Members with fewer than two trials say nothing
        about how much the family varies.
    families : int

    Returns
    -------
    Prior

    Raises
    ------
    ValueError
        If lengths differ, a count is negative or not finite, x exceeds n, or a family is out of range.

    References
    ----------
    Skellam, J. G. (1948), JRSS B 10, 257-261; Griffiths, D. A. (1973), Biometrics 29, 637-648.
    """
    place, (hits, trials) = ints_of("family", family), checked_shares(x, n)
    check_same_length(family=place, x=hits, n=trials)
    check_groups(place, families)
    return fit_prior(_Shares(place, hits, trials, families), without=(0.5, 0.5))


def checked_shares(x: ArrayLike, n: ArrayLike) -> tuple[Floats, Floats]:
    """Return successes and trials as floats, 0 <= x <= n; raise ValueError where they are not."""
    hits, trials = floats_of("x", x, at_least=0.0), floats_of("n", n, at_least=0.0)
    over = hits > trials * (1.0 + ROUNDING)
    if over.any():
        raise ValueError(f"x must be at most n, but {over.sum()} were above")
    return np.minimum(hits, trials), trials


class _Shares:
    """Successes of trials of each member; the centre is the mean share, on a scale of logits."""

    def __init__(self, place: Ints, hits: Floats, trials: Floats, families: int) -> None:
        self.place, self.hits, self.misses, self.trials = place, hits, trials - hits, trials
        self.totals = family_sums(place, families)
        everything, telling = self.totals(trials), self.totals(trials >= 2.0)
        share = quotient(self.totals(hits), everything)
        self.is_fitted = (telling >= FAMILY_MIN) & (share > 0.0) & (share < 1.0)
        self.pooled = special.logit(np.where(self.is_fitted, share, 0.5))
        self.log_all = np.log(np.maximum(everything, 1.0))
        self.log_typical = np.log(np.maximum(quotient(everything, self.totals(trials > 0.0)), 1.0))

    def parameters(self, log_worth: Floats, shift: Floats) -> tuple[Floats, Floats]:
        logit = self.pooled + shift
        return np.exp(log_worth) * special.expit(logit), np.exp(log_worth) * special.expit(-logit)

    def centre_score(self, log_worth: Floats, shift: Floats) -> Floats:
        a, b = self.parameters(log_worth, shift)
        of_hits, of_misses = self._rises(a, b)
        return a * b / (a + b) * (of_hits - of_misses)

    def worth_score(self, log_worth: Floats, shift: Floats) -> Floats:
        a, b = self.parameters(log_worth, shift)
        of_hits, of_misses = self._rises(a, b)
        worth = (a + b)[self.place]
        of_all = self.totals(special.digamma(worth + self.trials) - special.digamma(worth))
        return (a * of_hits + b * of_misses) / (a + b) - of_all

    def log_likelihood(self, log_worth: Floats, shift: Floats) -> Floats:
        a, b = (column[self.place] for column in self.parameters(log_worth, shift))
        return self.totals(special.betaln(a + self.hits, b + self.misses) - special.betaln(a, b))

    def _rises(self, a: Floats, b: Floats) -> tuple[Floats, Floats]:
        first, second = a[self.place], b[self.place]
        return (
            self.totals(special.digamma(first + self.hits) - special.digamma(first)),
            self.totals(special.digamma(second + self.misses) - special.digamma(second)),
        )
