"""Which groups stand out from all the others, many being looked at."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from pipeline.estimators.arrays import Floats, check_same_length, floats_of, normal_quantile, quotient
from pipeline.estimators.multiplicity import benjamini_hochberg
from pipeline.estimators.proportions import newcombe_difference, wilson
from pipeline.estimators.sample import CANNOT_TELL, band_of

# Among the groups that are flagged, on average at most this share may be false alarms.
FALSE_DISCOVERIES = 0.05


class Bands(NamedTuple):
    """Adjusted p-value and band of each group; arrays (groups,)."""

    adjusted_p: Floats
    band: NDArray[np.str_]


def bands_against_others(
    share: ArrayLike, n_eff: ArrayLike, count: ArrayLike, is_followed: ArrayLike, level: float = 0.95
) -> Bands:
    """
    Place each group against all the other groups together.

    Parameters
    ----------
    share : array_like, (groups,)
        Estimated probability of each group, in [0, 1].
    n_eff : array_like, (groups,)
        Effective sample size of that probability.
    count : array_like, (groups,)
        Jobs of each group: the others are averaged by their jobs.
    is_followed : array_like of bool, (groups,)
        Whether the group was followed for all the days asked for; one that was not is neither judged nor a reference.
    level : float
        Confidence level of the interval of the difference.

    Returns
    -------
    Bands
        `band` 'worse' or 'better' where at least 20 stand on each side, the interval of the difference (Newcombe's)
        leaves out zero and the adjusted p-value is below 0.05; else 'cannot tell'. The p-value is the doubled mid-p
        of the conditional exact test on effective counts, rounded to whole ones; adjusted over all groups judged,
        1 for those that are not.

    Raises
    ------
    ValueError
        If lengths differ or a number is not finite or below 0.

    References
    ----------
    Benjamini, Y. & Hochberg, Y. (1995), JRSS B 57, 289-300; Newcombe, R. G. (1998), Stat. Med. 17, 873-890, method
    10; mid-p: Lancaster, H. O. (1961), JASA 56, 223-234 (the last from memory).
    """
    p, n, jobs = (
        floats_of(name, values, at_least=0.0)
        for name, values in (("share", share), ("n_eff", n_eff), ("count", count))
    )
    judged = np.asarray(is_followed, dtype=bool)
    check_same_length(share=p, n_eff=n, count=jobs, is_followed=judged)
    others, n_others = _others(p, n, jobs, judged)
    mine, rest = (wilson(np.minimum(a * b, b), b, level) for a, b in ((p, n), (others, n_others)))
    difference = newcombe_difference((p, mine.low, mine.high), (others, rest.low, rest.high))
    adjusted = np.ones(len(p))
    adjusted[judged] = benjamini_hochberg(_mid_p(p, n, others, n_others)[judged])
    words = band_of(n, n_others, difference.low, difference.high)
    return Bands(adjusted, np.where(judged & (adjusted < FALSE_DISCOVERIES), words, CANNOT_TELL))


def means_above(
    mean: ArrayLike, low: ArrayLike, together: tuple[float, float], level: float = 0.95
) -> NDArray[np.bool_]:
    """
    Tell which means lie above that of all together, many being looked at.

    Parameters
    ----------
    mean, low : array_like, (groups,)
        Above 0; mean of each group and the lower limit of its interval. Give every group that was looked at.
    together : (float, float)
        Mean of all together and the upper limit of its interval.
    level : float
        Confidence level of the limits.

    Returns
    -------
    array of bool, (groups,)
        Where the adjusted one-sided p-value is below 0.05. The test is the normal one on logarithms, the spread of each
        side read off the limit that faces the other; a group is part of the whole, so that it says too little rather
        than too much.

    Raises
    ------
    ValueError
        If a number is not finite or below 0, or lengths differ.

    References
    ----------
    Benjamini, Y. & Hochberg, Y. (1995), JRSS B 57, 289-300. Spread from limits: common practice, no source.
    """
    value, limit = floats_of("mean", mean, at_least=0.0), floats_of("low", low, at_least=0.0)
    check_same_length(mean=value, low=limit)
    all_of_them, highest = (float(floats_of("together", each, at_least=0.0)) for each in together)
    is_told = (value > 0.0) & (limit > 0.0) & (all_of_them > 0.0)
    with np.errstate(divide="ignore"):
        ahead = np.where(is_told, np.log(quotient(value, all_of_them, otherwise=1.0)), 0.0)
        own = np.where(is_told, np.log(quotient(value, limit, otherwise=1.0)), 1.0)
    rest = np.log(highest / all_of_them) if all_of_them > 0.0 else 0.0
    z = normal_quantile(level) * quotient(ahead, np.hypot(own, rest))
    return np.asarray(benjamini_hochberg(np.where(is_told, stats.norm.sf(z), 1.0)) < FALSE_DISCOVERIES)


def _others(p: Floats, n: Floats, jobs: Floats, judged: NDArray[Any]) -> tuple[Floats, Floats]:
    """Average probability of all other groups that were followed, by their jobs, and their effective size."""
    weight = np.where(judged, jobs, 0.0)
    share = quotient((weight * p).sum() - weight * p, weight.sum() - weight)
    size = np.where(judged, n, 0.0)
    return np.clip(share, 0.0, 1.0), np.maximum(size.sum() - size, 0.0)


def _mid_p(p: Floats, n: Floats, others: Floats, n_others: Floats) -> Floats:
    size, rest = np.rint(n), np.rint(n_others)
    hits = np.minimum(np.rint(p * n), size)
    total = hits + np.minimum(np.rint(others * n_others), rest)
    law = stats.hypergeom(size + rest, total, size)
    at = law.pmf(hits)
    below, above = law.cdf(hits) - at / 2.0, law.sf(hits) + at / 2.0
    both: Floats = np.clip(2.0 * np.minimum(below, above), 0.0, 1.0)
    return both
