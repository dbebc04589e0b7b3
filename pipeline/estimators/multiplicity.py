"""Many groups looked at: how many of the flagged ones may be false alarms."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pipeline.estimators.arrays import Floats, floats_of


def benjamini_hochberg(p: ArrayLike) -> Floats:
    """
    Adjusted p-values that control the false discovery rate.

    Flag the groups whose adjusted p-value is at most q: among the flagged, on average at most a share q is
    false. Give it every group that was looked at, not only the striking ones.

    Parameters
    ----------
    p : array_like, (tests,)
        p-values in [0, 1], independent or positively dependent.

    Returns
    -------
    array, (tests,)
        In the order given; each at least its p-value; ties stay ties; empty for no tests.

    Raises
    ------
    ValueError
        If a p-value is outside [0, 1] or the array is not flat.

    References
    ----------
    Benjamini, Y. & Hochberg, Y. (1995), JRSS B 57, 289-300; adjusted form: Yekutieli & Benjamini (1999).
    """
    values = floats_of("p", p, at_least=0.0)
    if values.ndim != 1:
        raise ValueError(f"p must be a flat array, but had {values.ndim} dimensions")
    if (values > 1.0).any():
        raise ValueError(f"p must be at most 1, but was {values[values > 1.0][0]:g}")
    tests = len(values)
    order = np.argsort(values, kind="stable")
    scaled = values[order] * tests / np.arange(1, tests + 1)
    adjusted = np.empty(tests)
    # From the largest down: a p-value is never judged harder than a larger one.
    adjusted[order] = np.minimum(np.minimum.accumulate(scaled[::-1])[::-1], 1.0)
    # p * n / n can come out a rounding below p.
    return np.maximum(adjusted, values)
