"""Bootstrap by unit: machines (or sites) are drawn with all their jobs, since those go together."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from pipeline.estimators.arrays import (
    Floats,
    Ints,
    check_groups,
    check_level,
    check_same_length,
    floats_of,
    ints_of,
    quotient,
)

RESAMPLES = 1000
# So that the same log gives the same interval on every machine.
SEED = 20_250_101
# Weights held at one time; keeps a resample of many units within some tens of megabytes.
BLOCK = 4_000_000
# So many units for each kind of them, and drawing kinds is quicker than drawing units.
CELLS_WORTH_IT = 4
# Stands for an infinite t while quantiles are taken: infinities cannot be interpolated.
BEYOND = 1e12


class Estimate(NamedTuple):
    """Value and limits of several groups; arrays (groups,)."""

    value: Floats
    low: Floats
    high: Floats


class Figure(NamedTuple):
    """Value and limits of one figure."""

    value: float
    low: float
    high: float


def bootstrap_t_mean(
    group: ArrayLike,
    total: ArrayLike,
    count: ArrayLike,
    *,
    groups: int,
    level: float = 0.95,
    resamples: int = RESAMPLES,
    seed: int = SEED,
) -> Estimate:
    """
    Arithmetic mean with the bootstrap-t interval, units drawn.

    Parameters
    ----------
    group : array_like of int, (units,)
        Group of each unit; a unit with jobs in two groups stands in each.
    total, count : array_like, (units,)
        The unit's sum of values (minutes, money) and its number of jobs, > 0.
    groups : int
    level : float
        Confidence level.
    resamples, seed : int
        Each group starts from a stream of its own (seed, group), whatever other groups there are.

    Returns
    -------
    Estimate
        Arrays (groups,), in the unit of the values: sum / jobs; value - t* se at the upper and lower quantile
        of t* = (mean* - mean) / se* over the resamples, se the by-unit linearised standard error. A group of
        one unit has the limits -infinity and infinity; one without, value 0 as well; units all alike, the
        value itself.

    Raises
    ------
    ValueError
        If lengths differ, a number is not finite, a count is not above 0, a group or the level is out of
        range.

    References
    ----------
    Efron, B. (1981), Can. J. Stat. 9, 139-158; Hall, P. (1988), Ann. Stat. 16, 927-953. Ratio se: Cochran
    (1977), Sampling Techniques, section 2.11.
    """
    places, sums, counts = ints_of("group", group), floats_of("total", total), floats_of("count", count)
    check_same_length(group=places, total=sums, count=counts)
    if (counts <= 0.0).any():
        raise ValueError(f"count must be above 0, but was {counts[counts <= 0.0][0]:g}")
    check_level(level)
    out = np.tile([0.0, -np.inf, np.inf], (groups, 1))
    for number, rows in _rows_by_group(places, groups):
        rng = np.random.default_rng([seed, number])
        out[number] = _t_interval(sums[rows], counts[rows], level, resamples, rng)
    return Estimate(out[:, 0], out[:, 1], out[:, 2])


def bootstrap_by_unit(
    columns: ArrayLike,
    statistic: Callable[[Floats], Floats],
    *,
    level: float = 0.95,
    resamples: int = RESAMPLES,
    seed: int = SEED,
) -> Figure:
    """
    Percentile bootstrap of any figure made of sums over units (ratios, differences of ratios, money an hour).

    Parameters
    ----------
    columns : array_like, (units, columns)
        What each unit adds to each sum.
    statistic : callable
        Takes sums (resamples, columns) and returns the figure (resamples,), finite. Sums of a resample can be
        0.
    level : float
        Confidence level.
    resamples, seed : int

    Returns
    -------
    Figure
        The figure of all units; quantiles of the figure over the resamples. With fewer than two units
        the limits are -infinity and infinity.

    Raises
    ------
    ValueError
        If a number is not finite, the level is out of range, or the figure of some resample is not finite.

    References
    ----------
    Efron, B. & Tibshirani, R. J. (1993), An Introduction to the Bootstrap, chapter 13.
    """
    figure = bootstrap_figures(
        columns, lambda sums: statistic(sums)[:, None], level=level, resamples=resamples, seed=seed
    )
    return Figure(float(figure.value[0]), float(figure.low[0]), float(figure.high[0]))


def bootstrap_figures(
    columns: ArrayLike,
    statistic: Callable[[Floats], Floats],
    *,
    level: float = 0.95,
    resamples: int = RESAMPLES,
    seed: int = SEED,
) -> Estimate:
    """
    Percentile bootstrap of several figures from one draw of the units: see `bootstrap_by_unit`.

    Parameters
    ----------
    columns : array_like, (units, columns)
    statistic : callable
        Takes sums (resamples, columns) and returns the figures (resamples, figures), finite.
    level, resamples, seed
        As for `bootstrap_by_unit`.

    Returns
    -------
    Estimate
        Arrays (figures,).
    """
    units = floats_of("columns", columns)
    value = floats_of("the figure", statistic(units.sum(axis=0, keepdims=True)))[0]
    check_level(level)
    if len(units) < 2:
        return Estimate(value, np.full(len(value), -np.inf), np.full(len(value), np.inf))
    drawn = [statistic(weights @ units) for weights in unit_weights(len(units), resamples, seed)]
    low, high = _quantiles(floats_of("the figure of every resample", np.concatenate(drawn)), level)
    return Estimate(value, low, high)


def unit_weights(units: int, resamples: int = RESAMPLES, seed: int = SEED) -> Iterator[Floats]:
    """
    Yield blocks of weights (resamples in the block, units): how often each unit is drawn.

    For figures that are not made of sums: weigh each record by its unit's weight. Rows add up to `units`.
    """
    return _weights(units, resamples, np.random.default_rng(seed))


def _weights(units: int, resamples: int, rng: np.random.Generator) -> Iterator[Floats]:
    block = max(1, BLOCK // max(units, 1))
    for first in range(0, resamples, block):
        rows = min(block, resamples - first)
        drawn = rng.integers(units, size=(rows, units)) + units * np.arange(rows)[:, None]
        yield np.bincount(drawn.ravel(), minlength=rows * units).reshape(rows, units).astype(np.float64)


def _t_interval(
    total: Floats, count: Floats, level: float, resamples: int, rng: np.random.Generator
) -> tuple[float, float, float]:
    units = len(total)
    mean = total.sum() / count.sum()
    if units < 2:
        return mean, -np.inf, np.inf
    alike, total, count = _alike(total, count)
    # Deviations from the mean are summed, not raw values: nothing large cancels in the squares.
    rest = total - mean * count
    sums = np.column_stack([rest, count, rest * rest, rest * count, count * count])
    few_cells = CELLS_WORTH_IT * len(alike) <= units
    draws = _cell_weights(alike, resamples, rng) if few_cells else _weights(units, resamples, rng)
    rows = sums if few_cells else np.repeat(sums, alike, axis=0)
    drawn = np.concatenate([weights @ rows for weights in draws])
    shift = drawn[:, 0] / drawn[:, 1]
    se = _standard_error((alike @ sums)[None, :], np.zeros(1), units)[0]
    if se <= 1e-12 * abs(mean):
        return mean, mean, mean
    drawn_se = _standard_error(drawn, shift, units)
    # A resample of one unit over and over has no spread: its t is beyond every limit, unless it hit the mean.
    t = np.where(drawn_se > 0.0, quotient(shift, drawn_se), np.sign(shift) * BEYOND)
    low_t, high_t = _quantiles(t, level)
    return mean, mean - _limit(max(float(high_t), 0.0)) * se, mean - _limit(min(float(low_t), 0.0)) * se


def _alike(total: Floats, count: Floats) -> tuple[Ints, Floats, Floats]:
    """Units with the same total and count are told apart by nothing: how many there are of each, in order."""
    order = np.lexsort((count, total))
    total, count = total[order], count[order]
    starts = np.flatnonzero(np.r_[True, (np.diff(total) != 0.0) | (np.diff(count) != 0.0)])
    return np.diff(np.r_[starts, len(total)]), total[starts], count[starts]


def _cell_weights(alike: Ints, resamples: int, rng: np.random.Generator) -> Iterator[Floats]:
    """How often units of each kind are drawn: what `_weights` adds up to over units that are alike, without drawing each."""
    units = int(alike.sum())
    block = max(1, BLOCK // len(alike))
    for first in range(0, resamples, block):
        rows = min(block, resamples - first)
        yield rng.multinomial(units, alike / units, size=rows).astype(np.float64)


def _limit(t: float) -> float:
    return t if abs(t) < BEYOND / 1e3 else float(np.sign(t)) * np.inf


def _standard_error(sums: Floats, shift: Floats, units: int) -> Floats:
    squares = sums[:, 2] - 2.0 * shift * sums[:, 3] + shift * shift * sums[:, 4]
    return np.sqrt(np.maximum(squares, 0.0) * units / (units - 1.0)) / sums[:, 1]


def _quantiles(values: Floats, level: float) -> tuple[Floats, Floats]:
    # The (B + 1) p-th of B ordered values: the level is exact for a statistic that ranks like its resamples.
    low, high = np.quantile(values, [(1.0 - level) / 2.0, (1.0 + level) / 2.0], axis=0, method="weibull")
    return low, high


def _rows_by_group(group: Ints, groups: int) -> Iterator[tuple[int, Ints]]:
    check_groups(group, groups)
    order = np.argsort(group, kind="stable")
    bounds = np.searchsorted(group[order], np.arange(groups + 1))
    for number in range(groups):
        if bounds[number + 1] > bounds[number]:
            yield number, order[bounds[number] : bounds[number + 1]]
