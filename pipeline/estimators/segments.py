"""Running sums and products that start anew in every group, without a loop over the groups."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from pipeline.estimators.arrays import Floats, Ints


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
