"""
What a van should carry: as many jobs as possible finished at the first visit between two restocks.

A job needs a set of pieces, all of them or it takes a second trip. The stock runs down from job to job, so the job that
comes k-th finds a part only if the k jobs before it left enough: pieces used by k jobs are negative binomial (or Poisson),
parts independent of each other. Jobs counted, not pieces: job fill, not part fill.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
# Pieces of one part beyond which nothing is gained: the chance of needing more is below this.
NEGLIGIBLE = 1e-4
MOST_PIECES = 40


@dataclass(frozen=True)
class Needs:
    """
    What jobs need, as patterns: each a set of parts with pieces, and how often it comes.

    Attributes
    ----------
    share : float, (patterns,)
        Of all jobs.
    offsets : int, (patterns + 1,)
        Rows of pattern t are offsets[t] … offsets[t + 1] - 1.
    part, pieces : int, (rows,)
        Part 0 … parts - 1, each once a pattern, and pieces of it, at least 1.
    shape : float, (parts,)
        How sure the rate of a part is: pieces seen plus one half; infinite for a known rate.
    used : float, (parts,), optional
        Pieces of each part a job, where jobs that no stock can finish use it too; else what the patterns say.
    """

    share: Floats
    offsets: Ints
    part: Ints
    pieces: Ints
    shape: Floats
    used: Floats | None = None

    @property
    def parts(self) -> int:
        """Number of parts."""
        return len(self.shape)

    @property
    def pattern(self) -> Ints:
        """Pattern of each row."""
        return np.repeat(np.arange(len(self.share)), np.diff(self.offsets))

    @property
    def rate(self) -> Floats:
        """Pieces of each part a job."""
        if self.used is not None:
            return self.used
        pieces = self.share[self.pattern] * self.pieces
        return np.bincount(self.part, pieces, minlength=self.parts).astype(np.float64)


def needs_of(
    patterns: Sequence[tuple[float, dict[int, int]]], parts: int, shape: ArrayLike = np.inf
) -> Needs:
    """
    Needs from patterns written out.

    Parameters
    ----------
    patterns : sequence of (share, {part: pieces})
    parts : int
    shape : array_like, (parts,) or scalar
    """
    rows = [(part, pieces) for _, need in patterns for part, pieces in sorted(need.items())]
    sizes = [len(need) for _, need in patterns]
    columns = np.array(rows, dtype=np.int64).reshape(-1, 2)
    return Needs(
        np.array([share for share, _ in patterns], dtype=np.float64),
        np.concatenate([[0], np.cumsum(sizes)]).astype(np.int64),
        columns[:, 0],
        columns[:, 1],
        np.broadcast_to(np.asarray(shape, dtype=np.float64), (parts,)).copy(),
    )


class Tour:
    """
    Jobs between two restocks: how many of them end at the first visit with a given stock.

    Parameters
    ----------
    needs : Needs
    jobs : int
        Attended jobs between two restocks, those that need no part among them.
    """

    def __init__(self, needs: Needs, jobs: int) -> None:
        if jobs < 1:
            raise ValueError(f"jobs must be at least 1, but were {jobs}")
        self.needs, self.jobs = needs, jobs
        self.left = _chance_left(needs, jobs)  # (parts, jobs before, pieces left over)
        self.most = _most_useful(needs, self.left)
        self.pattern = needs.pattern

    def finished(self, stock: ArrayLike) -> float:
        """Expected jobs that needed parts and ended at the first visit, between two restocks."""
        return float(self.by_pattern(stock).sum())

    def by_pattern(self, stock: ArrayLike) -> Floats:
        """The same by pattern of need, (patterns,)."""
        factor = self.factors(np.asarray(stock, dtype=np.int64)[self.needs.part])
        whole = np.ones((len(self.needs.share), self.jobs))
        np.multiply.at(whole, self.pattern, factor)
        return np.asarray(self.needs.share * whole.sum(axis=1), dtype=np.float64)

    def factors(self, stock: Ints) -> Floats:
        """Chance that each row's pieces are still there for the job that comes k-th, (rows, jobs)."""
        return self.factors_of(np.arange(len(self.needs.part)), stock)

    def factors_of(self, rows: Ints, stock: Ints) -> Floats:
        """The same of some rows, with the stock of each row's part."""
        over = np.minimum(stock - self.needs.pieces[rows], self.left.shape[2] - 1)
        chance = self.left[self.needs.part[rows], :, np.maximum(over, 0)]
        return np.where((over >= 0)[:, None], chance, 0.0)

    @property
    def wanting(self) -> float:
        """Jobs that need parts, between two restocks: what could at most be finished."""
        return float(self.needs.share.sum() * self.jobs)


def _chance_left(needs: Needs, jobs: int) -> Floats:
    """P(pieces used by k jobs <= m), k = 0 … jobs - 1, m = 0 … enough."""
    rate = needs.rate
    top = int(
        np.clip(np.ceil(stats.poisson.ppf(1 - NEGLIGIBLE, rate.max(initial=0.0) * jobs)), 1, MOST_PIECES)
    )
    k, m = np.arange(jobs)[None, :, None], np.arange(top + 1)[None, None, :]
    mean = rate[:, None, None] * k
    known = np.isinf(needs.shape)[:, None, None]
    shape = np.where(np.isinf(needs.shape), 1.0, needs.shape)[:, None, None]
    uncertain = stats.nbinom.cdf(m, shape, shape / (shape + mean))
    return np.asarray(np.where(known, stats.poisson.cdf(m, mean), uncertain), dtype=np.float64)


def _most_useful(needs: Needs, left: Floats) -> Ints:
    """Pieces of each part beyond which a further one is worth nothing."""
    enough = (left[:, -1, :] < 1.0 - NEGLIGIBLE).sum(axis=1)
    most = np.zeros(needs.parts, dtype=np.int64)
    np.maximum.at(most, needs.part, needs.pieces)
    return np.asarray(most + enough, dtype=np.int64)
