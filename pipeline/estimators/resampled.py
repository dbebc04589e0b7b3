"""
Probability of an event by a day, over many resamples at once.

A record is only the day and kind of its end; a resample adds up the ends of the units it drew, and the curve follows from
the sums. So a figure composed of probabilities and means can be drawn again a thousand times in one piece of arithmetic.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy import sparse

from pipeline.estimators.arrays import Floats, check_same_length, floats_of, ints_of, quotient

# Kinds of end: the event asked for, anything else that ends the wait for it, and the end of the follow-up.
EVENT, COMPETING, LAST_SEEN = 0, 1, 2
KINDS = 3


def ends_by_unit(
    unit: ArrayLike, slot: ArrayLike, time: ArrayLike, kind: ArrayLike, *, units: int, slots: int, days: int
) -> sparse.csr_matrix:
    """
    Count each unit's ends by slot, day and kind.

    Parameters
    ----------
    unit, slot, time, kind : array_like of int, (records,)
        Place of the machine among `units`, of the group among `slots`, day of the end, kind (EVENT, COMPETING, LAST_SEEN).
    units, slots, days : int
        Ends after day `days` are not counted: such a record was at risk all the time.

    Returns
    -------
    csr_matrix (units, slots * (days + 1) * KINDS)
        Rows may be weighted and added up; `incidence` takes the sums reshaped to (..., days + 1, KINDS).

    Raises
    ------
    ValueError
        If lengths differ or a number is negative.
    """
    columns = {
        name: ints_of(name, given, at_least=0)
        for name, given in (("unit", unit), ("slot", slot), ("time", time), ("kind", kind))
    }
    check_same_length(**columns)
    is_in = columns["time"] <= days
    place = ((columns["slot"] * (days + 1) + columns["time"]) * KINDS + columns["kind"])[is_in]
    ones = np.ones(int(is_in.sum()))
    shape = (units, slots * (days + 1) * KINDS)
    return sparse.csr_matrix((ones, (columns["unit"][is_in], place)), shape=shape)


def incidence(ends: ArrayLike, n: ArrayLike) -> Floats:
    """
    Aalen-Johansen probability of the event by the last day.

    Parameters
    ----------
    ends : array_like (..., days + 1, KINDS)
        Weighted ends by day and kind; on one day events come before the ends of follow-ups.
    n : array_like (...)
        Weight of the records at the start.

    Returns
    -------
    array (...)
        0 where nobody was at risk.

    References
    ----------
    Aalen, O. O. & Johansen, S. (1978), Scand. J. Stat. 5, 141-150.
    """
    counted = floats_of("ends", ends)
    gone = counted.sum(axis=-1)
    at_risk = np.asarray(n, dtype=np.float64)[..., None] - (np.cumsum(gone, axis=-1) - gone)
    # Sums of weights may fall short of nought by a rounding when everybody has gone.
    at_risk = np.where(at_risk > 1e-9, at_risk, 0.0)
    stayed = np.cumprod(1.0 - np.minimum(quotient(gone - counted[..., LAST_SEEN], at_risk), 1.0), axis=-1)
    before = np.concatenate([np.ones_like(stayed[..., :1]), stayed[..., :-1]], axis=-1)
    return np.asarray((before * quotient(counted[..., EVENT], at_risk)).sum(axis=-1))
