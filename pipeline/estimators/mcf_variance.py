"""Robust variance of a mean cumulative function, at every age, in one pass over machines, events and ages."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from pipeline.estimators.arrays import Floats, Ints, quotient, tally
from pipeline.estimators.segments import running_sum


class Steps(NamedTuple):
    """
    What happened, laid out for adding up.

    Attributes
    ----------
    offsets : int, (groups + 1,)
    group : int, (rows,)
    at_risk : float, (rows,)
    amount : float, (rows,)
        Counted events or cost on each row (0 on a row that is not counted).
    unit_group, first, past : int, (units,)
        Group of each machine; first row it is at risk on; first row it is no longer at risk on. Both may be
        one past the group's last row.
    event_unit, event_row : int, (events,)
        Sorted by machine and row.
    event_amount : float, (events,)
    """

    offsets: Ints
    group: Ints
    at_risk: Floats
    amount: Floats
    unit_group: Ints
    first: Ints
    past: Ints
    event_unit: Ints
    event_row: Ints
    event_amount: Floats


def robust_variance(steps: Steps) -> Floats:
    """
    Lawless and Nadeau's variance at each row; (rows,).

    Var M(t) = sum over machines of (sum over ages s up to t of Y(s)/n(s) (dN(s) - d(s)/n(s)))**2.
    With Q(t) = sum of d/n**2 and E(t) a machine's own sum of amount/n, a machine that entered at e and left
    at x adds (E(t) - Q(min(t, x)) + Q(e))**2. Multiplied out, every sum over machines is a running sum over
    ages: what machines still there add changes with Q(t), what those that left add stays as it was.

    References
    ----------
    Lawless, J. F. & Nadeau, C. (1995), Technometrics 37, 158-168, equation (2.4).
    """
    rows = len(steps.group)
    q = running_sum(quotient(steps.amount, steps.at_risk**2), steps.offsets)
    padded = np.append(q, 0.0)
    start = steps.offsets[steps.unit_group]
    q_in = np.where(steps.first > start, padded[steps.first - 1], 0.0)
    q_out = np.where(steps.past > start, padded[steps.past - 1], 0.0)

    share = quotient(steps.event_amount, steps.at_risk[steps.event_row])
    units = np.arange(len(steps.unit_group) + 1)
    own = running_sum(share, np.searchsorted(steps.event_unit, units).astype(np.int64))
    own_total = tally(steps.event_unit, len(steps.unit_group), share)

    def at_events(values: Floats) -> Floats:
        return running_sum(tally(steps.event_row, rows, values), steps.offsets)

    def since(position: Ints, values: Floats) -> Floats:
        is_inside = position < steps.offsets[steps.unit_group + 1]
        return running_sum(tally(position[is_inside], rows, values[is_inside]), steps.offsets)

    def of_present(values: Floats) -> Floats:
        return since(steps.first, values) - since(steps.past, values)

    squares = at_events(own**2 - (own - share) ** 2)
    present_own = at_events(share) - since(steps.past, own_total)
    crossed = (
        q * present_own + since(steps.past, own_total * q_out) - at_events(share * q_in[steps.event_unit])
    )
    spread = q * q * of_present(np.ones_like(q_in)) - 2.0 * q * of_present(q_in) + of_present(q_in**2)
    spread += since(steps.past, (q_out - q_in) ** 2)
    return np.maximum(squares - 2.0 * crossed + spread, 0.0)
