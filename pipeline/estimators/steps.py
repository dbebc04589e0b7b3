"""What is read off life curves at a day: rows, numbers at risk, sums of increments and their variance."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pipeline.estimators.arrays import Floats, Ints, quotient
from pipeline.estimators.curves import DENSE_CELLS, Curves
from pipeline.estimators.segments import running_sum

# A sum of shares that make up everything may miss 1 by this much; 1 - F must then be 0, not the rounding
# error.
ROUNDED = 1e-12


def last_step(curves: Curves, group: Ints, time: Ints) -> Ints:
    """Return the row of each group's last step at or before the day; -1 where the group has none so early."""
    first, last = -2, int(curves.time.max(initial=0)) + 1
    span = last - first + 1
    keys = curves.group * span + (curves.time - first)
    wanted = group * span + (np.clip(time, first, last) - first)
    if curves.groups * span <= max(DENSE_CELLS, len(wanted)):
        # Many look-ups: one table of every day is quicker than a search for each.
        is_step = np.zeros(curves.groups * span, dtype=np.int64)
        is_step[keys] = 1
        rows = np.cumsum(is_step)[wanted] - 1
    else:
        rows = (np.searchsorted(keys, wanted, side="right") - 1).astype(np.int64)
    return np.where(rows >= curves.offsets[group], rows, -1)


def at_risk_on(curves: Curves, day: Ints) -> Ints:
    """Return the records under observation on the day (one a group), before that day's events; (groups,)."""
    rows = last_step(curves, np.arange(curves.groups), day - 1)
    gone = curves.events.sum(axis=1) + curves.censored
    staying = np.append(curves.at_risk + curves.entered - gone, 0)
    return np.where(rows >= 0, staying[rows], curves.start)


def entered_by(curves: Curves, day: Ints) -> Ints:
    """Return the records that had come under observation before the day (one day a group); (groups,)."""
    is_before = curves.time < day[curves.group]
    return curves.start + by_group(curves, curves.entered * is_before).astype(np.int64)


def followed_to(curves: Curves) -> Ints:
    """Return the last day with anybody under observation; -1 for a group without records; (groups,)."""
    days = np.full(curves.groups, -1, dtype=np.int64)
    has_rows = np.diff(curves.offsets) > 0
    days[has_rows] = curves.time[curves.offsets[1:][has_rows] - 1]
    return days


def by_group(curves: Curves, values: Floats | Ints) -> Floats:
    """Return the sum of the rows' values in each group; (groups,)."""
    return np.bincount(curves.group, weights=values, minlength=curves.groups).astype(np.float64)


def events_of(curves: Curves, causes: Sequence[int]) -> Ints:
    """
    Return the events of the causes taken together, on each row.

    Raises
    ------
    ValueError
        If no cause is named, one is named twice, or one is not among the curves' causes.
    """
    known = curves.events.shape[1]
    if not causes or len(set(causes)) < len(causes) or not all(0 <= cause < known for cause in causes):
        raise ValueError(f"causes must be different numbers of 0 to {known - 1}, but was {tuple(causes)}")
    hits: Ints = curves.events[:, list(causes)].sum(axis=1)
    return hits


def increments(curves: Curves, hits: Ints, weight: Floats) -> Floats:
    """Return weight * S(t-) * hits / at risk on each row: what the row adds to a weighted incidence."""
    return weight * curves.before * quotient(hits, curves.at_risk)


def as_probability(total: Floats) -> Floats:
    """Return sums of increments as probabilities: what rounding kept from reaching 1 is 1."""
    return np.where(total > 1.0 - ROUNDED, 1.0, total)


def aalen_variance(curves: Curves, hits: Ints, weight: Floats) -> Floats:
    """
    Variance of the weighted incidence sum(weight * S(t-) * hits / at risk), for every group; (groups,).

    With weight 1 up to day D it is the variance of the cumulative incidence by D (delta method; for a single
    cause it is Greenwood's). With weight tau - t it is that of the time restricted to tau.

    References
    ----------
    Marubini, E. & Valsecchi, M. G. (1995), Analysing Survival Data, section 10.4. Greenwood, M. (1926).
    """
    n, a = curves.at_risk.astype(np.float64), curves.events.sum(axis=1)
    steps = increments(curves, hits, weight)
    to_come = by_group(curves, steps)[curves.group] - running_sum(steps, curves.offsets)
    # Once everybody has had an event nothing is to come: the infinite term stands before a zero.
    spread = quotient(a, n * (n - a))
    share = weight * curves.before
    own = share * share * (n - hits) * quotient(hits, n**3)
    mixed = to_come * share * quotient(hits, n * n)
    return np.maximum(by_group(curves, to_come * to_come * spread + own - 2.0 * mixed), 0.0)
