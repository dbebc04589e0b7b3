"""How strong something unseen would have to be to turn a verdict over."""

from __future__ import annotations

import math


def unseen_ratio(probability: float, break_even: float) -> float | None:
    """
    Least risk ratio that an unseen difference needs, both with the choice made and with the return, to explain it away.

    The ratio by which the probability misses the break-even, R >= 1, could be made by something that was so and so many
    times as common on one side, and raised returns so and so many times, only if both are at least R + sqrt(R (R - 1)).

    Parameters
    ----------
    probability, break_even : float
        Of a return after cleaning; the one at which the verdict turns.

    Returns
    -------
    float or None
        At least 1; None where no return rate between 0 and 1 turns the verdict, or the rate is nought.

    References
    ----------
    VanderWeele, T. J. & Ding, P. (2017), Ann. Intern. Med. 167, 268-274 (the E-value, for a value other than none);
    from memory.
    """
    if not 0.0 < break_even < 1.0 or probability <= 0.0:
        return None
    ratio = max(probability / break_even, break_even / probability)
    return ratio + math.sqrt(ratio * (ratio - 1.0))
