"""How many jobs no van stock within the limits can pass: what the choice is held against."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from pipeline.planning.van import Floats, Tour
from pipeline.planning.van_limits import Limits


def upper_bound(tour: Tour, limits: Limits) -> float:
    """
    No stock within the limits finishes more jobs than this.

    A job that needs several parts is finished with no more than the mean of its parts' chances; then every part stands
    for itself, its gains are made concave, and a limit that takes fractions is filled by falling gain.
    """
    values = _separate(tour)
    bounds = [tour.wanting]
    for weight, limit in ((limits.cost, limits.budget), (limits.volume, limits.litres)):
        if np.isfinite(limit):
            bounds.append(_fractional(values, weight, limit))
    if limits.lines is not None:
        best = np.sort(np.array([value[-1] for value in values]))[::-1]
        bounds.append(float(best[: limits.lines].sum()))
    return min(bounds)


def _separate(tour: Tour) -> list[Floats]:
    """Of each part, the jobs that 0, 1, … pieces could finish at most, its share of each pattern taken alone."""
    needs = tour.needs
    share = needs.share[tour.pattern] / np.diff(needs.offsets)[tour.pattern]
    values = [np.zeros(int(most) + 1) for most in tour.most]
    for level in range(int(tour.most.max(initial=0)) + 1):
        at = np.full(len(needs.part), level, dtype=np.int64)
        worth = np.bincount(needs.part, share * tour.factors(at).sum(axis=1), minlength=needs.parts)
        for part in np.flatnonzero(tour.most >= level).tolist():
            values[part][level] = worth[part]
    return values


def _fractional(values: list[Floats], weight: Floats, limit: float) -> float:
    pieces: list[tuple[float, float, float]] = []
    free = 0.0
    for value, each in zip(values, weight.tolist(), strict=True):
        for width, height in _concave(value):
            if each <= 0.0:
                free += height
            else:
                pieces.append((height / (width * each), width * each, height))
    total, left = free, limit
    for _, size, height in sorted(pieces, reverse=True):
        take = min(1.0, left / size)
        total += take * height
        left -= take * size
        if left <= 0.0:
            break
    return total


def _concave(value: Floats) -> list[tuple[int, float]]:
    """Widths and heights of the least concave line above a rising row of values, beginning at its first."""
    hull = [0]
    for point in range(1, len(value)):
        while len(hull) > 1 and (value[hull[-1]] - value[hull[-2]]) * (point - hull[-1]) <= (
            value[point] - value[hull[-1]]
        ) * (hull[-1] - hull[-2]):
            hull.pop()
        hull.append(point)
    return [(b - a, float(value[b] - value[a])) for a, b in pairwise(hull)]
