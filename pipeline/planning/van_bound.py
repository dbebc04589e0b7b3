"""
How many jobs no van stock within the limits can pass: what the choice is held against.

A job that needs several parts finds them all with a chance no larger than a weighted mean of its parts' chances, whatever
the weights. With weights, every part stands for itself, its gains are made concave, and a limit that takes fractions is
filled by falling gain: a knapsack whose answer no stock passes. Weights are then moved to the part of each job that the
answer holds worst, and the lowest of all answers is kept: any weights give a bound, good ones a close one.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from pipeline.planning.van import Floats, Ints, Tour
from pipeline.planning.van_limits import Limits

# Times that the weights are moved, and how far the first time, as a share of a job.
ROUNDS, FIRST_MOVE = 20, 1.0


class _Filled(NamedTuple):
    """A filled limit: jobs finished, and pieces of each part, perhaps not whole ones, (parts,)."""

    jobs: float
    level: Floats


def upper_bound(tour: Tour, limits: Limits, rounds: int = ROUNDS) -> float:
    """
    No stock within the limits finishes more jobs than this.

    Parameters
    ----------
    tour : Tour
    limits : Limits
    rounds : int
        Times that the weights are moved for each limit.
    """
    if not len(tour.needs.part):
        return 0.0
    chances = _chances(tour)
    bounds = [tour.finished(tour.most)]
    for weight, limit in ((limits.cost, limits.budget), (limits.volume, limits.litres)):
        if np.isfinite(limit):
            bounds.append(_least(tour, chances, weight, limit, rounds, by_line=False))
    if limits.lines is not None:
        one = np.ones(tour.needs.parts)
        bounds.append(_least(tour, chances, one, float(limits.lines), rounds, by_line=True))
    return min(bounds)


def _chances(tour: Tour) -> Floats:
    """Jobs between two restocks that find each row's pieces with 0, 1, … of its part aboard, (rows, levels)."""
    needs = tour.needs
    top = int(tour.most.max(initial=0))
    found = np.empty((len(needs.part), top + 1))
    for level in range(top + 1):
        aboard = np.minimum(level, tour.most[needs.part])
        found[:, level] = tour.factors(aboard).sum(axis=1)
    return found


def _least(tour: Tour, chances: Floats, weight: Floats, limit: float, rounds: int, *, by_line: bool) -> float:
    """The lowest bound of one limit over weights moved by a falling step."""
    needs, pattern = tour.needs, tour.pattern
    size = np.diff(needs.offsets)
    alpha = 1.0 / size[pattern]
    several = bool((size > 1).any())
    best = np.inf
    for turn in range(rounds if several else 1):
        value = _values(tour, chances, needs.share[pattern] * alpha)
        filled = _by_line(value, int(limit)) if by_line else _fractional(value, weight, limit)
        best = min(best, filled.jobs)
        found = _at(chances, filled.level[needs.part])
        # Down where a part is there anyway, up where it is the one that is missing: away from the steepest rise.
        mean = np.bincount(pattern, found, minlength=len(size))[pattern] / size[pattern]
        alpha = _on_simplex(
            alpha - FIRST_MOVE / (1.0 + turn) ** 0.7 * (found - mean) / tour.jobs, pattern, size
        )
    return best


def _values(tour: Tour, chances: Floats, share: Floats) -> Floats:
    """Of each part, the jobs that 0, 1, … pieces could finish at most, its weight of each pattern taken, (parts, levels)."""
    part = tour.needs.part
    return np.stack(
        [
            np.bincount(part, share * chances[:, level], minlength=tour.needs.parts)
            for level in range(chances.shape[1])
        ],
        axis=1,
    )


def _fractional(value: Floats, weight: Floats, limit: float) -> _Filled:
    """A limit that takes fractions, filled by falling gain for what is taken of it."""
    rise = _concave(value)
    parts, levels = rise.shape
    size = np.repeat(weight, levels).reshape(parts, levels)
    flat, taken = rise.ravel(), np.zeros(parts * levels)
    free = size.ravel() <= 0.0
    taken[free] = 1.0
    paid = np.flatnonzero(~free & (flat > 0.0))
    order = paid[np.argsort(-flat[paid] / size.ravel()[paid], kind="stable")]
    room = np.cumsum(size.ravel()[order])
    before = room - size.ravel()[order]
    taken[order] = np.clip((limit - before) / size.ravel()[order], 0.0, 1.0)
    return _Filled(float(value[:, 0].sum() + (flat * taken).sum()), taken.reshape(parts, levels).sum(axis=1))


def _by_line(value: Floats, lines: int) -> _Filled:
    """So many parts, each with as many pieces as are of any use."""
    level = np.zeros(len(value))
    chosen = np.argsort(-value[:, -1], kind="stable")[:lines]
    level[chosen] = value.shape[1] - 1
    left = np.setdiff1d(np.arange(len(value)), chosen, assume_unique=True)
    return _Filled(float(value[chosen, -1].sum() + value[left, 0].sum()), level)


def _concave(value: Floats) -> Floats:
    """Rises from level to level of the least concave lines above rising rows, (parts, levels - 1)."""
    rise = np.diff(value, axis=1)
    dips = np.flatnonzero((np.diff(rise, axis=1) > 0.0).any(axis=1))
    if not len(dips):
        return rise
    # The slope at i is the least, over beginnings a <= i, of the largest mean rise from a to an end b >= i.
    levels = rise.shape[1]
    total = value[dips]
    slope = np.full((len(dips), levels), np.inf)
    for start in range(levels):
        means = (total[:, start + 1 :] - total[:, start : start + 1]) / np.arange(1, levels - start + 1)
        largest = np.maximum.accumulate(means[:, ::-1], axis=1)[:, ::-1]
        slope[:, start:] = np.minimum(slope[:, start:], largest)
    rise[dips] = slope
    return rise


def _at(chances: Floats, level: Floats) -> Floats:
    """Chances of rows at levels that need not be whole, on the line between."""
    low = np.minimum(np.floor(level).astype(np.int64), chances.shape[1] - 1)
    high = np.minimum(low + 1, chances.shape[1] - 1)
    rows = np.arange(len(chances))
    between = (level - low) * (chances[rows, high] - chances[rows, low])
    return np.asarray(chances[rows, low] + between, dtype=np.float64)


def _on_simplex(alpha: Floats, pattern: Ints, size: Ints) -> Floats:
    """Weights of each pattern brought back to at least 0 and a sum of 1 (cut and scaled)."""
    cut = np.maximum(alpha, 0.0)
    total = np.bincount(pattern, cut, minlength=len(size))[pattern]
    return np.where(total > 0.0, cut / np.where(total > 0.0, total, 1.0), 1.0 / size[pattern])
