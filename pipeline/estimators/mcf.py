"""
Mean cumulative function: how many repairs (or how much cost) a machine has had by an age, on average.

Nelson's estimate: M(t) is the sum, over the ages s up to t with events, of what happened at s divided by the
number of machines under observation at s; a machine is so on entry < s <= exit. No model, any number of
events a machine; two events of one machine at one age are two. The variance is that of Lawless & Nadeau,
summed by machine, because machines that have failed often fail often.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

from pipeline.estimators.arrays import (
    Bools,
    Floats,
    Ints,
    check_level,
    floats_of,
    normal_quantile,
    quotient,
    tally,
)
from pipeline.estimators.mcf_input import Happenings, Windows, checked_windows, lay_out
from pipeline.estimators.mcf_variance import Steps, robust_variance
from pipeline.estimators.proportions import Difference, newcombe_difference
from pipeline.estimators.rates import exact_rate
from pipeline.estimators.segments import running_sum

__all__ = [
    "Happenings",
    "MeanCumulative",
    "Reading",
    "Windows",
    "first_age_at_risk",
    "mcf_difference",
    "mean_cumulative",
    "read_at",
]

# Fewer machines than this at risk: the line stops (the caller asks for it).
MIN_AT_RISK = 5


class MeanCumulative(NamedTuple):
    """
    Step functions of several groups, end to end; rows of group g are offsets[g] … offsets[g + 1] - 1.

    Attributes
    ----------
    offsets : int, (groups + 1,)
    group : int, (rows,)
    time : float, (rows,)
        Ages at which something happened, ascending within a group.
    at_risk : int, (rows,)
    amount : float, (rows,)
        Events (or cost) at that age.
    value, variance, low, high : float, (rows,)
        Mean count or cost up to and with that age, its robust variance, and its limits.
    is_count : bool
        Whether all amounts were one each.
    """

    offsets: Ints
    group: Ints
    time: Floats
    at_risk: Ints
    amount: Floats
    value: Floats
    variance: Floats
    low: Floats
    high: Floats
    is_count: bool


class Reading(NamedTuple):
    """Mean count or cost at an age, arrays (times,); see `read_at`."""

    value: Floats
    low: Floats
    high: Floats


def mean_cumulative(
    windows: Windows,
    happenings: Happenings,
    *,
    groups: int,
    level: float = 0.95,
    min_at_risk: int = 1,
) -> MeanCumulative:
    """
    Nelson's mean cumulative function of each group.

    Parameters
    ----------
    windows : Windows
        One row a machine; a machine is at risk on entry < age <= exit.
    happenings : Happenings
        Every event within its machine's window; amounts >= 0 (cost), or None to count.
    groups : int
    level : float
        Confidence level of each point.
    min_at_risk : int
        Events are counted from the first event age with so many machines at risk, and the line stops before
        the first later one with fewer: what is given then is M(t) - M(t0). `MIN_AT_RISK` is the rule for
        pages.

    Returns
    -------
    MeanCumulative
        `variance` is Lawless and Nadeau's. The limits are M exp(+-q se / M) with se**2 = m/(m-1) times it and
        q from Student's t with m - 1 degrees of freedom, m the machines that had entered by then. Where
        machines show no variation (one machine, or all alike) the Poisson variance, sum of amount**2 / n**2,
        stands in. A group without events has no rows.

    Raises
    ------
    ValueError
        If lengths differ, a number is not finite, a group or machine is out of range, an exit is not after
        its entry, or an event lies outside its machine's window.

    References
    ----------
    Nelson, W. (1988), J. Quality Technology 20, 24-35; (1995), Technometrics 37, 147-157. Lawless, J. F. &
    Nadeau, C. (1995), Technometrics 37, 158-168.
    """
    check_level(level)
    steps, time = lay_out(windows, happenings, groups)
    kept = _is_counted(steps, min_at_risk)
    if not kept.all():
        steps = steps._replace(
            amount=np.where(kept, steps.amount, 0.0),
            event_amount=np.where(kept[steps.event_row], steps.event_amount, 0.0),
        )
    value = running_sum(quotient(steps.amount, steps.at_risk), steps.offsets)
    variance = robust_variance(steps, value)
    low, high = _limits(steps, value, variance, level)
    offsets = np.concatenate([[0], np.cumsum(np.bincount(steps.group[kept], minlength=groups))]).astype(
        np.int64
    )
    return MeanCumulative(
        offsets,
        steps.group[kept],
        time[kept],
        steps.at_risk[kept].astype(np.int64),
        steps.amount[kept],
        value[kept],
        variance[kept],
        low[kept],
        high[kept],
        is_count=happenings.amount is None,
    )


def read_at(
    curve: MeanCumulative, group: int, times: ArrayLike, at_risk: int, level: float = 0.95
) -> Reading:
    """
    Mean count or cost of one group at given ages.

    Parameters
    ----------
    curve : MeanCumulative
    group : int
    times : array_like, (times,)
        Ages.
    at_risk : int
        Machines under observation up to the first event, for the upper limit before it: a count of none among
        so many machines has the exact Poisson limit; a cost of none has no upper limit.
    level : float
        Confidence level the curve was made with.

    Returns
    -------
    Reading
        Arrays (times,); before the first event the value is 0.
    """
    ages = floats_of("times", times)
    first, last = curve.offsets[group], curve.offsets[group + 1]
    rows = np.searchsorted(curve.time[first:last], ages, side="right") - 1
    none = exact_rate(0, at_risk if curve.is_count else 0, level).high
    return Reading(
        *(
            np.append(column[first:last], before)[rows]
            for column, before in ((curve.value, 0.0), (curve.low, 0.0), (curve.high, none))
        )
    )


def mcf_difference(first: Reading, second: Reading) -> Difference:
    """
    Difference of two groups' mean counts or costs, from their own intervals (MOVER).

    Parameters
    ----------
    first, second : Reading
        Of different machines, at the same ages and level.

    Returns
    -------
    Difference
        first - second; arrays (times,).

    References
    ----------
    Zou, G. Y. & Donner, A. (2008), Stat. Med. 27, 1693-1702.
    """
    return newcombe_difference((first.value, first.low, first.high), (second.value, second.low, second.high))


def first_age_at_risk(windows: Windows, *, groups: int, at_least: int = MIN_AT_RISK) -> Floats:
    """
    First age at which so many machines are under observation: the t0 of M(t) - M(t0).

    Parameters
    ----------
    windows : Windows
    groups, at_least : int

    Returns
    -------
    array, (groups,)
        The age after which they are at risk; infinite where there never are so many.

    Raises
    ------
    ValueError
        As `mean_cumulative`.
    """
    group, entry, leave = checked_windows(windows, groups)
    ages = np.concatenate([entry, leave])
    change = np.concatenate([np.ones(len(entry)), -np.ones(len(leave))])
    both = np.concatenate([group, group])
    # At one age machines leave before others come: a window is open at its entry.
    order = np.lexsort((change, ages, both))
    offsets = np.searchsorted(both[order], np.arange(groups + 1)).astype(np.int64)
    reached = running_sum(change[order], offsets) >= at_least
    out = np.full(groups, np.inf)
    rows = order[reached][::-1]
    out[both[rows]] = ages[rows]
    return out


def _is_counted(steps: Steps, min_at_risk: int) -> Bools:
    has_enough = steps.at_risk >= min_at_risk
    begun = running_sum(has_enough.astype(np.float64), steps.offsets) > 0.0
    fallen = running_sum((begun & ~has_enough).astype(np.float64), steps.offsets) > 0.0
    return begun & ~fallen


def _limits(steps: Steps, value: Floats, variance: Floats, level: float) -> tuple[Floats, Floats]:
    squares = tally(steps.event_row, len(value), steps.event_amount**2)
    poisson = running_sum(quotient(squares, steps.at_risk**2), steps.offsets)
    machines = running_sum(steps.entered.astype(np.float64), steps.offsets)
    is_robust = (machines > 1.0) & (variance > 1e-12 * value**2)
    used = np.where(is_robust, variance * quotient(machines, machines - 1.0), poisson)
    q = np.where(is_robust, _quantiles_of_t(machines, level), normal_quantile(level))
    factor = np.exp(np.minimum(q * quotient(np.sqrt(used), value), 700.0))
    return value / factor, value * factor


def _quantiles_of_t(machines: Floats, level: float) -> Floats:
    """Work each number of machines out once: there are few of them, and the quantile is slow."""
    count = machines.astype(np.int64)
    found = np.flatnonzero(np.bincount(count))
    table = np.zeros(int(count.max(initial=0)) + 1)
    table[found] = stats.t.ppf(0.5 + level / 2.0, np.maximum(found - 1.0, 1.0))
    return table[count]
