"""One job, at most one of each part, restocked before the next: which parts to carry (Smith, Chambers & Shlifer 1980)."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray


class Kit(NamedTuple):
    """Positions of the parts to carry, and the expected cost a job."""

    parts: tuple[int, ...]
    cost: float


def kit_cost(carried: ArrayLike, probability: ArrayLike, holding: ArrayLike, penalty: float) -> float:
    """Holding of what is carried, and the penalty times the chance that the job needs something that is not."""
    inside = np.asarray(carried, dtype=np.bool_)
    p, hold = np.asarray(probability, dtype=np.float64), np.asarray(holding, dtype=np.float64)
    return float(hold[inside].sum() + penalty * (1.0 - np.prod(1.0 - p[~inside])))


def best_kit(probability: ArrayLike, holding: ArrayLike, penalty: float) -> Kit:
    """
    Parts with the least expected cost where a job needs each part independently.

    Parameters
    ----------
    probability : array_like, (parts,)
        That a job needs the part, above 0.
    holding : array_like, (parts,)
        Cost of carrying it through one job.
    penalty : float
        Cost of a job that cannot be finished.

    Returns
    -------
    Kit
        The best kit is a beginning of the parts in order of holding / probability; all beginnings are looked at, since
        the cost may fall again after a rise.

    References
    ----------
    Smith, S. A., Chambers, J. C. & Shlifer, E. (1980), Management Science 26, 232-239.
    """
    p, hold = np.asarray(probability, dtype=np.float64), np.asarray(holding, dtype=np.float64)
    order = np.argsort(hold / p, kind="stable")
    costs = prefix_costs(p[order], hold[order], penalty)
    size = int(np.argmin(costs))
    return Kit(tuple(sorted(int(part) for part in order[:size])), float(costs[size]))


def prefix_costs(p: NDArray[np.float64], hold: NDArray[np.float64], penalty: float) -> NDArray[np.float64]:
    """Expected cost of carrying the first 0, 1, … of the parts in the order given."""
    held = np.concatenate([[0.0], np.cumsum(hold)])
    complete = np.concatenate([np.cumprod((1.0 - p)[::-1])[::-1], [1.0]])
    costs: NDArray[np.float64] = held + penalty * (1.0 - complete)
    return costs
