"""The past played again with another stock on the van: job by job, the stock running down until the next restock."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


def tours(van: ArrayLike, jobs_between_restocks: int) -> Ints:
    """
    The tour of each job: a van's first so many jobs, its next, and so on.

    Parameters
    ----------
    van : int, (jobs,)
        In the order in which the jobs took place.
    jobs_between_restocks : int
        Attended jobs of one van.

    Returns
    -------
    (jobs,) int
        Jobs with the same number lie between the same two restocks.
    """
    vans = np.asarray(van, dtype=np.int64)
    order = np.argsort(vans, kind="stable")
    before = np.arange(len(vans)) - _first(vans[order])
    number = np.zeros(len(vans), dtype=np.int64)
    number[order] = before // jobs_between_restocks
    # Vans stay apart: no van has more tours than there are jobs.
    return vans * (len(vans) + 1) + number


class Wanted(NamedTuple):
    """
    Needs in the order of the jobs, arrays (needs,).

    Attributes
    ----------
    job : int
        Position of the job, 0 … jobs - 1.
    part : int
        Position of the part, 0 … parts - 1; once a job.
    pieces : int
        At least 1.
    """

    job: Ints
    part: Ints
    pieces: Ints


def pieces_there(tour: ArrayLike, wanted: Wanted, stock: ArrayLike) -> Bools:
    """
    Whether each need found all its pieces on the van.

    A job takes what is there of a part, also when it is not enough: the rest comes with the second trip.

    Parameters
    ----------
    tour : int, (jobs,)
    wanted : Wanted
    stock : int, (parts,)
        Pieces on the van after each restock.

    Returns
    -------
    (needs,) bool
    """
    level = np.asarray(stock, dtype=np.int64)
    of_tour = np.asarray(tour, dtype=np.int64)[wanted.job]
    order = np.lexsort((wanted.job, wanted.part, of_tour))
    part, pieces = wanted.part[order], wanted.pieces[order]
    before = np.cumsum(pieces) - pieces
    used_before = before - before[_first(of_tour[order], part)]
    there = np.zeros(len(order), dtype=np.bool_)
    there[order] = level[part] - used_before >= pieces
    return there


def finished_first(tour: ArrayLike, wanted: Wanted, stock: ArrayLike, parts_decide: ArrayLike) -> Bools:
    """
    Whether the first visit ends each job with a stock.

    Parameters
    ----------
    tour, wanted, stock
        See `pieces_there`.
    parts_decide : bool, (jobs,)
        False for a first visit that failed for another reason: it stays failed.

    Returns
    -------
    (jobs,) bool
    """
    finished = np.array(parts_decide, dtype=np.bool_)
    finished[wanted.job[~pieces_there(tour, wanted, stock)]] = False
    return finished


def _first(*columns: Ints) -> Ints:
    """Of sorted rows, the place of the first row with the same values."""
    count = len(columns[0])
    new = np.zeros(count, dtype=np.bool_)
    new[:1] = True
    for column in columns:
        new[1:] |= column[1:] != column[:-1]
    return np.asarray(np.maximum.accumulate(np.where(new, np.arange(count), 0)), dtype=np.int64)
