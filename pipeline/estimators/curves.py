"""
Life curves: Kaplan-Meier and Aalen-Johansen step functions, many groups at once.

Convention for everything built on them: times are whole days; a record with time d is under observation on
the days up to and with d; on one day, events happen before censorings; "by day D" takes in day D (0 <= d <=
D). With delayed entry a record is at risk on the days t with entry < t <= time; without, from before day 0.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from pipeline.estimators.arrays import Floats, Ints, check_groups, check_same_length, ints_of
from pipeline.estimators.segments import before, running_product, running_sum

# The cause number of a record that was still event-free when last seen.
CENSORED = -1
# Days of all groups for which a plain table of counts is kept in any case; 32 MB a column.
DENSE_CELLS = 4_000_000
# Records placed at a time: what stays in the processor's own memory is placed four times as quickly.
BLOCK = 65_536


class Curves(NamedTuple):
    """
    Step functions of several groups, end to end; the rows of group g are offsets[g] … offsets[g + 1] - 1.

    Attributes
    ----------
    offsets : int, (groups + 1,)
    group, time : int, (rows,)
        Sorted; `time` in days.
    at_risk : int, (rows,)
        Records under observation on that day, before its events.
    events : int, (rows, causes)
    censored, entered : int, (rows,)
        Records whose observation ends, or begins, with the end of that day.
    before, survival : float, (rows,)
        Probability of no event of any cause before that day, and after it.
    incidence : float, (rows, causes)
        Cumulative incidence of each cause, that day included.
    start : int, (groups,)
        Records at risk from the very start: all of them, or none where entries are delayed.
    """

    offsets: Ints
    group: Ints
    time: Ints
    at_risk: Ints
    events: Ints
    censored: Ints
    entered: Ints
    before: Floats
    survival: Floats
    incidence: Floats
    start: Ints

    @property
    def groups(self) -> int:
        """Number of groups, those without records included."""
        return len(self.start)


class Entries(NamedTuple):
    """Delayed entries, arrays (m,): so many `records` of a group come under observation after that day."""

    group: ArrayLike
    time: ArrayLike
    records: ArrayLike


def curves_from_cells(
    group: ArrayLike,
    time: ArrayLike,
    events: ArrayLike,
    censored: ArrayLike,
    *,
    groups: int,
    entries: Entries | None = None,
) -> Curves:
    """
    Curves from counted cells, such as one `group by` of the database delivers.

    Parameters
    ----------
    group, time : array_like of int, (cells,)
        Group 0 … groups - 1 and day >= 0; any order, a pair may occur more than once.
    events : array_like of int, (cells, causes) or (cells,) for a single cause
        Events of each cause on that day.
    censored : array_like of int, (cells,)
        Records followed up to and with that day without an event.
    groups : int
        Number of groups; a group without cells gets an empty curve.
    entries : Entries, optional
        Delayed entries. Without, every record is at risk from before day 0.

    Returns
    -------
    Curves

    Raises
    ------
    ValueError
        If lengths differ, a number is negative or not whole, a group is out of range, or more records leave
        observation than had entered.

    References
    ----------
    Kaplan, E. L. & Meier, P. (1958), JASA 53, 457-481. Aalen, O. O. & Johansen, S. (1978), Scand. J. Stat. 5,
    141-150.
    """
    group, time = ints_of("group", group), ints_of("time", time, at_least=0)
    counts = ints_of("events", events, at_least=0)
    counts = counts[:, None] if counts.ndim == 1 else counts
    left = ints_of("censored", censored, at_least=0)
    check_same_length(group=group, time=time, events=counts, censored=left)
    check_groups(group, groups)
    tally = _Tally(groups, counts.shape[1] + 2)
    for cause in range(counts.shape[1]):
        tally.add(group, time, cause, counts[:, cause])
    tally.add(group, time, CENSORED, left)
    if entries is not None:
        _add_entries(tally, entries, groups)
    return _curves(tally, is_delayed=entries is not None)


def curves_from_records(
    group: ArrayLike,
    time: ArrayLike,
    cause: ArrayLike,
    *,
    groups: int,
    causes: int = 1,
    entry: ArrayLike | None = None,
) -> Curves:
    """
    Curves from one entry a record.

    Parameters
    ----------
    group, time, cause : array_like of int, (records,)
        Group; day of the event or of the last look; cause 0 … causes - 1, or `CENSORED` (-1).
    groups, causes : int
    entry : array_like of int, (records,), optional
        Day after which the record is under observation, >= -1. A record that ends with or before its entry
        was never seen at risk and is left out.

    Returns
    -------
    Curves

    Raises
    ------
    ValueError
        As `curves_from_cells`, or if a cause is out of range.
    """
    group, time, cause = ints_of("group", group), ints_of("time", time, at_least=0), ints_of("cause", cause)
    check_same_length(group=group, time=time, cause=cause)
    check_groups(group, groups)
    if cause.size and (int(cause.min()) < CENSORED or int(cause.max()) >= causes):
        raise ValueError(
            f"cause must be between -1 and {causes - 1}, but reached {cause.min()} to {cause.max()}"
        )
    entries = None
    if entry is not None:
        since = ints_of("entry", entry, at_least=-1)
        check_same_length(group=group, entry=since)
        is_seen = since < time
        group, time, cause, since = group[is_seen], time[is_seen], cause[is_seen], since[is_seen]
        entries = Entries(group, since, np.ones_like(since))
    tally = _Tally(groups, causes + 2)
    tally.add(group, time, cause)
    if entries is not None:
        _add_entries(tally, entries, groups)
    return _curves(tally, is_delayed=entries is not None)


def _add_entries(tally: _Tally, entries: Entries, groups: int) -> None:
    group, time = ints_of("entries.group", entries.group), ints_of("entries.time", entries.time, at_least=-1)
    records = ints_of("entries.records", entries.records, at_least=0)
    check_same_length(group=group, time=time, records=records)
    check_groups(group, groups)
    tally.add(group, time, tally.width - 2, records)


class _Tally:
    """Counts by group, day and column: CENSORED (-1), then events of each cause, then entered."""

    def __init__(self, groups: int, width: int) -> None:
        self.groups, self.width = groups, width
        self.parts: list[tuple[Ints, Ints, Ints | int, Ints | None]] = []

    def add(self, group: Ints, time: Ints, column: Ints | int, count: Ints | None = None) -> None:
        """Add counts (one each where None) to a column, -1 … width - 2, or to each record's own."""
        self.parts.append((group, time, column, count))

    def rows(self) -> tuple[Ints, Ints, Ints]:
        """Return group, day and counts (rows, width) of every day on which something happened, in order."""
        span = max(int(part[1].max(initial=0)) for part in self.parts) + 2
        # Days start at -1. Counting into every possible day is quickest, while that table is not absurdly
        # large.
        is_dense = self.groups * span <= max(DENSE_CELLS, 8 * sum(len(part[0]) for part in self.parts))
        days = np.empty(0, dtype=np.int64)
        if not is_dense:
            keys = [_placed(group, time, 0, span, 1) for group, time, _, _ in self.parts]
            days = np.unique(np.concatenate(keys))
        size = self.groups * span if is_dense else len(days)
        counts = np.zeros(size * self.width, dtype=np.int64)
        for group, time, column, count in self.parts:
            if is_dense:
                places = _placed(group, time, column, span, self.width)
            else:
                places = np.searchsorted(days, _placed(group, time, 0, span, 1)) * self.width + column
            places += 1
            # Counts stay exact: floats hold whole numbers up to 2**53.
            summed = np.bincount(places, weights=count, minlength=counts.size)
            counts += summed.astype(np.int64, copy=False)
        table = counts.reshape(size, self.width)
        has_any = np.flatnonzero(np.bitwise_or.reduce(table.T))
        day = has_any if is_dense else days[has_any]
        group, day = np.divmod(day, span)
        return group, day - 1, table[has_any]


def _placed(group: Ints, time: Ints, column: Ints | int, span: int, width: int) -> Ints:
    """Return where each record stands in a table of groups, days from -1 on, and columns; block by block."""
    places = np.empty(len(group), dtype=np.int64)
    for start in range(0, len(places), BLOCK):
        here = slice(start, start + BLOCK)
        block = places[here]
        np.multiply(group[here], span, out=block)
        block += time[here]
        block += 1
        block *= width
        block += column if isinstance(column, int) else column[here]
    return places


def _curves(tally: _Tally, *, is_delayed: bool) -> Curves:
    group, time, summed = tally.rows()
    offsets = np.searchsorted(group, np.arange(tally.groups + 1)).astype(np.int64)
    censored, events, entered = summed[:, 0], summed[:, 1:-1], summed[:, -1]
    gone = events.sum(axis=1) + censored
    totals = np.concatenate([[0], np.cumsum(gone)])
    leaving = np.diff(totals[offsets])
    start = np.zeros_like(leaving) if is_delayed else leaving
    # Whole numbers add up exactly, so one long sum serves all groups.
    change = np.concatenate([[0], np.cumsum(entered - gone)])
    at_risk = start[group] + change[:-1] - change[offsets[:-1]][group]
    if (gone > at_risk).any():
        raise ValueError(
            "entries must come before the ends of observation, but more records ended than had entered"
        )
    hazard = np.divide(events, at_risk[:, None], out=np.zeros(events.shape), where=at_risk[:, None] > 0)
    # From counts, not from a sum of shares: the last event among n of n must give a zero that is exact.
    staying = at_risk - events.sum(axis=1)
    factor = np.divide(staying, at_risk, out=np.ones(len(staying)), where=at_risk > 0)
    survival = running_product(factor, offsets)
    earlier = before(survival, offsets, 1.0)
    incidence = running_sum(earlier[:, None] * hazard, offsets)
    return Curves(
        offsets, group, time, at_risk, events, censored, entered, earlier, survival, incidence, start
    )
