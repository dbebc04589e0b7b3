"""
How many pieces to keep on the shelf while an order is on its way.

A rate that is itself uncertain (a gamma distribution) makes demand over a lead time negative binomial; a rate that is
known makes it Poisson. Ready rate and period fill are two things and have two names here.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class Demand(NamedTuple):
    """
    Pieces wanted over a time, arrays (parts,).

    Attributes
    ----------
    mean : float
        Pieces.
    shape : float
        Of the negative binomial: the larger, the nearer to Poisson; infinite for Poisson.
    """

    mean: Floats
    shape: Floats


def over_lead_time(pieces: ArrayLike, years: ArrayLike, lead_years: ArrayLike, prior: float = 0.5) -> Demand:
    """
    Demand over a lead time from pieces wanted in the past.

    Parameters
    ----------
    pieces, years : array_like, (parts,)
        Pieces wanted, and the years in which.
    lead_years : array_like, (parts,)
        How long an order takes.
    prior : float
        Shape of the gamma prior of the rate, with a rate of 0; one half is Jeffreys'.

    Returns
    -------
    Demand
        Mean (pieces + prior) / years * lead_years, shape pieces + prior.
    """
    shape = np.asarray(pieces, dtype=np.float64) + prior
    mean = shape / np.asarray(years, dtype=np.float64) * np.asarray(lead_years, dtype=np.float64)
    return Demand(mean, np.broadcast_to(shape, mean.shape).astype(np.float64))


def compound(
    jobs: ArrayLike,
    years: ArrayLike,
    pieces_a_job: ArrayLike,
    squares_a_job: ArrayLike,
    over_years: ArrayLike,
) -> Demand:
    """
    Pieces wanted over a time where a job may want several: the negative binomial with the same mean and variance.

    Parameters
    ----------
    jobs, years : array_like, (parts,)
        Jobs that wanted the part, and the years in which.
    pieces_a_job, squares_a_job : array_like, (parts,)
        Mean of the pieces that such a job wants, at least 1, and of their squares.
    over_years : array_like, (parts,)
        The time ahead.

    Returns
    -------
    Demand
        With one piece a job the same as `over_lead_time`; else wider: the variance of a compound sum is
        jobs ahead x squares a job, and mean squared / (jobs + 1/2) for the rate that is not known.
    """
    each = np.asarray(pieces_a_job, dtype=np.float64)
    single = over_lead_time(jobs, years, over_years)
    mean = single.mean * each
    lumps = np.asarray(squares_a_job, dtype=np.float64) / each - 1.0
    return Demand(mean, 1.0 / (lumps / mean + 1.0 / single.shape))


def poisson(mean: ArrayLike) -> Demand:
    """Demand at a known rate."""
    at = np.atleast_1d(np.asarray(mean, dtype=np.float64))
    return Demand(at, np.full(at.shape, np.inf))


def at_most(demand: Demand, pieces: ArrayLike) -> Floats:
    """Probability that no more than so many pieces are wanted; 0 for less than none."""
    level = np.asarray(pieces, dtype=np.float64)
    known = np.isinf(demand.shape)
    shape = np.where(known, 1.0, demand.shape)
    uncertain = stats.nbinom.cdf(level, shape, shape / (shape + demand.mean))
    return np.asarray(np.where(known, stats.poisson.cdf(level, demand.mean), uncertain), dtype=np.float64)


def ready_rate(demand: Demand, base_stock: ArrayLike) -> Floats:
    """Probability that a piece is there when the next one is wanted: P(D <= S - 1)."""
    return at_most(demand, np.asarray(base_stock) - 1)


def period_fill(demand: Demand, base_stock: ArrayLike) -> Floats:
    """Share of the pieces wanted over the time that the stock covers: E[min(D, S)] / E[D]; 1 where none is wanted."""
    level = np.asarray(base_stock, dtype=np.int64)
    covered = np.zeros(np.broadcast(demand.mean, level).shape)
    for piece in range(int(level.max(initial=0))):
        covered += np.where(piece < level, 1.0 - at_most(demand, piece), 0.0)
    return np.where(demand.mean > 0.0, covered / np.where(demand.mean > 0.0, demand.mean, 1.0), 1.0)


def smallest_level(demand: Demand, probability: ArrayLike) -> Ints:
    """
    Fewest pieces with at least a probability of being enough: the quantile of the demand.

    Parameters
    ----------
    demand : Demand
    probability : array_like, (parts,) or scalar
        0 … below 1; of a newsvendor, cost of being one short over that plus the cost of one too many.
    """
    aim = np.broadcast_to(np.asarray(probability, dtype=np.float64), demand.mean.shape)
    if ((aim < 0.0) | (aim >= 1.0)).any():
        raise ValueError("probability must be at least 0 and below 1")
    known = np.isinf(demand.shape)
    shape = np.where(known, 1.0, demand.shape)
    level = np.where(
        known,
        stats.poisson.ppf(aim, demand.mean),
        stats.nbinom.ppf(aim, shape, shape / (shape + demand.mean)),
    )
    return np.asarray(np.maximum(level, 0.0), dtype=np.int64)


def base_stock_for_ready_rate(demand: Demand, rate: ArrayLike) -> Ints:
    """Smallest base stock whose ready rate is at least so high."""
    return smallest_level(demand, rate) + 1


def ready_rate_ordering(demand: Demand, reorder_point: ArrayLike, least_order: ArrayLike) -> Floats:
    """
    Ready rate where so many pieces are ordered at once as soon as stock and orders fall to the reorder point.

    Parameters
    ----------
    demand : Demand
        Over the lead time.
    reorder_point, least_order : array_like of int, (parts,)
        At least 0; at least 1.

    Returns
    -------
    (parts,) float
        Mean over the positions reorder_point + 1 … reorder_point + least_order, which are equally likely (Hadley & Whitin
        1963, Analysis of Inventory Systems, 4-6; from memory). With a least order of 1, that of a base stock.
    """
    return _over_positions(ready_rate, demand, reorder_point, least_order)


def period_fill_ordering(demand: Demand, reorder_point: ArrayLike, least_order: ArrayLike) -> Floats:
    """Period fill where so many pieces are ordered at once; see `ready_rate_ordering`."""
    return _over_positions(period_fill, demand, reorder_point, least_order)


def reorder_point_for_ready_rate(demand: Demand, rate: ArrayLike, least_order: ArrayLike) -> Ints:
    """Smallest reorder point, at least 0, whose ready rate with a least order is at least so high."""
    aim = np.asarray(rate, dtype=np.float64)
    point = np.asarray(base_stock_for_ready_rate(demand, aim) - 1, dtype=np.int64)
    # A larger order lifts the stock, so the point is no higher than that of single pieces.
    while True:
        lower = np.maximum(point - 1, 0)
        can = (point > 0) & (ready_rate_ordering(demand, lower, least_order) >= aim)
        if not can.any():
            return point
        point = np.where(can, lower, point).astype(np.int64)


def _over_positions(
    figure: Callable[[Demand, ArrayLike], Floats], demand: Demand, point: ArrayLike, least: ArrayLike
) -> Floats:
    start, size = np.asarray(point, dtype=np.int64), np.asarray(least, dtype=np.int64)
    total = np.zeros(np.broadcast(demand.mean, start, size).shape)
    for step in range(1, int(size.max(initial=1)) + 1):
        total += np.where(step <= size, figure(demand, start + step), 0.0)
    return np.asarray(total / size, dtype=np.float64)


def critical_ratio(short: ArrayLike, over: ArrayLike) -> Floats:
    """Cost of one piece too few over that and the cost of one too many."""
    under, above = np.asarray(short, dtype=np.float64), np.asarray(over, dtype=np.float64)
    return np.asarray(under / (under + above), dtype=np.float64)


def expected_cost(demand: Demand, base_stock: ArrayLike, short: float, over: float) -> Floats:
    """Expected cost of pieces too few and too many at the end of the time."""
    level = np.asarray(base_stock, dtype=np.float64)
    covered = period_fill(demand, np.asarray(base_stock)) * demand.mean
    return short * (demand.mean - covered) + over * (level - covered)


def probability_of_none(demand: Demand) -> Floats:
    """Probability that not one piece is wanted."""
    return at_most(demand, 0)
