"""Whether repairs come more often at higher ages: two stretches of age compared on the same machines."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy import stats

from pipeline.estimators.arrays import Floats, Ints, check_level, quotient, tally
from pipeline.estimators.mcf_input import Happenings, Windows, checked_events, checked_windows


class Change(NamedTuple):
    """
    Mean number of events per unit of age in two stretches, and the later less the earlier one.

    Attributes
    ----------
    early, late : float
        (M(split) - M(start)) / (split - start), and likewise from split to end.
    value, low, high : float
        late - early, with its limits.
    p : float
        Two-sided p-value of "no change", from the same t; 1 where nothing can be known.
    early_machines, late_machines : int
        Machines under observation at some age of each stretch.
    early_events, late_events : int
    """

    early: float
    late: float
    value: float
    low: float
    high: float
    p: float
    early_machines: int
    late_machines: int
    early_events: int
    late_events: int


def longest_stretch(windows: Windows, at_least: int) -> tuple[float, float] | None:
    """
    Find the longest stretch of ages at which so many machines are under observation all along.

    It depends on the machines alone and not on what happened to them: a stretch that ended before an event would have
    too few events.

    Parameters
    ----------
    windows : Windows
        One row a machine; `group` is not looked at.
    at_least : int

    Returns
    -------
    (start, end) or None
        They are at risk for start < age <= end; the first of equal stretches; None where there never are so many.
    """
    entry, leave = np.asarray(windows.entry, dtype=np.float64), np.asarray(windows.exit, dtype=np.float64)
    ages = np.unique(np.concatenate([entry, leave]))
    # Between two ages at which somebody comes or goes the number stays as it is.
    has_enough = np.append(_between(np.sort(entry), np.sort(leave), ages[1:]) >= at_least, False)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], has_enough])))
    if not edges.size:
        return None
    begins, ends = ages[edges[::2]], ages[edges[1::2]]
    longest = int(np.argmax(ends - begins))
    return float(begins[longest]), float(ends[longest])


def change_with_age(
    windows: Windows,
    happenings: Happenings,
    *,
    start: float,
    split: float,
    end: float,
    level: float = 0.95,
) -> Change:
    """
    Compare the slope of the mean cumulative function below and above an age.

    Parameters
    ----------
    windows : Windows
        One row a machine; `group` is not looked at.
    happenings : Happenings
        Events within their machines' windows; amounts are not looked at.
    start, split, end : float
        start < split < end; the stretches are start < age <= split and split < age <= end, with at least one machine
        under observation throughout.
    level : float
        Confidence level; Student's t with m - 1 degrees of freedom, m the machines seen in either stretch.

    Returns
    -------
    Change
        The variance is Lawless and Nadeau's, summed by machine over both stretches, so that a machine that is seen in
        both counts as one; m/(m-1) times it is used. Without variation between machines the limits are infinite.

    Raises
    ------
    ValueError
        If the ages are not in order, or as `mean_cumulative`.

    References
    ----------
    Lawless, J. F. & Nadeau, C. (1995), Technometrics 37, 158-168, with the weight 1/length in one stretch and
    -1/length in the other.
    """
    check_level(level)
    if not start < split < end:
        raise ValueError(f"start < split < end must hold, but was {start:g}, {split:g}, {end:g}")
    _, entry, leave = checked_windows(windows, 1 + int(np.max(windows.group, initial=0)))
    unit, time, _ = checked_events(happenings, entry, leave)
    inside = (time > start) & (time <= end)
    unit, time = unit[inside], time[inside]
    ages, place = np.unique(time, return_inverse=True)
    at_risk = _between(np.sort(entry), np.sort(leave), ages)
    weight = np.where(ages <= split, -1.0 / (split - start), 1.0 / (end - split))
    step = weight * quotient(np.bincount(place, minlength=len(ages)), at_risk)
    own = tally(unit, len(entry), (weight * quotient(1.0, at_risk))[place])
    influence = _influence((entry, leave), ages, own, quotient(step, at_risk))
    is_early = (entry < split) & (leave > start)
    is_late = (entry < end) & (leave > split)
    m = int((is_early | is_late).sum())
    variance = float((influence**2).sum()) * m / max(m - 1, 1)
    early, late = -float(step[ages <= split].sum()), float(step[ages > split].sum())
    half, p, value = np.inf, 1.0, late - early
    if m > 1 and variance > 0.0:
        half = float(stats.t.ppf(0.5 + level / 2.0, m - 1)) * variance**0.5
        p = 2.0 * float(stats.t.sf(abs(value) / variance**0.5, m - 1))
    machines = int(is_early.sum()), int(is_late.sum())
    events = int((time <= split).sum()), int((time > split).sum())
    return Change(early, late, value, value - half, value + half, p, *machines, *events)


def _between(entries: Floats, exits: Floats, ages: Floats) -> Ints:
    """Return the machines with entry < age <= exit at each age."""
    came = np.searchsorted(entries, ages, side="left")
    gone = np.searchsorted(exits, ages, side="left")
    return (came - gone).astype(np.int64)


def _influence(windows: tuple[Floats, Floats], ages: Floats, own: Floats, expected: Floats) -> Floats:
    """Return what each machine had more than was to be expected while it was there; `expected` at each age."""
    so_far = np.concatenate([[0.0], np.cumsum(expected)])
    first, past = (np.searchsorted(ages, at, side="right") for at in windows)
    influence: Floats = own - (so_far[past] - so_far[first])
    return influence
