"""
Observed against expected returns: which procedures do not hold, whatever follow-up each of their jobs had.

Expected is the sum, over a procedure's jobs, of the cumulative hazard of comparable jobs up to where each job was
followed, so that observed less expected is a martingale and no job has to be followed to the end. The procedure itself
is left out of what it is compared with.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from pipeline.estimators.arrays import check_groups, check_level, check_same_length, ints_of
from pipeline.estimators.funnel import ENOUGH_GROUPS, overdispersion, z_scores
from pipeline.estimators.multiplicity import benjamini_hochberg
from pipeline.estimators.rates import exact_rate

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
# A procedure is asked about when it may bring back more than half as many again as usual.
QUESTION = 1.5
WORSE_BELOW = 0.05
AT_ONCE = 256  # procedures compared at a time
CELLS_AT_ONCE = 20_000  # groups in strata that are compared at a time
LEAST_OVER = 1e-9  # of the variance over Poisson's: below it they are the same
WORSE, CANNOT_TELL, BETTER = "worse", "cannot tell", "better"


class Compared(NamedTuple):
    """
    Arrays (procedures,).

    Attributes
    ----------
    jobs : int
    observed, expected : float
        Returns seen, and returns that comparable procedures would have had over the same follow-up.
    ratio, low, high : float
        Observed over expected with its exact Poisson limits; not a number where nothing is expected.
    adjusted_p : float
        One-sided, that the ratio is above 1.5 (mid-p), adjusted over all procedures; 1 where it cannot be asked.
    band : list of str
        worse where adjusted_p is below 0.05, better where the upper limit lies below 1 / 1.5, else cannot tell.
    """

    jobs: Ints
    observed: Floats
    expected: Floats
    ratio: Floats
    low: Floats
    high: Floats
    adjusted_p: Floats
    band: list[str]


def compare_procedures(
    procedure: ArrayLike,
    kind: ArrayLike,
    time: ArrayLike,
    returned: ArrayLike,
    *,
    days: int,
    level: float = 0.95,
) -> Compared:
    """
    Compare each procedure with the others of its kind.

    Parameters
    ----------
    procedure : array_like of int, (jobs,)
        0 … procedures - 1.
    kind : array_like of int, (procedures,)
        Procedures of one kind (the same action) are comparable.
    time : array_like of int, (jobs,)
        Day of the return, or last day followed.
    returned : array_like of bool, (jobs,)
        Whether it ended with a return.
    days : int
        Returns count up to this day.
    level : float

    Returns
    -------
    Compared
        Reference is the median of the other procedures' ratios to what is pooled from them, each weighted by what it
        expects, so that one bad procedure does not make the rest look good.

    Raises
    ------
    ValueError
        If lengths differ or a procedure is out of range.

    References
    ----------
    Breslow, N. E. & Day, N. E. (1987), Statistical Methods in Cancer Research II, chapters 2 and 3. Benjamini, Y. &
    Hochberg, Y. (1995), J. R. Statist. Soc. B 57, 289-300.
    """
    check_level(level)
    at, kinds = ints_of("procedure", procedure), ints_of("kind", kind)
    followed, back = ints_of("time", time, at_least=0), np.asarray(returned, dtype=np.bool_)
    check_same_length(procedure=at, time=followed, returned=back)
    check_groups(at, len(kinds))
    counts = _Counts(at, len(kinds), np.minimum(followed, days), back & (followed <= days), days)
    expected = np.zeros(len(kinds))
    for kind_no in np.unique(kinds):
        alike = np.flatnonzero(kinds == kind_no)
        expected[alike] = np.concatenate(
            [_references(counts, alike, some) for some in np.array_split(alike, -(-len(alike) // AT_ONCE))]
        )
    return _compared(counts, expected, level)


class _Counts:
    """Returns and jobs at risk on each day, by procedure."""

    def __init__(self, at: Ints, procedures: int, time: Ints, back: NDArray[np.bool_], days: int) -> None:
        width = days + 1
        ends = np.bincount(at * width + time, minlength=procedures * width).reshape(procedures, width)
        self.jobs = ends.sum(axis=1)
        self.at_risk = ends[:, ::-1].cumsum(axis=1)[:, ::-1].astype(np.float64)
        self.returns = (
            np.bincount(at[back] * width + time[back], minlength=procedures * width)
            .reshape(procedures, width)
            .astype(np.float64)
        )
        self.observed = self.returns.sum(axis=1)


def _references(counts: _Counts, alike: Ints, some: Ints) -> Floats:
    """
    Returns expected of some procedures, from the others that are alike.

    What the others pool is everybody's less one's own. Rows of the matrices are the `some`, columns all that are alike.
    """
    returns = counts.returns[alike].sum(axis=0) - counts.returns[some]
    at_risk = counts.at_risk[alike].sum(axis=0) - counts.at_risk[some]
    hazard = np.divide(returns, at_risk, out=np.zeros_like(returns), where=at_risk > 0.0)
    pooled = (counts.at_risk[some] * hazard).sum(axis=1)
    weights = hazard @ counts.at_risk[alike].T
    weights[some[:, None] == alike] = 0.0
    values = np.divide(
        counts.observed[alike], weights, out=np.full_like(weights, np.inf), where=weights > 0.0
    )
    return np.where((weights > 0.0).any(axis=1), pooled * _weighted_medians(values, weights), 0.0)


def _weighted_medians(values: Floats, weights: Floats) -> Floats:
    """Weighted median of each row; values without a weight are infinite, and come last. 0 where there is none with one."""
    order = np.argsort(values, axis=1)
    heaped = np.cumsum(np.take_along_axis(weights, order, axis=1), axis=1)
    half, row = heaped[:, -1] / 2.0, np.arange(len(values))
    place = (heaped < half[:, None]).sum(axis=1)
    following = np.minimum(place + 1, (weights > 0.0).sum(axis=1) - 1)
    is_between = np.isclose(heaped[row, place], half) & (following > place)
    at, after = values[row, order[row, place]], values[row, order[row, following]]
    return np.where(is_between, (at + after) / 2.0, np.where(np.isfinite(at), at, 0.0))


def _compared(counts: _Counts, expected: Floats, level: float) -> Compared:
    observed, can = counts.observed, expected > 0.0
    limits = exact_rate(observed, np.where(can, expected, 1.0), level)
    aim = np.where(can, QUESTION * expected, 1.0)
    upper = stats.poisson.sf(observed, aim) + 0.5 * stats.poisson.pmf(observed, aim)
    adjusted = np.ones(len(expected))
    if can.any():
        adjusted[can] = benjamini_hochberg(upper[can])
    ratio = np.where(can, observed / np.where(can, expected, 1.0), np.nan)
    low, high = np.where(can, limits.low, np.nan), np.where(can, limits.high, np.nan)
    band = [
        WORSE if p < WORSE_BELOW else BETTER if top < 1.0 / QUESTION else CANNOT_TELL
        for p, top in zip(adjusted.tolist(), high.tolist(), strict=True)
    ]
    return Compared(counts.jobs, observed, expected, ratio, low, high, adjusted, band)


def expected_of_hazard(
    time: ArrayLike, others_time: ArrayLike, others_returned: ArrayLike, *, days: int
) -> Floats:
    """
    Returns that each job would be expected to have with the hazard of others, over the time it was followed.

    Parameters
    ----------
    time : array_like of int, (jobs,)
        Day of the return, or last day followed.
    others_time, others_returned : array_like, (others,)
        Of the jobs whose hazard it is (Nelson and Aalen).
    days : int

    Returns
    -------
    array, (jobs,)
    """
    mine, when = ints_of("time", time, at_least=0), ints_of("others_time", others_time, at_least=0)
    back = np.asarray(others_returned, dtype=np.bool_) & (when <= days)
    check_same_length(others_time=when, others_returned=back)
    counts = _Counts(np.zeros(len(when), dtype=np.int64), 1, np.minimum(when, days), back, days)
    returns, at_risk = counts.returns[0], counts.at_risk[0]
    so_far = np.cumsum(np.divide(returns, at_risk, out=np.zeros_like(returns), where=at_risk > 0.0))
    return np.asarray(so_far[np.minimum(mine, days)])


class Stratified(NamedTuple):
    """
    Arrays (groups,): of jobs for which another group has comparable ones.

    Attributes
    ----------
    jobs, left_out : int
        Jobs compared, and jobs of a kind that nobody else did.
    observed, expected : float
    variance : float
        Of expected, since it is an estimate itself.
    """

    jobs: Ints
    left_out: Ints
    observed: Floats
    expected: Floats
    variance: Floats


def expected_of_others(
    group: ArrayLike,
    stratum: ArrayLike,
    time: ArrayLike,
    returned: ArrayLike,
    *,
    groups: int,
    days: int,
    reference: ArrayLike | None = None,
) -> Stratified:
    """
    Returns each group would have had with the hazard of all other groups in the same strata.

    Parameters
    ----------
    group, stratum : array_like of int, (jobs,)
        Group 0 … groups - 1; jobs of one stratum are alike.
    time, returned, days
        As for `compare_procedures`.
    groups : int
    reference : array_like of bool, (groups,), optional
        Groups that others are compared with; all of them where it is not given.

    Returns
    -------
    Stratified
    """
    is_usual = np.ones(groups, dtype=np.bool_) if reference is None else np.asarray(reference, dtype=np.bool_)
    who, kind = ints_of("group", group), ints_of("stratum", stratum, at_least=0)
    followed, back = np.minimum(ints_of("time", time, at_least=0), days), np.asarray(returned, dtype=np.bool_)
    check_same_length(group=who, stratum=kind, time=followed, returned=back)
    check_groups(who, groups)
    back = back & (np.asarray(time) <= days)
    # A cell is a group in a stratum; cells come stratum by stratum.
    cells, at = np.unique(kind * groups + who, return_inverse=True)
    jobs, found = np.bincount(at, minlength=len(cells)), np.zeros((4, len(cells)))
    for first, after in _whole_strata(cells // groups):
        mine = np.flatnonzero((at >= first) & (at < after))
        counts = _Counts(at[mine] - first, after - first, followed[mine], back[mine], days)
        here = cells[first:after]
        found[:, first:after] = _of_others(counts, here // groups, is_usual[here % groups])
    can, observed, expected, variance = found
    of_groups: list[Any] = [
        np.bincount(cells % groups, of_cells, minlength=groups)
        for of_cells in (jobs * can, jobs * (1.0 - can), observed, expected, variance)
    ]
    return Stratified(*(of.astype(np.int64) for of in of_groups[:2]), *of_groups[2:])


def _whole_strata(stratum: Ints) -> list[tuple[int, int]]:
    """From which cell up to which, so that each piece has whole strata and memory does not grow with the log."""
    starts = np.concatenate([[0], np.flatnonzero(np.diff(stratum)) + 1, [len(stratum)]])
    wanted = np.arange(0, len(stratum) + CELLS_AT_ONCE, CELLS_AT_ONCE)
    cuts = np.unique(starts[np.minimum(np.searchsorted(starts, wanted), len(starts) - 1)])
    return list(pairwise(cuts.tolist()))


def _of_others(counts: _Counts, stratum: Ints, is_usual: NDArray[np.bool_]) -> Floats:
    """Of each cell whether others did like jobs, and returns observed, expected of the others, and variance of that; (4, cells)."""
    starts = np.flatnonzero(np.diff(stratum, prepend=-1))
    place = np.cumsum(np.diff(stratum, prepend=-1) != 0) - 1
    # Everybody's less one's own: what the others did.
    returns = _others(counts.returns * is_usual[:, None], starts, place)
    at_risk = _others(counts.at_risk * is_usual[:, None], starts, place)
    share = np.divide(counts.at_risk, at_risk, out=np.zeros_like(at_risk), where=at_risk > 0.0)
    can = at_risk[:, 0] > 0.0
    told = np.array(
        [counts.observed, (share * returns).sum(axis=1), (share**2 * returns).sum(axis=1)],
    )
    return np.vstack([can, np.where(can, told, 0.0)])


def _others(values: Floats, starts: Ints, place: Ints) -> Floats:
    return np.asarray(np.add.reduceat(values, starts, axis=0)[place] - values)


def compare_groups(
    group: ArrayLike,
    stratum: ArrayLike,
    time: ArrayLike,
    returned: ArrayLike,
    *,
    groups: int,
    days: int,
    fewest: int,
) -> tuple[Stratified, Floats, float]:
    """
    Compare each group with the usual ones in like jobs.

    Whoever stands out most is taken out of what the others are compared with, and the rest looked at again, until
    nobody further stands out: one group with many returns must not make the others look good.

    Parameters
    ----------
    group, stratum, time, returned, groups, days
        As for `expected_of_others`.
    fewest : int
        Groups with fewer compared jobs are not looked at.

    Returns
    -------
    Stratified
    adjusted_p : array, (groups,)
        Two-sided, adjusted over the groups looked at; of one that was taken out, as it was when it was taken out; 1 for
        groups that are not looked at.
    spread : float
        Over-dispersion among the usual groups, where there are enough to tell; 1 else.
    """
    usual, adjusted = np.ones(groups, dtype=np.bool_), np.ones(groups)
    while True:
        found = expected_of_others(group, stratum, time, returned, groups=groups, days=days, reference=usual)
        calm = (found.jobs >= fewest) & (found.expected > 0.0) & usual
        spread = 1.0
        if calm.sum() >= ENOUGH_GROUPS:
            spread = max(1.0, overdispersion(z_scores(found.observed[calm], found.expected[calm])))
        adjusted[usual] = 1.0
        if not calm.any():
            return found, adjusted, spread
        p = two_sided_p(found.observed[calm], found.expected[calm], found.variance[calm], spread)
        adjusted[calm] = benjamini_hochberg(p)
        worst = int(np.argmin(np.where(calm, adjusted, np.inf)))
        if adjusted[worst] >= WORSE_BELOW or usual.sum() <= 2:
            return found, adjusted, spread
        usual[worst] = False


def two_sided_p(observed: ArrayLike, expected: ArrayLike, variance: ArrayLike, spread: float = 1.0) -> Floats:
    """
    Two-sided p-value that a group differs from what is expected of it.

    Parameters
    ----------
    observed, expected, variance : array_like, (groups,)
        Expected above 0, with its own variance.
    spread : float
        How many times as much as by chance groups vary.

    Returns
    -------
    array, (groups,)
        Exact (the smaller tail doubled) of a negative binomial with mean E and variance spread * E + variance; of Poisson
        where that is E. Of eight people with 140 jobs each, seven of whom do as all others, it told one of the seven in 3.6 of
        100 drawn firms (10,000), with 230 jobs in 3.9; mid-p tells more.
    """
    o, e = np.asarray(observed, dtype=np.float64), np.asarray(expected, dtype=np.float64)
    over = np.maximum((spread - 1.0) * e + np.asarray(variance, dtype=np.float64), e * LEAST_OVER)
    shape = e**2 / over
    counts = stats.nbinom(shape, shape / (shape + e))
    return np.asarray(np.minimum(1.0, 2.0 * np.minimum(counts.cdf(o), counts.sf(o - 1.0))))
