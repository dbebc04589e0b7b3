"""Whether several hands do one thing alike: returns observed less expected by whoever did it, dealt anew."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pipeline.estimators.arrays import check_same_length, ints_of

DRAWS, SEED = 2000, 12
FEWEST_EACH = 10  # jobs of a hand before it is looked at
FEWEST_HANDS = 2


def differ_p(hand: ArrayLike, stratum: ArrayLike, returned: ArrayLike, followed: ArrayLike) -> float | None:
    """
    Permutation p-value that the hands differ in returns, within strata of like jobs.

    Parameters
    ----------
    hand, stratum : array_like of int, (jobs,)
        Hands 0 …; jobs of one stratum are alike.
    returned : array_like of bool, (jobs,)
    followed : array_like of float, (jobs,)
        What each job is expected to return, up to a factor: its chance over the days it was followed.

    Returns
    -------
    float or None
        None where fewer than FEWEST_HANDS hands have FEWEST_EACH jobs. The sum over hands of (O - E)^2 / E is held against
        that of returns dealt anew within strata, with the follow-up that goes with them. Edgington (1995), Randomization
        Tests.
    """
    who, kind = ints_of("hand", hand, at_least=0), ints_of("stratum", stratum, at_least=0)
    back, due = np.asarray(returned, dtype=np.float64), np.asarray(followed, dtype=np.float64)
    check_same_length(hand=who, stratum=kind, returned=back, followed=due)
    counts = np.bincount(who)
    enough = counts >= FEWEST_EACH
    inside = enough[who]
    if enough.sum() < FEWEST_HANDS or not back[inside].any():
        return None
    who, kind, back, due = who[inside], kind[inside], back[inside], due[inside]
    rate = np.bincount(kind, back) / np.maximum(np.bincount(kind, due), 1e-12)
    residual, expected = back - rate[kind] * due, rate[kind] * due

    def apart(order: np.ndarray) -> float:
        o, e = np.bincount(who, residual[order]), np.bincount(who, expected[order])
        return float((o**2 / np.maximum(e, 0.5))[np.bincount(who) > 0].sum())

    seen = apart(np.arange(len(who)))
    rng = np.random.default_rng(SEED)
    as_far = 0
    in_strata = np.argsort(kind, kind="stable")
    for _ in range(DRAWS):
        dealt = np.empty(len(who), dtype=np.int64)
        # Random order within each stratum: sort by stratum, then by a random number.
        dealt[in_strata] = np.lexsort((rng.random(len(who)), kind))
        as_far += apart(dealt) >= seen - 1e-9
    return (as_far + 1) / (DRAWS + 1)
