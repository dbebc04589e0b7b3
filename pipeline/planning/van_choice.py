"""
Which pieces to put on the van within limits of money, litres and lines.

Marginal gain first: the piece, or the pieces that make one more kind of job possible, with the most jobs for what they
take of the limits. Then exchange: a piece out, others in, as long as that finishes more jobs. The exact answer for small
cases stands in `van_exact`; how far a large one can be from the best is bounded here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.planning.van import Floats, Ints, Tour
from pipeline.planning.van_exact import TooLargeError, best_stock
from pipeline.planning.van_limits import LEAST_GAIN, Limits

Bools = NDArray[np.bool_]
EXCHANGES = 300
# How much what a piece takes of the limits counts against what it gains: fully, half, not at all.
THRIFT = (1.0, 0.5, 0.0)
# Pairs of pieces are exchanged on small vans only.
PAIRS_UP_TO = 15
# So few parts are chosen among exactly.
SMALL = 12


@dataclass(frozen=True)
class Step:
    """One step of the way up: money spent so far, jobs finished, which part came to how many pieces."""

    cost: float
    finished: float
    parts: tuple[int, ...]


@dataclass(frozen=True)
class Choice:
    """
    A stock.

    Attributes
    ----------
    stock : int, (parts,)
    finished : float
        Jobs that needed parts and end at the first visit, between two restocks.
    bound : float
        No stock within the limits finishes more.
    steps : tuple of Step
        The way up before exchanges: the curve of money against jobs.
    """

    stock: Ints
    finished: float
    bound: float
    steps: tuple[Step, ...]

    @property
    def gap(self) -> float:
        """How much more the best could finish at most, as a share of it."""
        return 0.0 if self.bound <= 0.0 else max(0.0, 1.0 - self.finished / self.bound)


def choose(tour: Tour, limits: Limits, start: ArrayLike | None = None) -> Choice:
    """
    Choose a stock within the limits.

    Parameters
    ----------
    tour : Tour
    limits : Limits
    start : array_like of int, (parts,), optional
        A stock to compare with; the answer finishes at least as many jobs where it is within the limits.

    Returns
    -------
    Choice
    """
    climbs = [_Climb(tour, limits, thrift) for thrift in THRIFT]
    for climb in climbs:
        climb.up()
    steps = tuple(climbs[0].steps)
    exact = _exact(tour, limits)
    if exact is not None:
        finished = tour.finished(exact)
        return Choice(exact, finished, finished, steps)
    candidates = [*(climb.stock for climb in climbs), most_used(tour, limits)]
    if start is not None and limits.allows(np.asarray(start, dtype=np.int64)):
        candidates.append(np.asarray(start, dtype=np.int64).copy())
    stock = exchanged(tour, limits, max(candidates, key=tour.finished))
    return Choice(stock, tour.finished(stock), upper_bound(tour, limits), steps)


def _exact(tour: Tour, limits: Limits) -> Ints | None:
    """The best stock of a small case; None of a large one."""
    if tour.needs.parts > SMALL:
        return None
    try:
        return best_stock(tour, limits)
    except TooLargeError:
        return None


def most_used(tour: Tour, limits: Limits) -> Ints:
    """The rule of thumb: one of each part by how often it is used, then a second of each, as far as the limits go."""
    stock = np.zeros(tour.needs.parts, dtype=np.int64)
    by_use = np.argsort(-tour.needs.rate, kind="stable")
    for level in range(1, int(tour.most.max(initial=0)) + 1):
        for part in by_use.tolist():
            if tour.most[part] >= level:
                stock[part] += 1
                if not limits.allows(stock):
                    stock[part] -= 1
    return stock


class _Climb:
    """Adds what gains most for what it takes, keeping the gain of every single piece up to date."""

    def __init__(self, tour: Tour, limits: Limits, thrift: float = 1.0) -> None:
        self.tour, self.limits, self.thrift = tour, limits, thrift
        self.stock = np.zeros(tour.needs.parts, dtype=np.int64)
        self.rows_of = _rows_by(tour.needs.part, tour.needs.parts)
        needs = tour.needs
        self.now = tour.factors(self.stock[needs.part])
        self.next = tour.factors(self.stock[needs.part] + 1)
        self.gain = np.bincount(
            needs.part, self._row_gains(np.arange(len(needs.part))), minlength=needs.parts
        )
        self.banned = np.zeros(needs.parts, dtype=np.bool_)
        self.steps: list[Step] = []
        sizes = np.diff(needs.offsets)
        self.sets = (
            np.flatnonzero((sizes > 1) | (np.maximum.reduceat(needs.pieces, needs.offsets[:-1]) > 1))
            if len(sizes)
            else np.array([], dtype=np.int64)
        )

    def up(self) -> None:
        """Climb until nothing more fits or gains."""
        while (move := self._best()) is not None:
            for part, pieces in move:
                self.add(part, pieces)
            spent = float(self.stock @ self.limits.cost)
            self.steps.append(Step(spent, self.tour.finished(self.stock), tuple(part for part, _ in move)))

    def _best(self) -> list[tuple[int, int]] | None:
        """The best single piece or set of pieces that still fits."""
        part = np.arange(len(self.stock))
        is_new = (self.stock == 0).astype(np.float64)
        weight = self.limits.weight(np.ones(len(part)), is_new, part)
        worth = np.where(
            (self.gain > LEAST_GAIN) & self._fits(part) & ~self.banned,
            self.gain / weight**self.thrift,
            -np.inf,
        )
        single = int(np.argmax(worth)) if len(worth) else -1
        one = [(single, 1)] if single >= 0 and np.isfinite(worth[single]) else None
        of_set, several = self._best_set()
        if several is not None and (one is None or of_set > worth[single]):
            return several
        return one

    def _fits(self, part: Ints) -> Bools:
        limits = self.limits
        money = float(self.stock @ limits.cost) + limits.cost[part] <= limits.budget * (1 + 1e-12)
        room = float(self.stock @ limits.volume) + limits.volume[part] <= limits.litres * (1 + 1e-12)
        lines = np.ones(len(part), dtype=np.bool_)
        if limits.lines is not None:
            lines = (self.stock[part] > 0) | (int((self.stock > 0).sum()) < limits.lines)
        return np.asarray(money & room & lines, dtype=np.bool_)

    def _best_set(self) -> tuple[float, list[tuple[int, int]] | None]:
        """The pieces that make one more kind of job possible: worthless one by one, perhaps not together."""
        needs = self.tour.needs
        if not len(self.sets):
            return -np.inf, None
        missing = np.maximum(needs.pieces - self.stock[needs.part], 0)
        filled = np.maximum(self.stock[needs.part], needs.pieces)
        factor = self.tour.factors_of(np.arange(len(needs.part)), filled)
        new_line = ((missing > 0) & (self.stock[needs.part] == 0)).astype(np.float64)
        weight = np.add.reduceat(
            self.limits.weight(missing.astype(np.float64), new_line, needs.part), needs.offsets[:-1]
        )
        count = np.add.reduceat(missing, needs.offsets[:-1])
        value = needs.share * np.multiply.reduceat(factor, needs.offsets[:-1], axis=0).sum(axis=1)
        worth = np.where(
            (count[self.sets] > 1),
            value[self.sets] / np.maximum(weight[self.sets], LEAST_GAIN) ** self.thrift,
            -np.inf,
        )
        for place in np.argsort(-worth, kind="stable")[:20].tolist():
            if not np.isfinite(worth[place]):
                break
            pattern = int(self.sets[place])
            rows = range(int(needs.offsets[pattern]), int(needs.offsets[pattern + 1]))
            move = [(int(needs.part[row]), int(missing[row])) for row in rows if missing[row]]
            if any(self.banned[part] for part, _ in move):
                continue
            trial = self.stock.copy()
            for part, pieces in move:
                trial[part] += pieces
            if self.limits.allows(trial):
                return float(worth[place]), move
        return -np.inf, None

    def add(self, part: int, pieces: int) -> None:
        """Put pieces on the van."""
        self.stock[part] += pieces
        mine = self.rows_of[part]
        needs = self.tour.needs
        # Patterns that the part stands in: their rows, of all parts, gain something else now.
        patterns = np.unique(self.tour.pattern[mine])
        rows = np.concatenate([np.arange(needs.offsets[t], needs.offsets[t + 1]) for t in patterns.tolist()])
        np.subtract.at(self.gain, needs.part[rows], self._row_gains(rows))
        at = np.full(len(mine), self.stock[part])
        self.now[mine] = self.tour.factors_of(mine, at)
        self.next[mine] = self.tour.factors_of(mine, at + 1)
        np.add.at(self.gain, needs.part[rows], self._row_gains(rows))

    def _row_gains(self, rows: Ints) -> Floats:
        """Jobs more that one more piece of a row's part finishes in the row's pattern."""
        needs, pattern = self.tour.needs, self.tour.pattern[rows]
        others = np.ones((len(rows), self.tour.jobs))
        # Patterns are small: a row's product over the other rows is taken offset by offset.
        start, size = needs.offsets[pattern], np.diff(needs.offsets)[pattern]
        for step in range(int(size.max(initial=0))):
            other = np.minimum(start + step, len(needs.part) - 1)
            is_other = (step < size) & (other != rows)
            others *= np.where(is_other[:, None], self.now[other], 1.0)
        return np.asarray(
            needs.share[pattern] * ((self.next[rows] - self.now[rows]) * others).sum(axis=1), dtype=np.float64
        )


def exchanged(tour: Tour, limits: Limits, stock: Ints) -> Ints:
    """Take a piece, a line or (on a small van) two lines out and climb again, as long as that finishes more jobs."""
    best, finished = stock.copy(), tour.finished(stock)
    tries = 0
    improved = True
    while improved and tries < EXCHANGES:
        improved = False
        for out in _takings(best):
            tries += 1
            trial = _climbed_again(tour, limits, best, out)
            value = tour.finished(trial)
            if value > finished + 1e-9:
                best, finished, improved = trial, value, True
                break
            if tries >= EXCHANGES:
                break
    return best


def _takings(stock: Ints) -> Iterator[dict[int, int]]:
    """What may be taken out, small things first: pieces by part."""
    there = np.flatnonzero(stock).tolist()
    yield from ({part: 1} for part in there)
    yield from ({part: int(stock[part])} for part in there if stock[part] > 1)
    if len(there) <= PAIRS_UP_TO:
        yield from ({a: int(stock[a]), b: int(stock[b])} for a, b in combinations(there, 2))


def _climbed_again(tour: Tour, limits: Limits, stock: Ints, out: dict[int, int]) -> Ints:
    """The stock without some pieces, filled up with others."""
    climb = _Climb(tour, limits)
    for part in np.flatnonzero(stock).tolist():
        if stock[part] > out.get(part, 0):
            climb.add(part, int(stock[part]) - out.get(part, 0))
    climb.banned[list(out)] = True
    climb.up()
    climb.banned[:] = False
    climb.up()
    return climb.stock


def _rows_by(part: Ints, parts: int) -> list[Ints]:
    order = np.argsort(part, kind="stable")
    ends = np.searchsorted(part[order], np.arange(parts + 1))
    return [order[ends[n] : ends[n + 1]] for n in range(parts)]


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
