"""
The shape of a power-law hazard where some lives are only known to have ended between two looks.

Beside what `power_shape` takes, such a life adds ln(exp(-H(after)) - exp(-H(by))), H(t) = (t / c)**b, and no
parameter is explicit any more. In a and b with H(t) = exp(a + b ln t) all of it but delayed entries is
concave, so Newton's steps, shortened where the likelihood would fall, find the top of every group at once.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from pipeline.estimators.arrays import Bools, Floats, Ints, quotient, tally
from pipeline.estimators.power_shape import LARGEST, MAX_STEPS, SMALLEST, Exposure, PowerFit

# A step on a and b smaller than this, as a share of them, ends the search.
CLOSE = 1e-9
# A likelihood with less than this share of its curvature in its flattest direction has no top there.
FLAT = 1e-10


class Between(NamedTuple):
    """Lives that ended after one look and by another: arrays (cells,); `after` 0 where nobody looked before."""

    group: Ints
    after: Floats
    by: Floats
    lives: Floats


class _Known(NamedTuple):
    """What does not change while one searches; times as ln(t / largest of the group)."""

    events: Floats
    mean_log: Floats
    at: Ints
    log_time: Floats
    weight: Floats
    seen: Ints
    # Where nobody looked before: 0, and no cumulative hazard.
    log_after: Floats
    is_after: Bools
    log_by: Floats
    lives: Floats


class _Top(NamedTuple):
    """Log-likelihood of each group (without the times of its events), slope (2, groups), curvature (3, groups)."""

    value: Floats
    slope: Floats
    curve: Floats


def fit_power_between(events: Floats, sum_log: Floats, exposure: Exposure, between: Between) -> PowerFit:
    """
    Fit all groups at once.

    Parameters
    ----------
    events, sum_log : array, (groups,)
        Number of ends whose time is known, and the sum of the logarithms of their times.
    exposure : Exposure
        Of all lives but those of `between`; of these only their delayed entries.
    between : Between

    Returns
    -------
    PowerFit
        Not fitted: a group whose likelihood has no maximum between the shapes 0.01 and 100, such as one in
        which every life had ended by its first look, or that was looked at at one age only.

    References
    ----------
    Lawless, J. F. (2003), Statistical Models and Methods for Lifetime Data, sections 2.4 and 5.2. Concave,
    because integrals of a log-concave density are log-concave (Prekopa 1973).
    """
    groups = len(events)
    largest = np.full(groups, -np.inf)
    np.maximum.at(largest, exposure.group, np.log(exposure.time))
    np.maximum.at(largest, between.group, np.log(between.by))
    largest[np.isinf(largest)] = 0.0
    is_after = between.after > 0.0
    log_after = np.log(np.where(is_after, between.after, 1.0)) - largest[between.group]
    known = _Known(
        events,
        quotient(sum_log, events) - largest,
        exposure.group,
        np.log(exposure.time) - largest[exposure.group],
        exposure.weight,
        between.group,
        np.where(is_after, log_after, 0.0),
        is_after,
        np.log(between.by) - largest[between.group],
        between.lives,
    )
    total = events + tally(known.seen, groups, known.lives)
    a, b, at, is_at_rest = _search(known, total)
    return _finish(a, b, at, (sum_log, largest, is_at_rest & (total > 0.0)))


def _search(known: _Known, total: Floats) -> tuple[Floats, Floats, _Top, Bools]:
    """Newton's steps, each group's halved until its likelihood does not fall; whether each came to rest."""
    groups = len(total)
    # From a constant hazard on, lives that ended between two looks taken as followed to the later one.
    followed = tally(known.at, groups, known.weight * np.exp(known.log_time))
    followed += tally(known.seen, groups, known.lives * np.exp(known.log_by))
    is_known = (total > 0.0) & (followed > 0.0)
    a = np.log(np.where(is_known, quotient(total, followed), 1.0))
    b, share = np.ones(groups), np.ones(groups)
    at = _top(known, a, b)
    for _ in range(MAX_STEPS):
        step_a, step_b = _newton(at)
        size = np.maximum(np.abs(step_a), np.abs(step_b))
        is_at_rest = size <= CLOSE * np.maximum(np.maximum(np.abs(a), np.abs(b)), 1.0)
        # A group that has run out of bounds holds no answer, and stays there.
        is_over = is_at_rest | (b > LARGEST) | (b < SMALLEST)
        if is_over.all():
            break
        to_a, to_b = (point + share * step for point, step in ((a, step_a), (b, step_b)))
        then = _top(known, to_a, to_b)
        is_better = ~is_over & (then.value >= at.value - 1e-13 * np.abs(at.value))
        a, b = np.where(is_better, to_a, a), np.where(is_better, to_b, b)
        at = _Top(*(np.where(is_better, new, old) for new, old in zip(then, at, strict=True)))
        share = np.where(is_better, 1.0, share / 2.0)
    return a, b, at, is_at_rest & (b <= LARGEST) & (b >= SMALLEST)


def _top(known: _Known, a: Floats, b: Floats) -> _Top:
    groups = len(a)
    # Far out a step is taken back; infinite and undefined values only say so.
    with np.errstate(all="ignore"):
        # Without events their part is nothing, whatever the shape.
        is_seen = known.events > 0.0
        value = np.where(is_seen, known.events * (np.log(b) + a + b * known.mean_log), 0.0)
        slope = np.stack([known.events, np.where(is_seen, known.events * (1.0 / b + known.mean_log), 0.0)])
        curve = np.stack([0.0 * a, 0.0 * a, np.where(is_seen, -known.events / b**2, 0.0)])
        gone = -known.weight * np.exp(a[known.at] + b[known.at] * known.log_time)
        value += tally(known.at, groups, gone)
        earlier = np.where(known.is_after, np.exp(a[known.seen] + b[known.seen] * known.log_after), 0.0)
        later = np.exp(a[known.seen] + b[known.seen] * known.log_by)
        more = later - earlier
        odds = 1.0 / np.expm1(more)
        value += tally(known.seen, groups, known.lives * (np.log(-np.expm1(-more)) - earlier))
        points = (
            (known.at, gone, known.log_time),
            (known.seen, -known.lives * (1.0 + odds) * earlier, known.log_after),
            (known.seen, known.lives * odds * later, known.log_by),
        )
        for place, weight, log_time in points:
            sums = [tally(place, groups, weight * log_time**power) for power in range(3)]
            slope += sums[:2]
            curve += sums
        tilt = later * known.log_by - earlier * known.log_after
        bend = known.lives * odds * (1.0 + odds)
        parts = (more * more, more * tilt, tilt * tilt)
        curve -= [tally(known.seen, groups, bend * part) for part in parts]
    return _Top(value, slope, curve)


def _newton(at: _Top) -> tuple[Floats, Floats]:
    """The step to the top of the parabola, or uphill where there is none."""
    (aa, ab, bb), (flattest, all_of_it) = -at.curve, _curvature(at)
    lacking = np.maximum(FLAT * all_of_it - flattest, 0.0)
    aa, bb = aa + 2.0 * lacking, bb + 2.0 * lacking
    determinant = aa * bb - ab * ab
    up_a, up_b = at.slope
    return quotient(bb * up_a - ab * up_b, determinant), quotient(aa * up_b - ab * up_a, determinant)


def _curvature(at: _Top) -> tuple[Floats, Floats]:
    """How much the likelihood falls in its flattest direction, and in both together."""
    aa, ab, bb = -at.curve
    both = np.abs(aa) + np.abs(bb)
    return (aa + bb - np.hypot(aa - bb, 2.0 * ab)) / 2.0, both


def _finish(a: Floats, b: Floats, at: _Top, given: tuple[Floats, Floats, Bools]) -> PowerFit:
    sum_log, largest, is_fitted = given
    flattest, both = _curvature(at)
    is_fitted = is_fitted & (flattest > FLAT * both)
    aa, ab, bb = -at.curve
    determinant = np.where(is_fitted, aa * bb - ab * ab, 1.0)
    is_fitted = is_fitted & (determinant > 0.0)
    shape = np.where(is_fitted, b, 1.0)
    # ln c = ln(largest) - a / b: its slope in (a, b) is (-1 / b, a / b**2).
    by_a, by_b = -1.0 / shape, a / shape**2
    var_scale = by_a**2 * bb - 2.0 * by_a * by_b * ab + by_b**2 * aa

    def answer(values: Floats) -> Floats:
        return np.where(is_fitted, values, np.inf)

    return PowerFit(
        answer(shape),
        answer(np.exp(np.where(is_fitted, largest - a / shape, 0.0))),
        answer(at.value - sum_log),
        answer(quotient(aa, determinant * shape**2)),
        answer(quotient(var_scale, determinant)),
        is_fitted,
    )
