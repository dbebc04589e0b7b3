"""Running sums and products that start anew in every group, quick for few long groups and for many short ones."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from pipeline.estimators.arrays import Floats, Ints

# Going through the groups one by one pays from so many rows a group on; through all of them row by row, from so many rows a step.
ROWS_A_GROUP, ROWS_A_STEP = 32, 4000


def running_sum(values: Floats, offsets: Ints) -> Floats:
    """
    Sum of the values up to and with each position, within its group.

    Parameters
    ----------
    values : array, shape (k,) or (k, c)
        Rows of group g stand at offsets[g] … offsets[g + 1] - 1.
    offsets : array of int, shape (groups + 1,)

    Returns
    -------
    array, shape of `values`
        Each group's sums have only that group's rounding: one long sum with differences would not.
    """
    return _accumulate(np.add, 0.0, values, offsets)


def running_product(values: Floats, offsets: Ints) -> Floats:
    """Product of the values up to and with each position, within its group; shapes as in `running_sum`."""
    return _accumulate(np.multiply, 1.0, values, offsets)


def before(values: Floats, offsets: Ints, first: float) -> Floats:
    """Return for each position the value one row earlier in its group; `first` in each group's first row."""
    moved = np.empty_like(values)
    moved[1:] = values[:-1]
    starts = offsets[:-1][np.diff(offsets) > 0]
    moved[starts] = first
    return moved


def _accumulate(operation: np.ufunc, neutral: float, values: Floats, offsets: Ints) -> Floats:
    lengths = np.diff(offsets)
    if len(values) >= ROWS_A_GROUP * len(lengths):
        return _group_by_group(operation, values, offsets)
    if int(lengths.max(initial=0)) * ROWS_A_STEP <= len(values):
        return _step_by_step(operation, values, offsets[:-1], lengths)
    return _block_by_block(operation, neutral, values, offsets)


def _group_by_group(operation: np.ufunc, values: Floats, offsets: Ints) -> Floats:
    out = np.empty(values.shape, dtype=np.float64)
    ends = offsets.tolist()
    for first, past in pairwise(ends):
        operation.accumulate(values[first:past], axis=0, dtype=np.float64, out=out[first:past])
    return out


def _step_by_step(operation: np.ufunc, values: Floats, starts: Ints, lengths: Ints) -> Floats:
    """Many short groups: the second row of all of them, then the third, and so on."""
    out = np.array(values, dtype=np.float64)
    step = 1
    while len(starts):
        goes_on = lengths > step
        starts, lengths = starts[goes_on], lengths[goes_on]
        rows = starts + step
        out[rows] = operation(out[rows], out[rows - 1])
        step += 1
    return out


def _block_by_block(operation: np.ufunc, neutral: float, values: Floats, offsets: Ints) -> Floats:
    out = np.empty(values.shape, dtype=np.float64)
    for rows, width in _blocks(offsets):
        columns = np.arange(width)
        is_inside = columns < np.diff(offsets)[rows, None]
        places = np.where(is_inside, offsets[rows, None] + columns, 0)
        block = values[places]
        block[~is_inside] = neutral
        out[places[is_inside]] = operation.accumulate(block, axis=1)[is_inside]
    return out


def _blocks(offsets: Ints) -> Iterator[tuple[Ints, int]]:
    """
    Yield sets of groups of like length, with the longest length of each.

    Groups are gathered by powers of two, so that padding at most doubles the work however uneven they are.
    """
    lengths = np.diff(offsets)
    powers = np.where(lengths > 0, np.ceil(np.log2(np.maximum(lengths, 1))), -1).astype(np.int64)
    for power in np.unique(powers[powers >= 0]):
        rows = np.flatnonzero(powers == power)
        yield rows, int(lengths[rows].max())
