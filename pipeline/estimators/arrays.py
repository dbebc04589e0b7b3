"""Checks and small array helpers that every estimator shares."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

# A count that came out of a division (an effective sample size) may sit this far, relative to n, outside [0,
# n].
ROUNDING = 1e-9


def check_level(level: float) -> float:
    """
    Return the confidence level, once it is known to be one.

    Raises
    ------
    ValueError
        If it is not strictly between 0 and 1.
    """
    if not 0.0 < level < 1.0:
        raise ValueError(f"level must be between 0 and 1, but was {level}")
    return float(level)


def normal_quantile(level: float) -> float:
    """Return z with P(-z < Z < z) = `level` for a standard normal Z; 1.959964 at 0.95."""
    return float(stats.norm.ppf(0.5 + check_level(level) / 2.0))


def floats_of(name: str, values: ArrayLike, *, at_least: float | None = None) -> Floats:
    """
    Return `values` as an array of floats, all finite and none below `at_least`.

    Raises
    ------
    ValueError
        Names the parameter, the rule and the first value that breaks it.
    """
    array = np.asarray(values, dtype=np.float64)
    if not np.isfinite(array).all():
        raise ValueError(f"{name} must be finite, but was {array[~np.isfinite(array)].flat[0]}")
    if at_least is not None and (array < at_least).any():
        raise ValueError(f"{name} must be at least {at_least:g}, but was {array[array < at_least].flat[0]:g}")
    return array


def ints_of(name: str, values: ArrayLike, *, at_least: int | None = None) -> Ints:
    """
    Return `values` as an array of whole numbers, none below `at_least`.

    Raises
    ------
    ValueError
        Names the parameter, the rule and the first value that breaks it.
    """
    given = np.asarray(values)
    if given.dtype.kind in "iub":
        array = given.astype(np.int64, copy=False)
    else:
        as_floats = floats_of(name, given)
        array = as_floats.astype(np.int64)
        if (array != as_floats).any():
            raise ValueError(f"{name} must be whole, but was {as_floats[array != as_floats].flat[0]}")
    if at_least is not None and (array < at_least).any():
        raise ValueError(f"{name} must be at least {at_least}, but was {array[array < at_least].flat[0]}")
    return array


def check_groups(group: Ints, groups: int) -> None:
    """
    See that every group number is one of 0 … `groups` - 1.

    Raises
    ------
    ValueError
        If one is not.
    """
    if group.size and (int(group.min()) < 0 or int(group.max()) >= groups):
        raise ValueError(
            f"group must be between 0 and {groups - 1}, but reached {group.min()} to {group.max()}"
        )


def check_same_length(**columns: NDArray[np.generic]) -> None:
    """
    See that all the named columns have as many entries as the first.

    Raises
    ------
    ValueError
        Names the first column that differs, with both lengths.
    """
    (first, reference), *rest = columns.items()
    for name, column in rest:
        if len(column) != len(reference):
            raise ValueError(f"{name} must be as long as {first} ({len(reference)}), but had {len(column)}")


def quotient(over: ArrayLike, under: ArrayLike, *, otherwise: float = 0.0) -> Floats:
    """Return over / under, elementwise, with `otherwise` wherever the divisor is zero."""
    top, bottom = np.broadcast_arrays(np.asarray(over, dtype=np.float64), np.asarray(under, dtype=np.float64))
    out = np.full(top.shape, otherwise, dtype=np.float64)
    with np.errstate(over="ignore"):  # over next to nothing is without limit, and infinity says so
        np.divide(top, bottom, out=out, where=bottom != 0.0)
    return out


def tally(places: Ints, size: int, weights: Floats | Ints | Bools | None = None) -> Floats:
    """Return the sum of the weights (1 each where None) at each of the places 0 … `size` - 1."""
    return np.bincount(places, weights=weights, minlength=size).astype(np.float64, copy=False)


def finite_or_none(values: Iterable[float]) -> list[float | None]:
    """Return the values as a list in which an answer that does not exist (infinite) is None, for a table."""
    return [float(value) if np.isfinite(value) else None for value in values]
