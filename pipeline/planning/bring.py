"""
Which pieces to take to one job, known by its symptom, so that it is as likely as can be to end at the first visit.

A job ends when every piece it needs is there, so pieces are taken in bundles: what one kind of job still lacks. Each time
the bundle that adds most chance per piece is taken; every piece after that needs a new reason.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

# A bundle that adds less than this to the chance of finishing is left at home.
LEAST_GAIN = 0.02


class Bundle(NamedTuple):
    """
    Pieces taken together.

    Attributes
    ----------
    pieces : array, (parts,)
        More of each part than was taken before it.
    chance : float
        That the job can be finished with everything taken so far.
    """

    pieces: NDArray[np.int64]
    chance: float


def bundles(
    needs: ArrayLike, chance: ArrayLike, there: ArrayLike | None = None, least: float = LEAST_GAIN
) -> list[Bundle]:
    """
    Bundles in the order in which they are worth taking.

    Parameters
    ----------
    needs : array_like, (kinds of job, parts)
        Pieces that each kind of job needs; whole, 0 or more.
    chance : array_like, (kinds of job,)
        Of each; may add up to less than 1, the rest needs what nobody knows.
    there : array_like, (parts,) or None
        Pieces that are there already.
    least : float
        Least chance that a bundle must add.

    Returns
    -------
    list of Bundle
        Empty where nothing is worth taking.

    Raises
    ------
    ValueError
        If shapes do not fit, a need is negative, or chances are negative or above 1 together.
    """
    wanted, p = np.asarray(needs, dtype=np.int64), np.asarray(chance, dtype=np.float64)
    if wanted.ndim != 2 or p.shape != wanted.shape[:1]:
        raise ValueError(f"needs {wanted.shape} must be (kinds of job, parts) for chances {p.shape}")
    if (wanted < 0).any() or (p < 0.0).any() or p.sum() > 1.0 + 1e-9:
        raise ValueError("needs must not be negative, chances neither negative nor above 1 together")
    have = np.zeros(wanted.shape[1], np.int64) if there is None else np.array(there, dtype=np.int64)
    found: list[Bundle] = []
    while True:
        best = _best(wanted, p, have)
        if best is None or best[1] < least:
            return found
        have = have + best[0]
        found.append(Bundle(best[0], finishing(wanted, p, have)))


def finishing(needs: ArrayLike, chance: ArrayLike, there: ArrayLike) -> float:
    """Chance that everything a job needs is there."""
    wanted, p = np.asarray(needs, dtype=np.int64), np.asarray(chance, dtype=np.float64)
    return float(p[covered(wanted, there)].sum())


def covered(needs: ArrayLike, there: ArrayLike) -> NDArray[np.bool_]:
    """Kinds of job that what is there is enough for; (kinds of job,)."""
    return np.asarray((np.asarray(needs) <= np.asarray(there)).all(axis=1), dtype=np.bool_)


def _best(
    needs: NDArray[np.int64], p: NDArray[np.float64], have: NDArray[np.int64]
) -> tuple[NDArray[np.int64], float] | None:
    """Pieces that add most chance each, and the chance they add; ties by the fewer pieces, then by the order of the jobs."""
    missing = np.maximum(needs - have, 0)
    by_part, total = np.ascontiguousarray(missing.T), missing.sum(axis=1)
    before = float(p[total == 0].sum())
    found: tuple[NDArray[np.int64], float] | None = None
    rank = (0.0, 0.0)
    for job in np.flatnonzero(total):
        pieces = missing[job]
        parts = np.flatnonzero(pieces)
        # A kind of job ends too where it lacks these parts alone, and no more of each: other parts need not be looked at.
        lacks = by_part[parts]
        ends = (lacks <= pieces[parts, None]).all(axis=0) & (lacks.sum(axis=0) == total)
        gain = float(p[ends].sum()) - before
        each = gain / int(pieces.sum())
        if found is None or (each, -float(pieces.sum())) > rank:
            found, rank = (pieces, gain), (each, -float(pieces.sum()))
    return found
