"""Machines under observation and what happened to them, checked and laid out by group and age."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.estimators.arrays import (
    Bools,
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
    unit, time, amount = _event_columns(happenings, len(entry))
    _refuse_outside(time, (time <= entry[unit]) | (time > leave[unit]))
    return unit, time, amount


def lay_out(windows: Windows, happenings: Happenings, groups: int) -> tuple[Steps, Floats]:
    """Return the ages with events as rows, group by group, with what happened and who was there; and the ages."""
    group, entry, leave = checked_windows(windows, groups)
    unit, time, amount = _event_columns(happenings, len(entry))
    ages = _Distinct(time)
    # Machine and rank of the age in one whole number: sorting that is many times quicker than sorting places.
    bits = len(ages.values).bit_length()
    sorted_by = (unit << bits) | ages.rank(time)
    if happenings.amount is None:
        sorted_by = np.sort(sorted_by)
    else:
        order = np.argsort(sorted_by)
        sorted_by, amount = sorted_by[order], amount[order]
    unit, rank = sorted_by >> bits, sorted_by & ((1 << bits) - 1)
    came, went = ages.up_to(entry), ages.up_to(leave)
    _refuse_outside(ages.values[rank], (rank < came[unit]) | (rank >= went[unit]))
    return _by_group_and_age(group, (came, went), (unit, rank, amount), groups, ages.values)


def _by_group_and_age(
    group: Ints, stay: tuple[Ints, Ints], events: tuple[Ints, Ints, Floats], groups: int, ages: NDArray[Any]
) -> tuple[Steps, Floats]:
    unit, rank, amount = events
    span = len(ages) + 1
    of_events = group[unit] * span + rank + 1
    keys = _Distinct(of_events)
    row, rows = keys.rank(of_events), len(keys.values)
    offsets = np.searchsorted(keys.values, np.arange(groups + 1) * span).astype(np.int64)
    first, past = (keys.up_to(group * span + seen) for seen in stay)
    entered, left = (np.bincount(position, minlength=rows + 1) for position in (first, past))
    at_risk = np.cumsum(entered - left)[:-1].astype(np.float64)
    # Whoever comes after the last event of the group, or stays until then, must not be counted into the next group.
    end = offsets[group + 1]
    first, past = (np.where(position < end, position, rows) for position in (first, past))
    entered, left = (np.bincount(position, minlength=rows + 1)[:-1] for position in (first, past))
    steps = Steps(
        offsets,
        keys.values // span,
        at_risk,
        tally(row, rows, amount),
        entered,
        left,
        first,
        past,
        unit,
        row,
        amount,
    )
    return steps, ages[keys.values % span - 1].astype(np.float64)


def _event_columns(happenings: Happenings, machines: int) -> tuple[Ints, Floats, Floats]:
    unit, time = ints_of("unit", happenings.unit, at_least=0), floats_of("time", happenings.time)
    amount = np.ones(len(unit))
    if happenings.amount is not None:
        amount = floats_of("amount", happenings.amount, at_least=0.0)
    check_same_length(unit=unit, time=time, amount=amount)
    if unit.size and int(unit.max()) >= machines:
        raise ValueError(f"unit must be below the {machines} machines, but was {unit.max()}")
    return unit, time, amount


def _refuse_outside(time: NDArray[Any], is_outside: Bools) -> None:
    if is_outside.any():
        raise ValueError(f"time must lie within the machine's window, but was {time[is_outside][0]:g}")


class _Distinct:
    """The different values of an array in order (`values`), and places among them."""

    def __init__(self, of: NDArray[Any]) -> None:
        self.lowest = of.min(initial=0)
        span = int(of.max(initial=0) - self.lowest) + 1
        self.table: Ints | None = None
        is_whole = of.dtype.kind != "f" or bool((of == np.floor(of)).all())
        if span > max(DENSE_RANKS, len(of)) or not is_whole:
            self.values = np.unique(of)
            return
        # Whole numbers in a modest range: a table of what occurs is many times quicker than sorting and searching.
        occurs = np.zeros(span, dtype=np.bool_)
        occurs[(of - self.lowest).astype(np.int64, copy=False)] = True
        self.values = np.flatnonzero(occurs) + self.lowest
        self.table = np.concatenate([[0], np.cumsum(occurs)])

    def up_to(self, wanted: NDArray[Any]) -> Ints:
        """How many of the values are at most each of the wanted ones."""
        if self.table is None:
            return np.searchsorted(self.values, wanted, side="right").astype(np.int64)
        at = np.floor(wanted - self.lowest).astype(np.int64, copy=False) + 1
        places: Ints = self.table[np.clip(at, 0, len(self.table) - 1, out=at)]
        return places

    def rank(self, known: NDArray[Any]) -> Ints:
        """Place of each of some numbers, all of them among the values."""
        if self.table is None:
            return np.searchsorted(self.values, known).astype(np.int64)
        places: Ints = self.table[(known - self.lowest).astype(np.int64, copy=False)]
        return places
