"""Rates that vary within a family as a gamma distribution: the negative binomial likelihood of their counts."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from pipeline.estimators.arrays import (
    Floats,
    Ints,
    check_groups,
    check_same_length,
    floats_of,
    ints_of,
    quotient,
)
from pipeline.estimators.empirical_bayes import FAMILY_MIN, Prior, family_sums, fit_prior


def fit_gamma(family: ArrayLike, events: ArrayLike, exposure: ArrayLike, *, families: int) -> Prior:
    """
    Gamma prior of each family's rates, by maximum likelihood of the negative binomial.

    Parameters
    ----------
    family : array_like of int, (members,)
        Family 0 … families - 1 of each member.
    events : array_like of int, (members,)
    exposure : array_like, (members,)
        In one unit; members without exposure say nothing.
    families : int

    Returns
    -------
    Prior

    Raises
    ------
    ValueError
        If lengths differ, a number is negative or not finite, or a family is out of range.

    References
    ----------
    Greenwood, M. & Yule, G. U. (1920), JRSS 83, 255-279; Clayton, D. & Kaldor, J. (1987), Biometrics 43,
    671-681.
    """
    place, d = ints_of("family", family), ints_of("events", events, at_least=0)
    t = floats_of("exposure", exposure, at_least=0.0)
    check_same_length(family=place, events=d, exposure=t)
    check_groups(place, families)
    # Without exposure there is no count; leaving such members out keeps every quotient below defined.
    is_seen = t > 0.0
    return fit_prior(_Counts(place[is_seen], d[is_seen], t[is_seen], families), without=(0.5, 0.0))


class _Counts:
    """Events `d` in exposure `t` of each member, t > 0; the centre is the mean rate, on a scale of logarithms."""

    def __init__(self, place: Ints, d: Ints, t: Floats, families: int) -> None:
        self.place, self.d, self.t = place, d, t
        self.totals = family_sums(place, families)
        events, members = self.totals(d), self.totals(np.ones(len(d)))
        self.is_fitted = (members >= FAMILY_MIN) & (events > 0)
        self.pooled = np.where(self.is_fitted, quotient(events, self.totals(t)), 1.0)
        self.log_all = np.log(np.maximum(events, 1.0))
        self.log_typical = np.log(np.where(self.is_fitted, quotient(events, members), 1.0))

    def parameters(self, log_worth: Floats, shift: Floats) -> tuple[Floats, Floats]:
        a = np.exp(log_worth)
        return a, a / (np.exp(shift) * self.pooled)

    def centre_score(self, log_worth: Floats, shift: Floats) -> Floats:
        a = np.exp(log_worth)[self.place]
        expected = (np.exp(shift) * self.pooled)[self.place] * self.t
        return self.totals(a * (self.d - expected) / (a + expected))

    def worth_score(self, log_worth: Floats, shift: Floats) -> Floats:
        a, b = (column[self.place] for column in self.parameters(log_worth, shift))
        return self.totals(special.digamma(a + self.d) - special.digamma(a) - np.log1p(self.t / b))

    def log_likelihood(self, log_worth: Floats, shift: Floats) -> Floats:
        a, b = (column[self.place] for column in self.parameters(log_worth, shift))
        rising = special.gammaln(a + self.d) - special.gammaln(a)
        return self.totals(rising - a * np.log1p(self.t / b) - self.d * np.log(b + self.t))
