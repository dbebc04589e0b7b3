"""Robust variance of a mean cumulative function, at every age, in one pass over machines, events and ages."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from pipeline.estimators.arrays import Floats, Ints, quotient, tally
from pipeline.estimators.segments import before, running_sum


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
    entered, left : int, (rows,)
        Machines at risk from that row on, and machines no longer at risk from that row on.
    first, past : int, (units,)
        Row from which each machine is at risk, and from which it no longer is; `rows` where there is none in its group.
    event_unit, event_row : int, (events,)
        Sorted by machine and row.
    event_amount : float, (events,)
    """

    offsets: Ints
    group: Ints
    at_risk: Floats
    amount: Floats
    entered: Ints
    left: Ints
    first: Ints
    past: Ints
    event_unit: Ints
    event_row: Ints
    event_amount: Floats


def robust_variance(steps: Steps, value: Floats) -> Floats:
    """
    Lawless and Nadeau's variance at each row, of the mean `value` there; (rows,).

    Var M(t) = sum over machines of (sum over ages s up to t of Y(s)/n(s) (dN(s) - d(s)/n(s)))**2.
    With Q(t) = sum of d/n**2 and E(t) a machine's own sum of amount/n, a machine that entered at e and left
    at x adds (E(t) - Q(min(t, x)) + Q(e))**2. Multiplied out, every sum over machines is a running sum over
    ages: what machines still there add changes with Q(t), what those that left add stays as it was. Q(e) and
    Q(x) are the same for all machines that came or left on one row, so most of it is counts; `own` is
    E(t) + Q(e).

    References
    ----------
    Lawless, J. F. & Nadeau, C. (1995), Technometrics 37, 158-168, equation (2.4).
    """
    rows, units = len(steps.group), len(steps.first)
    q = running_sum(quotient(steps.amount, steps.at_risk**2), steps.offsets)
    earlier = before(q, steps.offsets, 0.0)
    since_entry = np.append(earlier, 0.0)[steps.first]
    share = quotient(steps.event_amount, steps.at_risk[steps.event_row])
    ends = np.cumsum(np.bincount(steps.event_unit, minlength=units))
    starts = np.concatenate([[0], ends])
    own = running_sum(share, starts) + since_entry[steps.event_unit]
    at_events = tally(steps.event_row, rows, share * (2.0 * own - share))
    has_any = np.diff(starts) > 0
    at_end = since_entry
    at_end[has_any] = own[ends[has_any] - 1]
    at_end = tally(steps.past, rows + 1, at_end)[:-1]
    came = steps.entered * earlier
    fixed = at_events + came * earlier + (steps.left * earlier - 2.0 * at_end) * earlier
    of_present, unchanging = running_sum(np.column_stack([came - at_end, fixed]), steps.offsets).T
    spread: Floats = q * (q * steps.at_risk - 2.0 * (value + of_present)) + unchanging
    return np.maximum(spread, 0.0)
