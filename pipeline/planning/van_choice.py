"""
Which pieces to put on the van within limits of money, litres and lines.

Marginal gain first: the piece, or the pieces that make one more kind of job possible, with the most jobs for what they
take of the limits. Then exchange: a piece out, others in, as long as that finishes more jobs. The exact answer for small
cases stands in `van_exact`; how far a large one can be from the best is bounded in `van_bound`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike

from pipeline.planning.van import Ints, Tour
from pipeline.planning.van_bound import upper_bound
from pipeline.planning.van_climb import Climb, Index, Move, Step
from pipeline.planning.van_exact import TooLargeError, best_stock
from pipeline.planning.van_limits import Limits

# Exchanges end after so many of them, or so many rows worked out again: counted, not timed, so that the answer is the
# same on a slow machine.
EXCHANGES = 600
EXCHANGE_WORK = 6_000_000
# How much what a piece takes of the limits counts against what it gains: fully, half, not at all.
THRIFT = (1.0, 0.5, 0.0)
LEAST_IMPROVEMENT = 1e-9
# Pairs of pieces are exchanged on small vans only.
PAIRS_UP_TO = 15
# So few parts are chosen among exactly.
SMALL = 12


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


def choose(tour: Tour, limits: Limits, start: ArrayLike | None = None, work: int = EXCHANGE_WORK) -> Choice:
    """
    Choose a stock within the limits.

    Parameters
    ----------
    tour : Tour
    limits : Limits
    start : array_like of int, (parts,), optional
        A stock to compare with; the answer finishes at least as many jobs where it is within the limits.
    work : int
        Rows that exchanges may work out again.

    Returns
    -------
    Choice
    """
    index = Index(tour.needs)
    climbs = [Climb(tour, limits, thrift, index) for thrift in THRIFT]
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
    stock = exchanged(tour, limits, max(candidates, key=tour.finished), index, work)
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


def exchanged(
    tour: Tour, limits: Limits, stock: Ints, index: Index | None = None, work: int = EXCHANGE_WORK
) -> Ints:
    """
    Take a piece, a line or (on a small van) two lines out and climb again, as long as that finishes more jobs.

    What costs least for what it takes goes out first; the search ends when nothing that could go out helps any more, or
    after EXCHANGES of them or so many rows worked out again.
    """
    climb = Climb(tour, limits, 1.0, index)
    climb.put(stock)
    tries, until = 0, climb.work + work
    improved = True
    while improved and tries < EXCHANGES and climb.work < until:
        improved = False
        for out in _takings(climb):
            # What was there when the round began may be gone.
            if any(climb.stock[part] < pieces for part, pieces in out.items()):
                continue
            if tries >= EXCHANGES or climb.work >= until:
                break
            tries += 1
            improved |= _exchange(climb, out)
    return climb.stock


def _takings(climb: Climb) -> Iterator[dict[int, int]]:
    """What may be taken out, small things first: pieces by part, the least missed first."""
    loss, weight = climb.losses(), np.maximum(climb.piece_weight + climb.line_weight, 1e-12)
    there = np.flatnonzero(climb.stock)
    ordered = there[np.argsort(loss[there] / weight[there], kind="stable")].tolist()
    count = {part: int(climb.stock[part]) for part in ordered}
    yield from ({part: 1} for part in ordered)
    yield from ({part: count[part]} for part in ordered if count[part] > 1)
    if len(ordered) <= PAIRS_UP_TO:
        yield from ({a: count[a], b: count[b]} for a, b in combinations(ordered, 2))


def _exchange(climb: Climb, out: dict[int, int]) -> bool:
    """Take pieces out and climb, first without those parts; back to where it was unless more jobs are finished."""
    before = climb.finished
    done: list[Move] = [[(part, -pieces) for part, pieces in out.items()]]
    for part, pieces in done[0]:
        climb.add(part, pieces)
    climb.ban(list(out), banned=True)
    done += climb.up()
    climb.ban(list(out), banned=False)
    done += climb.up()
    if climb.finished > before + LEAST_IMPROVEMENT:
        return True
    for move in reversed(done):
        for part, pieces in move:
            climb.add(part, -pieces)
    return False
