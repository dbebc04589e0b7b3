"""
What a fix earns once its returns are counted, and at which return rate cleaning stops paying.

Three verdicts that may differ, and are never mixed: the firm's (per job, or per hour where the diary is full), the
customer's, and the hours worked. Money per hour is a ratio of means, never a mean of ratios.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


class Fix(NamedTuple):
    """
    One fix, numbers or arrays of one shape; money in one currency, time in hours.

    Attributes
    ----------
    margin : float
        Charge less parts (G).
    hours : float
        On the machine and travelling (T).
    return_probability : float
        Within the guarantee (q).
    return_cost : float
        Direct cost of everything unpaid that one return starts, less what the customer pays for it (C).
    return_hours : float
        Hours of it (H).
    """

    margin: ArrayLike
    hours: ArrayLike
    return_probability: ArrayLike
    return_cost: ArrayLike
    return_hours: ArrayLike


def per_job(fix: Fix, hour_costs: float) -> Floats:
    """Net of a job: G - hT - q (C + hH)."""
    g, t, q, c, h = _arrays(fix)
    return np.asarray(g - hour_costs * t - q * (c + hour_costs * h))


def per_hour(fix: Fix) -> Floats:
    """Margin of an hour, returns and their hours counted: (G - qC) / (T + qH)."""
    g, t, q, c, h = _arrays(fix)
    return np.asarray((g - q * c) / (t + q * h))


def break_even_per_job(cleaning: Fix, replacing: Fix, hour_costs: float) -> Floats:
    """
    Return rate of cleaning below which a cleaned job nets more than a replaced one; the rate in `cleaning` is not used.

    May be below 0 (cleaning never nets more) or above 1 (it always does); infinite where a return costs nothing.
    """
    g_c, t_c, _, c_c, h_c = _arrays(cleaning)
    own = g_c - hour_costs * t_c
    return _rate(own - per_job(replacing, hour_costs), c_c + hour_costs * h_c)


def break_even_per_hour(cleaning: Fix, replacing: Fix) -> Floats:
    """Return rate of cleaning below which an hour of it earns more: (G_c - R T_c) / (C_c + R H_c), R of replacing."""
    g_c, t_c, _, c_c, h_c = _arrays(cleaning)
    rate = per_hour(replacing)
    return _rate(g_c - rate * t_c, c_c + rate * h_c)


def break_even_hours(cleaning: Fix, replacing: Fix) -> Floats:
    """Return rate of cleaning below which it takes fewer hours in all; infinite where its return takes none."""
    _, t_c, _, _, h_c = _arrays(cleaning)
    return _rate(hours_with_returns(replacing) - t_c, h_c)


def break_even_for_customer(
    price_cleaning: ArrayLike,
    price_replacing: ArrayLike,
    cost_of_return_cleaning: ArrayLike,
    cost_of_return_replacing: ArrayLike,
    return_probability_replacing: ArrayLike,
) -> Floats:
    """
    Return rate of cleaning below which the customer is better off with it; infinite where a return costs them nothing.

    Parameters
    ----------
    price_cleaning, price_replacing : float
    cost_of_return_cleaning, cost_of_return_replacing : float
        What one return costs the customer: being without the machine, and what is charged again.
    return_probability_replacing : float
    """
    p_c, p_r, x_c, x_r, q_r = (
        np.asarray(given, dtype=np.float64)
        for given in (
            price_cleaning,
            price_replacing,
            cost_of_return_cleaning,
            cost_of_return_replacing,
            return_probability_replacing,
        )
    )
    return _rate(p_r - p_c + q_r * x_r, x_c)


def hours_with_returns(fix: Fix) -> Floats:
    """Hours a fix takes in all, its returns among them: T + qH."""
    _, t, q, _, h = _arrays(fix)
    return np.asarray(t + q * h)


def _rate(ahead: ArrayLike, each: ArrayLike) -> Floats:
    """How many returns eat up a lead; infinite, in its direction, where a return costs nothing."""
    lead, cost = np.broadcast_arrays(np.asarray(ahead, dtype=np.float64), np.asarray(each, dtype=np.float64))
    never = np.where(lead > 0.0, np.inf, -np.inf)
    return np.asarray(np.divide(lead, cost, out=never, where=cost > 0.0))


def _arrays(fix: Fix) -> tuple[Floats, ...]:
    return tuple(np.asarray(part, dtype=np.float64) for part in fix)
