"""
Scan for a run of neighbouring blocks (made weeks, serial blocks, fittings one after the other) with too many failures.

Kulldorff, M. (1997), Communications in Statistics: Theory and Methods 26, 1481-1496: the likelihood ratio of the run that stands
out most, against what it would be if the same number of failures fell on the blocks as expected for the ages of their items.
Besag, J. & Clifford, P. (1991),
Biometrika 78, 301-304: drawing stops as soon as enough draws stood out as much.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.estimators.arrays import check_same_length, ints_of

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Draw = Callable[[np.random.Generator, int], Floats]
FEWEST_FAILURES = 5  # in a run, before it is looked at; measure book, section 13
LONGEST = 16  # blocks in a run
# Narrower ages would leave neighbours of one making nothing but each other to be compared with.
EARLY_DAYS, YEAR_DAYS = 90, 365
# A part's share of all failures changes less with age than its rate.
_SHARE_CUTS = (-(10**7), 2 * YEAR_DAYS, 5 * YEAR_DAYS, 10 * YEAR_DAYS, 10**7)
_ENOUGH = 10  # draws that stood out as much, after which no more are made
_AT_ONCE = 500


class Run(NamedTuple):
    """
    The run of blocks that stands out most.

    Attributes
    ----------
    first, last : int
        Its blocks, both included.
    observed, expected : float
        Failures in it.
    items : int
        Items in it that were ever at risk.
    p : float
        Share of draws in which some run stands out as much.
    total : float
        Failures in all blocks.
    """

    first: int
    last: int
    observed: float
    expected: float
    items: int
    p: float
    total: float

    @property
    def by_the_rest(self) -> float:
        """Failures the run would have at the rate of all the other blocks."""
        return self.expected * (self.total - self.observed) / (self.total - self.expected)


def expected_by_block(
    block: ArrayLike, enters: ArrayLike, leaves: ArrayLike, failed: ArrayLike, *, blocks: int
) -> tuple[Floats, Floats, Ints]:
    """
    Failures in each block, those expected if age alone decided, and items.

    Parameters
    ----------
    block : array_like of int, (items,)
        0 … blocks - 1.
    enters, leaves : array_like of int, (items,)
        Age in days at which an item comes under observation, and at which it fails or is followed no longer.
    failed : array_like of bool, (items,)
        Whether it left by failing.
    blocks : int

    Returns
    -------
    observed, expected : arrays of float, (blocks,)
        Their sums agree. Expected: the failures of each age shared out by the days that each block was at risk at that age.
    items : array of int, (blocks,)
    """
    at, start, stop = (
        ints_of("block", block, at_least=0),
        ints_of("enters", enters),
        ints_of("leaves", leaves),
    )
    watched = stop > start
    has = np.asarray(failed, dtype=np.bool_) & watched
    check_same_length(block=at, enters=start, leaves=stop, failed=has)
    expected = np.zeros(blocks)
    # The day of a failure belongs to the age it ends.
    for low, high in pairwise(_cuts(int(stop.max(initial=0)))):
        days = np.bincount(
            at, np.clip(np.minimum(stop, high) - np.maximum(start, low), 0, None), minlength=blocks
        )
        failures = float((has & (stop > low) & (stop <= high)).sum())
        if failures:
            expected += failures * days / days.sum()
    observed = np.bincount(at[has], minlength=blocks).astype(np.float64)
    return observed, expected, np.bincount(at[watched], minlength=blocks).astype(np.int64)


def expected_by_share(
    block: ArrayLike, age: ArrayLike, is_one: ArrayLike, *, blocks: int
) -> tuple[Floats, Floats, Draw]:
    """
    Failures of one part in each block, those expected if its share of all failures were the same everywhere, and failures.

    For items of which only those that failed are known: no time at risk is needed.

    Parameters
    ----------
    block : array_like of int, (failures,)
        0 … blocks - 1.
    age : array_like of int, (failures,)
        Days.
    is_one : array_like of bool, (failures,)
        Whether it is a failure of the part in question.
    blocks : int

    Returns
    -------
    observed, expected : arrays of float, (blocks,)
        Their sums agree. A lot's own failures stand on both sides, so that it looks less bad than it is.
    draw : callable
        For `scan`: the part's failures dealt anew among all failures of the same ages (hypergeometric).
    """
    at, old, one = (
        ints_of("block", block, at_least=0),
        ints_of("age", age),
        np.asarray(is_one, dtype=np.bool_),
    )
    check_same_length(block=at, age=old, is_one=one)
    expected, bands = np.zeros(blocks), []
    for low, high in pairwise(_SHARE_CUTS):
        inside = (old > low) & (old <= high)
        if (inside & one).any():
            count = np.bincount(at[inside], minlength=blocks)
            bands.append((count, int((inside & one).sum())))
            expected += bands[-1][1] * count / count.sum()

    def draw(rng: np.random.Generator, size: int) -> Floats:
        dealt = np.zeros((size, blocks))
        for count, failures in bands:
            dealt += rng.multivariate_hypergeometric(count, failures, size=size, method="marginals")
        return dealt

    return np.bincount(at[one], minlength=blocks).astype(np.float64), expected, draw


def _cuts(oldest: int) -> list[int]:
    """Limits of the ages within which the hazard is taken as the same, in days: early trouble apart, then years."""
    return [-(10**7), EARLY_DAYS, *range(YEAR_DAYS, oldest + YEAR_DAYS + 1, YEAR_DAYS)]


def scan(
    observed: ArrayLike,
    expected: ArrayLike,
    items: ArrayLike,
    *,
    draws: int,
    rng: np.random.Generator,
    longest: int = LONGEST,
    draw: Draw | None = None,
) -> Run | None:
    """
    Find the run of blocks that stands out most, and how often chance does as much.

    Parameters
    ----------
    observed, expected : array_like, (blocks,)
        As of `expected_by_block`, blocks in their order.
    items : array_like of int, (blocks,)
    draws : int
        At most; 20 times the families looked at over 0.05, so that a p-value can pass the adjustment.
    rng : Generator
    longest : int
        Blocks in a run at most; nor may a run hold more than half of what is expected.
    draw : callable, optional
        (rng, size) to failures as chance would deal them, (size, blocks); by default each falls on a block as expected.

    Returns
    -------
    Run or None
        None where no run has FEWEST_FAILURES failures.
    """
    o, e = np.asarray(observed, dtype=np.float64), np.asarray(expected, dtype=np.float64)
    check_same_length(observed=o, expected=e)
    total = float(o.sum())
    if total < FEWEST_FAILURES or len(o) < 2:
        return None
    ends = _ends(e, longest)
    found = _ratios(o[None, :], e, ends)
    best = int(np.argmax(found[0]))
    highest = float(found[0, best])
    if highest <= 0.0:
        return None
    first, last = int(ends[0][best]), int(ends[1][best]) - 1

    def as_expected(rng: np.random.Generator, size: int) -> Floats:
        return rng.multinomial(round(total), e / e.sum(), size=size).astype(np.float64)

    p = _share_as_high(highest, draw or as_expected, e, ends, draws=draws, rng=rng)
    run = slice(first, last + 1)
    return Run(
        first, last, float(o[run].sum()), float(e[run].sum()), int(np.asarray(items)[run].sum()), p, total
    )


def _ends(expected: Floats, longest: int) -> tuple[Ints, Ints]:
    """First block and the block after the last of every run allowed."""
    blocks = len(expected)
    first, after = np.meshgrid(np.arange(blocks), np.arange(1, blocks + 1), indexing="ij")
    heap = np.concatenate([[0.0], np.cumsum(expected)])
    length = after - first
    allowed = (length >= 1) & (length <= longest) & (heap[after] - heap[first] <= heap[-1] / 2.0)
    return first[allowed], after[allowed]


def _ratios(observed: Floats, expected: Floats, ends: tuple[Ints, Ints]) -> Floats:
    """Log likelihood ratio of each run, (draws, runs); 0 where it has fewer failures than expected, or too few."""
    heap = np.concatenate([np.zeros((len(observed), 1)), observed.cumsum(axis=1)], axis=1)
    aim = np.concatenate([[0.0], np.cumsum(expected)])
    o, e = heap[:, ends[1]] - heap[:, ends[0]], aim[ends[1]] - aim[ends[0]]
    # Most runs of most draws hold too few: only the others are worked out.
    draw, run = np.nonzero(o > np.maximum(e, FEWEST_FAILURES - 0.5)[None, :])
    seen, due, total = o[draw, run], np.maximum(e[run], 1e-12), heap[draw, -1]
    rest, rest_due = total - seen, np.maximum(total - due, 1e-12)
    ratio = seen * np.log(seen / due) + rest * np.log(np.maximum(rest, 1e-12) / rest_due)
    found = np.zeros(o.shape)
    found[draw, run] = ratio
    return found


def _share_as_high(
    highest: float,
    draw: Draw,
    expected: Floats,
    ends: tuple[Ints, Ints],
    *,
    draws: int,
    rng: np.random.Generator,
) -> float:
    made, as_high, size = 0, 0, 20
    while made < draws and as_high < _ENOUGH:
        size = min(size, draws - made)
        as_high += int((_ratios(draw(rng, size), expected, ends).max(axis=1) >= highest - 1e-9).sum())
        made += size
        size = min(2 * size, max(20, _AT_ONCE * 1000 // max(1, len(ends[0]))))
    return as_high / made if as_high >= _ENOUGH else (as_high + 1) / (made + 1)
