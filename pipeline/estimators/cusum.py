"""
Cumulative sums of observed less expected, event by event: when returns or failures come faster than they used to.

On the scale of the expected count the events of an unchanged process are a Poisson process of rate 1, whatever the machines
at risk do. The sum goes down by (rho - 1) for each event expected, never below 0, and up by log rho for each one seen; rho
is the change it is tuned to. Page, E. S. (1954), Biometrika 41, 100-115; Lucas, J. M. (1985), Technometrics 27, 129-144;
risk-adjusted: Steiner, S. H. et al. (2000), Biostatistics 1, 441-452.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.estimators.arrays import check_same_length

Floats = NDArray[np.float64]
TUNED_TO = 2.0  # how many times as many as before a change is looked for
FEWEST_BEFORE = 10  # events in the baseline; fewer leave its rate open by a factor of two
_PATHS, _SEED = 20_000, 13
# Paths are drawn for sizes within these shares of each other only once.
_NEAR = 1.05
_MOST_BEFORE = 2_000  # beyond, the baseline is as good as known


class Chart(NamedTuple):
    """
    A sum run over its events.

    Attributes
    ----------
    highest : float
        Its highest value.
    told_at : int or None
        Place of the first event at which it went over the limit.
    since_at : int or None
        Place of the first event after it had last been 0 before that: where the change may have begun.
    """

    highest: float
    told_at: int | None
    since_at: int | None


def run_chart(expected: ArrayLike, limit: float, tuned_to: float = TUNED_TO) -> Chart:
    """
    Run a chart over its events.

    Parameters
    ----------
    expected : array_like, (events,)
        Events expected since the event before (the first: since the start); several events of one day have 0 between them.
    limit : float
        The chart tells above it.
    tuned_to : float
        Above 1.

    Returns
    -------
    Chart
    """
    down, up = (tuned_to - 1.0) * np.asarray(expected, dtype=np.float64), float(np.log(tuned_to))
    level, highest, began = 0.0, 0.0, 0
    told: tuple[int, int] | None = None
    for at, less in enumerate(down.tolist()):
        level -= less
        if level <= 0.0:
            level, began = 0.0, at
        level += up
        highest = max(highest, level)
        if told is None and level > limit:
            told = (at, began)
    return Chart(highest, *(told or (None, None)))


def limit_for(share: float, expected: float, before: int, tuned_to: float = TUNED_TO) -> float:
    """
    Limit above which an unchanged chart goes with a given probability while it is watched; simulated, seeded.

    Parameters
    ----------
    share : float
        The probability, between 0 and 1.
    expected : float
        Events expected over the time watched.
    before : int
        Events that the baseline rests on. The true rate is drawn: Gamma(before + 1/2) over before + 1/2 times the baseline's.
    tuned_to : float

    Returns
    -------
    float

    Raises
    ------
    ValueError
        If share is not between 0 and 1.
    """
    if not 0.0 < share < 1.0:
        raise ValueError(f"share must be between 0 and 1, but was {share}")
    near = round(np.log(max(expected, 0.1)) / np.log(_NEAR))
    known = min(round(np.log(before + 0.5) / np.log(_NEAR)), round(np.log(_MOST_BEFORE) / np.log(_NEAR)))
    highest = _highest(float(_NEAR**near), float(_NEAR**known), tuned_to)
    return float(highest[min(int(np.ceil((1.0 - share) * _PATHS)), _PATHS - 1)])


@lru_cache(maxsize=1024)
def _highest(expected: float, shape: float, tuned_to: float) -> Floats:
    """Highest values of unchanged charts, ascending, (_PATHS,)."""
    rng = np.random.default_rng(_SEED)
    rate = rng.gamma(shape, 1.0 / shape, _PATHS)
    up, fall = float(np.log(tuned_to)), tuned_to - 1.0
    highest, done = np.zeros(_PATHS), 0
    # Paths that have run their time are dropped, so that the long ones do not cost the others.
    level, left = np.zeros(_PATHS), np.full(_PATHS, expected)
    top = np.zeros(_PATHS)
    while left.size:
        gap = rng.exponential(1.0, left.size) / rate
        goes_on = gap <= left
        over = top[~goes_on]
        highest[done : done + over.size] = over
        done += over.size
        gap, rate, left = gap[goes_on], rate[goes_on], (left - gap)[goes_on]
        level = np.maximum(level[goes_on] - fall * gap, 0.0) + up
        top = np.maximum(top[goes_on], level)
    return np.sort(highest)


def expected_between(events: ArrayLike, days: ArrayLike, expected: ArrayLike) -> Floats:
    """
    Events expected between each event and the one before.

    Parameters
    ----------
    events : array_like of int, (events,)
        Day of each, ascending. It falls in the middle of what is expected on its day: were all of the day counted before
        it, as if nothing ever happened before evening, sums would stay too low and false alarms fewer than stated.
    days : array_like of int, (d,)
        Days, ascending.
    expected : array_like, (d,)
        Events expected on each.

    Returns
    -------
    array, (events,)
    """
    when, each = np.asarray(days), np.asarray(expected, dtype=np.float64)
    check_same_length(days=when, expected=each)
    heap, at = np.concatenate([[0.0], np.cumsum(each)]), np.asarray(events)
    morning, evening = (heap[np.searchsorted(when, at, side=side)] for side in ("left", "right"))
    return np.asarray(np.diff((morning + evening) / 2.0, prepend=0.0))
