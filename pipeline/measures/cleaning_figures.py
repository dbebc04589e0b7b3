"""The numbers behind clean or replace: what each side earns, where it turns, how sure that is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from pipeline.estimators.arrays import Floats
from pipeline.estimators.bootstrap import Estimate
from pipeline.estimators.compared import Overlap, Records, Sides
from pipeline.estimators.proportions import wilson
from pipeline.estimators.resampled import EVENT
from pipeline.estimators.sample import RATE_MIN_EVENTS
from pipeline.measures.comparable_jobs import CLEANED, REPLACED
from pipeline.measures.question import Question
from pipeline.measures.terms import Terms
from pipeline.measures.window import Bounds
from pipeline.planning.payoff import (
    Fix,
    break_even_for_customer,
    break_even_hours,
    break_even_per_hour,
    break_even_per_job,
    hours_with_returns,
    per_hour,
    per_job,
)
from pipeline.settings import LABOUR_CREDITED

MEASURED = ("margin", "hours", "price")
PER_RETURN = ("chain_cost", "chain_hours", "asked", "days_without")
# The four verdicts in the order of the figures; the break-even of each stands EVEN_AFTER places later.
FIRM, FULL, CUSTOMER, HOURS = "firm", "firm, diary full", "customer", "hours"
VERDICTS = (FIRM, FULL, CUSTOMER, HOURS)
EVEN_AFTER = len(VERDICTS)
# Beyond that a break-even is as good as infinite, which has no quantiles.
BEYOND = 1e9


@dataclass(frozen=True)
class Asked:
    """What holds for every row of one answer."""

    question: Question
    terms: Terms
    bounds: Bounds

    @property
    def hour_costs(self) -> float:
        """What an hour costs; the measure refuses where nobody said."""
        return self.terms.hour_costs or 0.0


def usual(records: Records, common: Overlap, days: int) -> Floats | None:
    """
    What one return costs where one side has hardly any; None where both have enough.

    That of both sides together; where there is no return at all, that of a replacement: its part, its hours, a day.
    """
    if common.events.min() >= RATE_MIN_EVENTS:
        return None
    came = (records.kind == EVENT) & (records.time <= days) & (common.weight > 0.0)
    if came.any():
        one = np.average(records.per_event[came], axis=0, weights=common.weight[came])
    else:
        margin, hours, price = np.nanmean(records.measured[records.side == REPLACED], axis=0)
        one = np.array([price - margin, hours, 0.0, 1.0])
    return np.tile(np.nan_to_num(one), (2, 1))


def _fixes(sides: Sides, asked: Asked) -> tuple[Fix, Fix]:
    """Cleaning and replacing; where labour is credited on a return, the customer pays for the new part after a cleaning."""
    margin, hours, price = (sides.measured[..., place] for place in range(len(MEASURED)))
    cost, more = sides.per_event[..., 0], sides.per_event[..., 1]
    credited = np.zeros_like(cost)
    if asked.terms.pricing == LABOUR_CREDITED:
        credited[:, CLEANED] = np.maximum(price[:, REPLACED] - price[:, CLEANED], 0.0)
    cleaning, replacing = (
        Fix(margin[:, s], hours[:, s], sides.probability[:, s], cost[:, s] - credited[:, s], more[:, s])
        for s in (CLEANED, REPLACED)
    )
    return cleaning, replacing


def figures(sides: Sides, asked: Asked) -> Floats:
    """Four differences in favour of cleaning, their four break-evens, and the two return probabilities."""
    cleaning, replacing = _fixes(sides, asked)
    price, asked_again, out = sides.measured[..., 2], sides.per_event[..., 2], sides.per_event[..., 3]
    if asked.terms.pricing == LABOUR_CREDITED:
        asked_again = asked_again.copy()
        asked_again[:, CLEANED] = np.maximum(price[:, REPLACED] - price[:, CLEANED], 0.0)
    burden = asked_again + (asked.terms.customer_day or 0.0) * out
    spent = price + sides.probability * burden
    h = asked.hour_costs
    found = np.column_stack(
        [
            per_job(cleaning, h) - per_job(replacing, h),
            per_hour(cleaning) - per_hour(replacing),
            spent[:, REPLACED] - spent[:, CLEANED],
            hours_with_returns(replacing) - hours_with_returns(cleaning),
            break_even_per_job(cleaning, replacing, h),
            break_even_per_hour(cleaning, replacing),
            break_even_for_customer(
                price[:, CLEANED],
                price[:, REPLACED],
                burden[:, CLEANED],
                burden[:, REPLACED],
                sides.probability[:, REPLACED],
            ),
            break_even_hours(cleaning, replacing),
            sides.probability[:, CLEANED],
            sides.probability[:, REPLACED],
        ]
    )
    limited: Floats = np.clip(found, -BEYOND, BEYOND)
    return limited


def earns_on_comebacks(whole: Sides, asked: Asked) -> bool:
    """Whether a return after cleaning would leave the firm money: no ground for advice."""
    cleaning, _ = _fixes(whole, asked)
    cost, more = (
        float(np.asarray(part).reshape(-1)[0]) for part in (cleaning.return_cost, cleaning.return_hours)
    )
    return cost + asked.hour_costs * more < 0.0


def returns(whole: Sides, found: Estimate, common: Overlap, level: float) -> dict[str, Any]:
    """Return probabilities with their ranges; of a side with hardly a return the range of its effective number."""
    answer: dict[str, Any] = {}
    for side, name, place in ((CLEANED, "cleaned", 8), (REPLACED, "replaced", 9)):
        q = float(whole.probability[0, side])
        n = float(common.effective[side])
        low, high = float(found.low[place]), float(found.high[place])
        if common.events[side] < RATE_MIN_EVENTS:
            low, high = (float(limit) for limit in wilson(n * q, n, level))
        answer |= {f"return_{name}": q, f"low_return_{name}": low, f"high_return_{name}": high}
        answer[f"returns_{name}"] = int(common.events[side])
    return answer


def with_unseen(
    found: Estimate, whole: Sides, returns: dict[str, Any], common: Overlap, asked: Asked
) -> Estimate:
    """Machines drawn again say nothing of returns that were not seen: the ranges of their probabilities do."""
    if common.events.min() >= RATE_MIN_EVENTS:
        return found
    low, high = found.low, found.high
    for c in ("low", "high"):
        for r in ("low", "high"):
            q = np.array([[returns[f"{c}_return_cleaned"], returns[f"{r}_return_replaced"]]])
            corner = figures(whole._replace(probability=q), asked)[0]
            low, high = np.minimum(low, corner), np.maximum(high, corner)
    return Estimate(found.value, low, high)
