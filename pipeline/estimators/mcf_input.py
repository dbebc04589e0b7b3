"""Machines under observation and what happened to them, checked and laid out by group and age."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.estimators.arrays import (
    Floats,
    Ints,
    check_groups,
    check_same_length,
    floats_of,
    ints_of,
    tally,
)
from pipeline.estimators.mcf_variance import Steps

# Different whole numbers for which a table is kept in any case.
DENSE_RANKS = 4_000_000


class Windows(NamedTuple):
    """Machines under observation: three arrays (units,); group, and ages `entry` < `exit` in one unit of time."""

    group: ArrayLike
    entry: ArrayLike
    exit: ArrayLike


class Happenings(NamedTuple):
    """Events: arrays (events,); row of the machine in `Windows`, age, and amount (None: one each)."""

    unit: ArrayLike
    time: ArrayLike
    amount: ArrayLike | None = None


def checked_windows(windows: Windows, groups: int) -> tuple[Ints, Floats, Floats]:
    """Return group, entry and exit of each machine; raise ValueError where they cannot be."""
    group = ints_of("group", windows.group)
    entry, leave = floats_of("entry", windows.entry), floats_of("exit", windows.exit)
    check_same_length(group=group, entry=entry, exit=leave)
    check_groups(group, groups)
    wrong = leave <= entry
    if wrong.any():
        raise ValueError(f"exit must be after entry, but was {leave[wrong][0]:g} after {entry[wrong][0]:g}")
    return group, entry, leave


def checked_events(happenings: Happenings, entry: Floats, leave: Floats) -> tuple[Ints, Floats, Floats]:
    """Return machine, age and amount of each event; raise ValueError where one lies outside its window."""
    unit, time = ints_of("unit", happenings.unit, at_least=0), floats_of("time", happenings.time)
    amount = np.ones(len(unit))
    if happenings.amount is not None:
        amount = floats_of("amount", happenings.amount, at_least=0.0)
    check_same_length(unit=unit, time=time, amount=amount)
    if unit.size and int(unit.max()) >= len(entry):
        raise ValueError(f"unit must be below the {len(entry)} machines, but was {unit.max()}")
    outside = (time <= entry[unit]) | (time > leave[unit])
    if outside.any():
        raise ValueError(f"time must lie within the machine's window, but was {time[outside][0]:g}")
    return unit, time, amount


def lay_out(windows: Windows, happenings: Happenings, groups: int) -> tuple[Steps, Floats]:
    """Return the ages with events as rows, group by group, with what happened and who was there; and the ages."""
    group, entry, leave = checked_windows(windows, groups)
    unit, time, amount = checked_events(happenings, entry, leave)
    # Ages become ranks among the ages with events, so that group and age make one whole number.
    ages, rank = _ranked(time)
    span = len(ages) + 1
    order = np.argsort(unit * span + rank)
    unit, rank, amount = unit[order], rank[order], amount[order]
    keys, row = _ranked(group[unit] * span + rank + 1)
    offsets = np.searchsorted(keys, np.arange(groups + 1) * span).astype(np.int64)
    first, past = (
        np.searchsorted(keys, group * span + np.searchsorted(ages, at, side="right"), side="right").astype(
            np.int64
        )
        for at in (entry, leave)
    )
    size = len(keys) + 1
    change = np.bincount(first, minlength=size) - np.bincount(past, minlength=size)
    at_risk = np.cumsum(change)[:-1].astype(np.float64)
    step_amount = tally(row, len(keys), amount)
    steps = Steps(offsets, keys // span, at_risk, step_amount, group, first, past, unit, row, amount)
    return steps, ages[keys % span - 1].astype(np.float64)


def _ranked(values: NDArray[Any]) -> tuple[NDArray[Any], Ints]:
    """Return the distinct values in order, and the place of each value among them."""
    lowest = values.min(initial=0)
    span = int(values.max(initial=0) - lowest) + 1
    if span > max(DENSE_RANKS, len(values)) or (
        values.dtype.kind == "f" and (values != np.floor(values)).any()
    ):
        distinct, places = np.unique(values, return_inverse=True)
        return distinct, places
    # Whole numbers in a modest range: a table of what occurs is many times quicker than sorting.
    at = (values - lowest).astype(np.int64)
    occurs = np.zeros(span, dtype=np.bool_)
    occurs[at] = True
    return np.flatnonzero(occurs) + lowest, (np.cumsum(occurs) - 1)[at]
