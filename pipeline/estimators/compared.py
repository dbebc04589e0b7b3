"""
Two ways of doing a thing, compared where both were done: overlap weights over cells, drawn again by unit.

Within a cell (one kind of machine, age band, symptom, mechanism) n0 records stand on the one side and n1 on the other. A record
weighs the share of the other side in its cell, so that both sides have weight n0 n1 / (n0 + n1) in it: what the cells
are made of is then the same on both sides exactly, and a cell with nobody on one side has no weight. The target is the
population in which either could have been chosen.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy as np
from scipy import sparse

from pipeline.estimators.arrays import Floats, Ints, check_level, quotient
from pipeline.estimators.bootstrap import RESAMPLES, SEED, Estimate, unit_weights
from pipeline.estimators.resampled import EVENT, KINDS, ends_by_unit, incidence

# Numbers held at one time while resamples are added up.
BLOCK = 4_000_000


class Records(NamedTuple):
    """
    Records of both sides, arrays (records,) and (records, columns).

    Attributes
    ----------
    unit, side, cell : int
        Machine; 0 or 1; cell 0 … cells - 1.
    time, kind : int
        As for `resampled.ends_by_unit`.
    measured : float, (records, m)
        What is averaged over records; NaN where not known.
    per_event : float, (records, r)
        What is averaged over records with the event within the days; nothing elsewhere.
    """

    unit: Ints
    side: Ints
    cell: Ints
    time: Ints
    kind: Ints
    measured: Floats
    per_event: Floats


class Sides(NamedTuple):
    """
    Both sides, one row a resample.

    Attributes
    ----------
    probability : float, (resamples, 2)
    measured : float, (resamples, 2, m)
    per_event : float, (resamples, 2, r)
    """

    probability: Floats
    measured: Floats
    per_event: Floats


class Overlap(NamedTuple):
    """How much there is to compare: weight of each record, effective records of each side, records in shared cells."""

    weight: Floats
    effective: Floats
    shared: Ints
    events: Ints


def overlap(records: Records, cells: int, days: int) -> Overlap:
    """
    Weights of the records, and the effective number (Kish) on each side.

    References
    ----------
    Li, F., Morgan, K. L. & Zaslavsky, A. M. (2018), JASA 113, 390-400, with the cells as covariates; Kish, L. (1965), Survey
    Sampling, section 11.7. Both from memory.
    """
    n = np.zeros((2, cells))
    np.add.at(n, (records.side, records.cell), 1.0)
    weight = _shares(n)[records.side, records.cell]
    sums, squares = (np.bincount(records.side, weights=weight**power, minlength=2) for power in (1, 2))
    inside = weight > 0.0
    came = inside & (records.kind == EVENT) & (records.time <= days)
    shared, events = (
        np.bincount(records.side[kept], minlength=2).astype(np.int64) for kept in (inside, came)
    )
    return Overlap(weight, quotient(sums**2, squares), shared, events)


def imbalance(side: Ints, has: Floats, weight: Floats) -> Floats:
    """
    Standardised difference of shares, side 0 less side 1; (columns,).

    Parameters
    ----------
    side : int, (records,)
    has : float, (records, columns)
        0 or 1.
    weight : float, (records,)

    References
    ----------
    Difference over the root of the mean of the two variances p (1 - p), those of the unweighted sides: Austin, P. C.
    (2009), Stat. Med. 28, 3083-3107, from memory.
    """
    plain = [has[side == s].mean(axis=0) for s in (0, 1)]
    spread = np.sqrt(sum(p * (1.0 - p) for p in plain) / 2.0)
    means = [quotient(weight[side == s] @ has[side == s], weight[side == s].sum()) for s in (0, 1)]
    return quotient(means[0] - means[1], spread)


def compare(
    records: Records,
    statistic: Callable[[Sides], Floats],
    *,
    cells: int,
    days: int,
    per_event: Floats | None = None,
    level: float = 0.95,
    resamples: int = RESAMPLES,
    seed: int = SEED,
) -> tuple[Sides, Estimate]:
    """
    Figures of both sides over the overlap, with percentile limits; machines are drawn with all their records.

    Weights are worked out anew in each resample.

    Parameters
    ----------
    records : Records
    statistic : callable
        Takes `Sides` and returns figures (resamples, figures).
    cells, days : int
        Number of cells; day by which the event is asked for.
    per_event : float, (2, r), optional
        In place of the means over events, where there are too few of them.
    level, resamples, seed
        As for `bootstrap_by_unit`.

    Returns
    -------
    Sides, Estimate
        The sides themselves (one row), and the figures with their limits.

    References
    ----------
    Efron, B. & Tibshirani, R. J. (1993), An Introduction to the Bootstrap, chapter 13.
    """
    check_level(level)
    sums = _Sums(records, cells, days)
    whole = sums.sides(np.ones((1, sums.units)), per_event, None)
    value = statistic(whole)[0]
    drawn = [
        statistic(sums.sides(weights, per_event, whole))
        for block in unit_weights(sums.units, resamples, seed)
        for weights in _pieces(block, sums.width)
    ]
    ends = [(1.0 - level) / 2.0, (1.0 + level) / 2.0]
    low, high = np.quantile(np.concatenate(drawn), ends, axis=0, method="weibull")
    return whole, Estimate(value, low, high)


class _Sums:
    """Sums over units by side and cell, and what follows from them."""

    def __init__(self, records: Records, cells: int, days: int) -> None:
        names, unit = np.unique(records.unit, return_inverse=True)
        unit = unit.reshape(-1)
        self.units, self.cells, self.days = len(names), cells, days
        slot = records.side * cells + records.cell
        slots = 2 * cells
        self.ends = ends_by_unit(
            unit, slot, records.time, records.kind, units=self.units, slots=slots, days=days
        )
        known = np.isfinite(records.measured)
        came = ((records.kind == EVENT) & (records.time <= days))[:, None]
        self.m, self.r = records.measured.shape[1], records.per_event.shape[1]
        totals = np.hstack(
            [
                np.ones((len(unit), 1)),
                np.where(known, records.measured, 0.0),
                known,
                came * records.per_event,
                came,
            ]
        )
        self.k = totals.shape[1]
        at = np.arange(len(unit))
        columns = (slot[:, None] * self.k + np.arange(self.k)).ravel()
        self.totals = sparse.csr_matrix(
            (totals.ravel(), (unit[at].repeat(self.k), columns)), shape=(self.units, slots * self.k)
        )
        self.width = slots * ((days + 1) * KINDS + self.k)

    def sides(self, weights: Floats, per_event: Floats | None, whole: Sides | None) -> Sides:
        """Both sides of each resample; where one knows nothing of a mean, that of all units stands in."""
        totals = (weights @ self.totals).reshape(-1, 2, self.cells, self.k)
        ends = (weights @ self.ends).reshape(-1, 2, self.cells, (self.days + 1) * KINDS)
        share = _shares(totals[..., 0])
        total = np.einsum("bsc,bsck->bsk", share, totals)
        by_day = np.einsum("bsc,bscd->bsd", share, ends).reshape(-1, 2, self.days + 1, KINDS)
        m, r = self.m, self.r
        means = _means(
            total[..., 1 : 1 + m], total[..., 1 + m : 1 + 2 * m], whole.measured if whole else None
        )
        each = _means(
            total[..., 1 + 2 * m : 1 + 2 * m + r],
            total[..., 1 + 2 * m + r :],
            whole.per_event if whole else None,
        )
        if per_event is not None:
            each = np.broadcast_to(per_event, each.shape)
        return Sides(incidence(by_day, total[..., 0]), means, each)


def _means(total: Floats, count: Floats, otherwise: Floats | None) -> Floats:
    means = quotient(total, count)
    return means if otherwise is None else np.where(count > 0.0, means, otherwise)


def _shares(n: Floats) -> Floats:
    """Of each side and cell, the share of the other side in the cell; (..., 2, cells)."""
    return quotient(n[..., ::-1, :], n.sum(axis=-2, keepdims=True))


def _pieces(weights: Floats, width: int) -> Iterator[Floats]:
    rows = max(1, BLOCK // width)
    for first in range(0, len(weights), rows):
        yield weights[first : first + rows]
