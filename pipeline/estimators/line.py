"""A life curve as a line to draw: the probability by each of many days, with the interval that stands in the table."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from pipeline.estimators.arrays import Floats, Ints, ints_of
from pipeline.estimators.competing import probability_by
from pipeline.estimators.curves import curves_from_records
from pipeline.estimators.jackknife import unit_variance

# Fewer records than this at risk: the line stops.
MIN_AT_RISK = 5


class Line(NamedTuple):
    """
    Probability by each day; arrays (groups, days).

    `at_risk` are the records under observation on the day, before its events.
    """

    value: Floats
    low: Floats
    high: Floats
    at_risk: Ints


def incidence_line(
    group: ArrayLike,
    time: ArrayLike,
    cause: ArrayLike,
    unit: ArrayLike,
    *,
    groups: int,
    days: ArrayLike,
    n_causes: int = 1,
    causes: Sequence[int] = (0,),
    level: float = 0.95,
) -> Line:
    """
    Cumulative incidence by each day, with pointwise limits.

    The limits are those at which `incidence_of_records` gives the probability by that day (Wilson on the effective
    sample, by unit where units repeat), so that a line and the table beside it never contradict each other.

    Parameters
    ----------
    group, time, cause, unit : array_like of int, (records,)
        As for `incidence_of_records`.
    groups, n_causes : int
    days : array_like of int, (days,)
    causes : sequence of int
        Causes taken together.
    level : float
        Confidence level of each point.

    Returns
    -------
    Line

    Raises
    ------
    ValueError
        As `incidence_of_records`.
    """
    curves = curves_from_records(group, time, cause, groups=groups, causes=n_causes)
    read = [
        probability_by(
            curves,
            day,
            causes,
            level,
            unit_variance(curves, group, time, cause, unit, day=day, causes=causes),
        )
        for day in ints_of("days", days, at_least=0)
    ]
    columns = (np.stack([getattr(each, name) for each in read], axis=1) for name in Line._fields)
    return Line(*columns)
