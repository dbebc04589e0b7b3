"""How much of the others' past a van may borrow: vans that do the same work borrow much, vans of their own kind little."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammaln

Floats = NDArray[np.float64]
# Worths looked at, in needs: from one, no likeness at all, to so many that all vans are the same.
WORTHS = np.logspace(0.0, 5.0, 51)


def pooled_worth(counts: ArrayLike) -> float:
    """
    What the shares of all vans together are worth to a single one, in needs of its own.

    Parameters
    ----------
    counts : array_like, (vans, parts)
        Needs of each part by van.

    Returns
    -------
    float
        The worth of greatest likelihood among WORTHS, where each van's needs are Dirichlet-multinomial about the shares of
        all: small where vans differ by more than chance, the largest where they do not.

    References
    ----------
    Mosimann, J. E. (1962), Biometrika 49, 65-82 (the compound multinomial; from memory).
    """
    seen = np.asarray(counts, dtype=np.float64)
    seen = seen[:, seen.sum(axis=0) > 0.0]
    if len(seen) < 2 or not seen.size:
        return float(WORTHS[-1])
    share, total = seen.sum(axis=0) / seen.sum(), seen.sum(axis=1)

    def likelihood(worth: float) -> float:
        prior = worth * share
        within = (gammaln(prior + seen) - gammaln(prior)).sum(axis=1)
        return float((gammaln(worth) - gammaln(worth + total) + within).sum())

    return float(WORTHS[int(np.argmax([likelihood(worth) for worth in WORTHS]))])
