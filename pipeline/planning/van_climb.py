"""
Up by marginal gain: again and again the piece, or the pieces that make one more kind of job possible, with most jobs for
what they take of the limits.

What a piece gains changes only in the patterns of need that its part stands in, so only those are worked out again: a
step costs what the part touches, not what the log holds.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from pipeline.planning.van import Floats, Ints, Needs, Tour
from pipeline.planning.van_limits import LEAST_GAIN, Limits

Bools = NDArray[np.bool_]
Move = list[tuple[int, int]]
# Nothing takes less of the limits than this, so that what is free is first and not infinite.
LEAST_WEIGHT = 1e-9
SLACK = 1 + 1e-12
LOOKED_OVER = 10


class Step(NamedTuple):
    """One step of the way up: money spent so far, jobs finished, which parts came."""

    cost: float
    finished: float
    parts: tuple[int, ...]


class Index:
    """Where the rows of each part and of each pattern stand, (rows,) positions."""

    def __init__(self, needs: Needs) -> None:
        self.pattern = needs.pattern
        self.start, self.size = needs.offsets[:-1], np.diff(needs.offsets)
        order = np.argsort(needs.part, kind="stable")
        ends = np.searchsorted(needs.part[order], np.arange(needs.parts + 1))
        self._of_part = [order[ends[n] : ends[n + 1]] for n in range(needs.parts)]

    def rows_of_part(self, part: int) -> Ints:
        """Rows of a part: at most one a pattern."""
        return self._of_part[part]

    def rows_of_patterns(self, patterns: Ints) -> Ints:
        """All rows of some patterns, pattern by pattern."""
        size = self.size[patterns]
        first = np.cumsum(size) - size
        return np.asarray(np.repeat(self.start[patterns] - first, size) + np.arange(size.sum()))


class Climb:
    """
    A stock on its way up, with what every further piece or set of pieces would gain kept up to date.

    Parameters
    ----------
    tour : Tour
    limits : Limits
    thrift : float
        How much what a piece takes of the limits counts against what it gains: 1 fully … 0 not at all.
    index : Index, optional
        Of the tour's needs, where it is there already.

    Attributes
    ----------
    stock : int, (parts,)
    finished : float
        Jobs finished between two restocks.
    work : int
        Rows worked out again so far: a measure of the time it took that is the same on any machine.
    """

    def __init__(self, tour: Tour, limits: Limits, thrift: float = 1.0, index: Index | None = None) -> None:
        needs = tour.needs
        self.tour, self.limits, self.thrift = tour, limits, thrift
        self.index = index or Index(needs)
        self.stock = np.zeros(needs.parts, dtype=np.int64)
        self.now = tour.factors(self.stock[needs.part])
        self.next = tour.factors(self.stock[needs.part] + 1)
        self.banned = np.zeros(needs.parts, dtype=np.bool_)
        self.steps: list[Step] = []
        self.work = 0
        self._weigh()
        everything = np.arange(len(needs.share))
        self.row_gain = np.zeros(len(needs.part))
        self.value = np.zeros(len(needs.share))
        self.gain = np.zeros(needs.parts)
        self.finished = 0.0
        self._sets()
        self._work_out(everything)

    def _weigh(self) -> None:
        """What a piece and a new line of each part take, all limits together, each counted as 1."""
        limits, parts = self.limits, len(self.stock)
        piece = np.zeros(parts)
        if np.isfinite(limits.budget):
            piece += limits.cost / max(limits.budget, LEAST_GAIN)
        if np.isfinite(limits.litres):
            piece += limits.volume / max(limits.litres, LEAST_GAIN)
        if not piece.any() and limits.lines is None and parts:
            piece = limits.cost / limits.cost.sum()
        self.piece_weight = piece
        self.line_weight = 0.0 if limits.lines is None else 1.0 / max(limits.lines, 1)
        self.money = self.room = 0.0
        self.lines = 0

    def _sets(self) -> None:
        """Patterns that need more than one piece, and what is still missing for each."""
        needs = self.tour.needs
        pieces = np.add.reduceat(needs.pieces, needs.offsets[:-1]) if len(needs.share) else np.zeros(0)
        self.set_patterns = np.flatnonzero(pieces > 1)
        self.set_at = np.full(len(needs.share), -1, dtype=np.int64)
        self.set_at[self.set_patterns] = np.arange(len(self.set_patterns))
        count = len(self.set_patterns)
        self.set_worth = np.full(count, -np.inf)
        self.set_money, self.set_room = np.zeros(count), np.zeros(count)
        self.set_lines = np.zeros(count, dtype=np.int64)
        self.set_banned = np.zeros(count, dtype=np.int64)

    # What changes when a piece comes or goes.

    def add(self, part: int, pieces: int) -> None:
        """Put pieces on the van, or with a number below 0 take them off."""
        before = int(self.stock[part])
        self.stock[part] = after = before + pieces
        self.money += pieces * float(self.limits.cost[part])
        self.room += pieces * float(self.limits.volume[part])
        self.lines += int(after > 0) - int(before > 0)
        mine = self.index.rows_of_part(part)
        if not len(mine):
            return
        level = np.full(len(mine), after)
        self.now[mine] = self.tour.factors_of(mine, level)
        self.next[mine] = self.tour.factors_of(mine, level + 1)
        self._work_out(self.index.pattern[mine])

    def _work_out(self, patterns: Ints) -> None:
        """Value of patterns, what one piece more of each of their parts gains in them, and what is missing."""
        needs = self.tour.needs
        rows = self.index.rows_of_patterns(patterns)
        self.work += len(rows)
        size = self.index.size[patterns]
        others, whole = _products(self.now[rows], size)
        gain = needs.share[self.index.pattern[rows]] * ((self.next[rows] - self.now[rows]) * others).sum(
            axis=1
        )
        change = gain - self.row_gain[rows]
        self.row_gain[rows] = gain
        self.gain += np.bincount(needs.part[rows], change, minlength=needs.parts)
        value = needs.share[patterns] * whole.sum(axis=1)
        self.finished += float((value - self.value[patterns]).sum())
        self.value[patterns] = value
        several = patterns[self.set_at[patterns] >= 0]
        if len(several):
            self._missing(several)

    def _missing(self, patterns: Ints) -> None:
        """What the pieces missing for each of these patterns would take and, all together, gain."""
        needs, at = self.tour.needs, self.set_at[patterns]
        rows = self.index.rows_of_patterns(patterns)
        first = np.cumsum(self.index.size[patterns]) - self.index.size[patterns]
        part = needs.part[rows]
        stock = self.stock[part]
        missing = np.maximum(needs.pieces[rows] - stock, 0)
        new_line = (missing > 0) & (stock == 0)
        factor = self.tour.factors_of(rows, stock + missing)
        value = needs.share[patterns] * np.multiply.reduceat(factor, first, axis=0).sum(axis=1)
        weight = np.add.reduceat(missing * self.piece_weight[part] + new_line * self.line_weight, first)
        # One piece that is missing is a single piece, whose gain is known already.
        self.set_worth[at] = np.where(
            np.add.reduceat(missing, first) > 1,
            value / np.maximum(weight, LEAST_WEIGHT) ** self.thrift,
            -np.inf,
        )
        self.set_money[at] = np.add.reduceat(missing * self.limits.cost[part], first)
        self.set_room[at] = np.add.reduceat(missing * self.limits.volume[part], first)
        self.set_lines[at] = np.add.reduceat(new_line.astype(np.int64), first)

    # The way up.

    def up(self, enough: float = np.inf) -> list[Move]:
        """Climb until nothing more fits or gains, or so many jobs are finished; what was put on, step by step."""
        moves = []
        while self.finished < enough and (move := self._best()) is not None:
            # Looking over all parts and patterns is quicker, a piece, than working rows out.
            self.work += (len(self.set_worth) + len(self.stock)) // LOOKED_OVER
            for part, pieces in move:
                self.add(part, pieces)
            moves.append(move)
            self.steps.append(Step(self.money, self.finished, tuple(part for part, _ in move)))
        return moves

    def _best(self) -> Move | None:
        """The best single piece or set of pieces that still fits."""
        if not len(self.stock):
            return None
        weight = np.maximum(self.piece_weight + self.line_weight * (self.stock == 0), LEAST_WEIGHT)
        fits = self._fits(self.limits.cost, self.limits.volume, (self.stock == 0).astype(np.int64))
        worth = np.where(
            fits & (self.gain > LEAST_GAIN) & ~self.banned, self.gain / weight**self.thrift, -np.inf
        )
        single = int(np.argmax(worth))
        set_worth, several = self._best_set()
        if several is not None and set_worth > worth[single]:
            return several
        return [(single, 1)] if np.isfinite(worth[single]) else None

    def _best_set(self) -> tuple[float, Move | None]:
        """The pieces that make one more kind of job possible: worthless one by one, perhaps not together."""
        if not len(self.set_worth):
            return -np.inf, None
        fits = self._fits(self.set_money, self.set_room, self.set_lines) & (self.set_banned == 0)
        worth = np.where(fits, self.set_worth, -np.inf)
        best = int(np.argmax(worth))
        if not np.isfinite(worth[best]):
            return -np.inf, None
        needs = self.tour.needs
        rows = self.index.rows_of_patterns(self.set_patterns[best : best + 1])
        missing = np.maximum(needs.pieces[rows] - self.stock[needs.part[rows]], 0)
        return float(worth[best]), [
            (int(part), int(pieces)) for part, pieces in zip(needs.part[rows], missing, strict=True) if pieces
        ]

    def _fits(self, money: Floats, room: Floats, lines: Ints) -> Bools:
        limits = self.limits
        fits = np.ones(len(money), dtype=np.bool_)
        if np.isfinite(limits.budget):
            fits &= self.money + money <= limits.budget * SLACK
        if np.isfinite(limits.litres):
            fits &= self.room + room <= limits.litres * SLACK
        if limits.lines is not None:
            fits &= self.lines + lines <= limits.lines
        return fits

    def ban(self, parts: list[int], *, banned: bool) -> None:
        """Whether no piece of these parts may be put on for now."""
        for part in parts:
            self.banned[part] = banned
            at = self.set_at[self.index.pattern[self.index.rows_of_part(part)]]
            self.set_banned[at[at >= 0]] += 1 if banned else -1

    def put(self, stock: Ints) -> None:
        """Start from a stock."""
        for part in np.flatnonzero(stock != self.stock).tolist():
            self.add(part, int(stock[part] - self.stock[part]))

    def losses(self) -> Floats:
        """Jobs fewer if one piece of a part went, (parts,); 0 for what is not there."""
        needs = self.tour.needs
        rows = np.flatnonzero(self.stock[needs.part] > 0)
        patterns = np.unique(self.index.pattern[rows])
        every = self.index.rows_of_patterns(patterns)
        others, _ = _products(self.now[every], self.index.size[patterns])
        before = self.tour.factors_of(every, self.stock[needs.part[every]] - 1)
        loss = needs.share[self.index.pattern[every]] * ((self.now[every] - before) * others).sum(axis=1)
        return np.bincount(needs.part[every], loss, minlength=needs.parts).astype(np.float64)


def _products(factor: Floats, size: Ints) -> tuple[Floats, Floats]:
    """Of rows grouped by pattern: the product over a row's other rows (rows, jobs), and over all of them (patterns, jobs)."""
    others = np.ones_like(factor)
    first = np.cumsum(size) - size
    if not len(size):
        return others, np.ones((0, factor.shape[1]))
    whole = np.multiply.reduceat(factor, first, axis=0)
    at = np.arange(len(factor))
    start, sizes = np.repeat(first, size), np.repeat(size, size)
    # Patterns are small: the product is taken offset by offset, over the patterns that are so large.
    for step in range(int(size.max(initial=0))):
        rows = at[(step < sizes) & (start + step != at)]
        others[rows] *= factor[start[rows] + step]
    return others, whole
