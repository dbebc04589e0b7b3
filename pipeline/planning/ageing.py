"""
Ageing: how many machines of which age there were, how many there will be, and what that does to the need of a part.

Machine-years by whole years of age, in the past and in each year ahead; machines leave as the list says they did so far.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.estimators.poisson_shape import Shape, fit_shape

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
DAYS_A_YEAR = 365.25
# Years of age told apart; whatever is older stands in the last.
AGES = 40


class Machines(NamedTuple):
    """
    Machines, arrays (machines,); days from the first day of the log.

    Attributes
    ----------
    kind : int
        0 … kinds - 1.
    born : float
        Day of age 0.
    enter, leave : float
        Under observation from the one until before the other; infinite for a machine that is still there.
    """

    kind: Ints
    born: Floats
    enter: Floats
    leave: Floats


def years_by_age(machines: Machines, start: float, end: float, kinds: int) -> Floats:
    """Machine-years between two days, (kinds, ages)."""
    first, last = np.maximum(machines.enter, start), np.minimum(machines.leave, end)
    years = np.zeros((kinds, AGES))
    for age in range(AGES):
        from_day = machines.born + age * DAYS_A_YEAR
        until = from_day + DAYS_A_YEAR if age < AGES - 1 else np.inf
        inside = np.clip(np.minimum(last, until) - np.maximum(first, from_day), 0.0, None) / DAYS_A_YEAR
        years[:, age] = np.bincount(machines.kind, inside, minlength=kinds)
    return years


def age_of(days: ArrayLike) -> Ints:
    """Whole years of age, the oldest together."""
    return np.clip(np.asarray(days, dtype=np.float64) // DAYS_A_YEAR, 0, AGES - 1).astype(np.int64)


def leaving(machines: Machines, end: float, kinds: int) -> Floats:
    """Share of machines of each age that leave within a year, (ages,): rising or falling with age where that is shown."""
    years = years_by_age(machines, 0.0, end, kinds).sum(axis=0)
    gone = (machines.leave < end) & (machines.leave >= 0.0)
    counts = np.bincount(age_of(machines.leave[gone] - machines.born[gone]), minlength=AGES)
    if not gone.any():
        return np.zeros(AGES)
    shape = fit_shape(counts[None, :], years[None, :], _features())
    relative = shape.relative(_features())[0]
    hazard = counts.sum() / max(float((years * relative).sum()), 1e-12) * relative
    return np.asarray(1.0 - np.exp(-hazard), dtype=np.float64)


def years_ahead(machines: Machines, end: float, years: int, kinds: int) -> Floats:
    """Machine-years in each year after the end, of the machines that are there then, (years, kinds, ages)."""
    there = (machines.enter < end) & (machines.leave >= end)
    age = age_of(end - machines.born[there])
    now = np.zeros((kinds, AGES))
    np.add.at(now, (machines.kind[there], age), 1.0)
    share = leaving(machines, end, kinds)
    found = np.zeros((years, kinds, AGES))
    for year in range(years):
        older = _older(now * (1.0 - share))
        # In the course of a year machines go from one year of age to the next, and some leave.
        found[year] = (now + older) / 2.0
        now = older
    return found


def _older(now: Floats) -> Floats:
    older = np.zeros_like(now)
    older[:, 1:] = now[:, :-1]
    older[:, -1] += now[:, -1]
    return older


def age_shape(counts: ArrayLike, years: ArrayLike) -> Shape:
    """Of each part, whether it is needed more or less as machines age; needs and machine-years, (parts, ages)."""
    return fit_shape(counts, years, _features())


def expected(shape: Shape, years: ArrayLike) -> Floats:
    """Needs that machine-years (…, parts, ages) would bring, up to a factor of the part, (…, parts)."""
    return np.asarray((np.asarray(years) * shape.relative(_features())).sum(axis=-1), dtype=np.float64)


def _features() -> Floats:
    """The logarithm of the age: a power of the age, which also levels off."""
    return np.asarray(np.log(np.arange(AGES) + 1.0)[:, None], dtype=np.float64)
