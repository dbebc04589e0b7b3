"""Slow and plain: estimates from individual records, in exact fractions where a fraction exists.

Nothing here knows the product. Sources: Wilson (1927) JASA 22:209; Garwood (1936) Biometrika 28:437;
Aalen & Johansen (1978) Scand J Statist 5:141; the infinitesimal jackknife is the derivative with respect to
case weights (Efron 1982), summed over the records of one unit before it is squared.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from scipy import stats

LEVEL = 0.95
Z = float(stats.norm.ppf(0.5 + LEVEL / 2))
ROUGH_FROM, ENOUGH_FROM, WIDEST = 10, 30, 0.30
ROUGH_EVENTS_FROM, ENOUGH_EVENTS_FROM = 3, 10


@dataclass(frozen=True)
class Followed:
    """One record: days followed, how it ended (0 still running, 1 the event, 2 a competing end), whose it is."""

    days: int
    ended: int
    unit: Hashable


@dataclass(frozen=True)
class Curve:
    """Probability of the event by a day, with what an interval needs."""

    probability: Fraction
    variance: Fraction
    at_risk: int
    known: int
    total: int
    units: int
    units_at_risk: int
    as_many_equal_units: Fraction


def wilson(x: float, n: float) -> tuple[float, float]:
    """Wilson interval of x out of n, both allowed to be fractional."""
    p, zz = x / n, Z * Z
    centre = (p + zz / (2 * n)) / (1 + zz / n)
    half = Z * math.sqrt(p * (1 - p) / n + zz / (4 * n * n)) / (1 + zz / n)
    return max(0.0, centre - half), min(1.0, centre + half)


def sample_of_share(n: float, low: float, high: float, units: int = ENOUGH_FROM) -> str:
    """How much a proportion's sample allows to say; `units` are the machines behind it."""
    if n < ROUGH_FROM:
        return "too few"
    return "rough" if n < ENOUGH_FROM or high - low > WIDEST or units < ENOUGH_FROM else "enough"


def sample_of_mean(n: int) -> str:
    """How much a mean's number of values allows to say: the limits of a proportion."""
    return "too few" if n < ROUGH_FROM else "rough" if n < ENOUGH_FROM else "enough"


def sample_of_rate(events: int) -> str:
    """How much a rate's number of events allows to say."""
    if events < ROUGH_EVENTS_FROM:
        return "too few"
    return "rough" if events < ENOUGH_EVENTS_FROM else "enough"


def garwood(events: int, years: float) -> tuple[float, float]:
    """Exact Poisson interval of a rate."""
    tail = (1 - LEVEL) / 2
    low = 0.0 if events == 0 else float(stats.chi2.ppf(tail, 2 * events)) / 2 / years
    return low, float(stats.chi2.ppf(1 - tail, 2 * events + 2)) / 2 / years


def rate_interval(per_unit: Sequence[tuple[int, float]]) -> tuple[float, float]:
    """
    Interval of sum(events)/sum(years) over (events, years) of each unit.

    Exact Poisson while no unit has two events or there are fewer than ten; else the by-unit sandwich on the
    logarithm, with m/(m-1) and Student's t for m units (Cameron & Miller 2015, J. Human Resources 50:317).
    """
    events = sum(d for d, _ in per_unit)
    years = math.fsum(t for _, t in per_unit)
    rate, units = events / years, len(per_unit)
    squares = math.fsum((d - rate * t) ** 2 for d, t in per_unit)
    if events < 10 or max(d for d, _ in per_unit) <= 1 or units == 1 or squares < 1e-9:
        return garwood(events, years)
    error = math.sqrt(units / (units - 1) * squares) / events
    factor = math.exp(float(stats.t.ppf(0.5 + LEVEL / 2, units - 1)) * error)
    return rate / factor, rate * factor


def aalen_johansen(records: Sequence[Followed], days: int, event: int = 1) -> Curve:
    """Probability of `event` by the end of day `days`; variance by the infinitesimal jackknife over units."""
    free, probability = Fraction(1), Fraction(0)
    free_slope = [Fraction(0)] * len(records)
    slope = [Fraction(0)] * len(records)
    for day in sorted({r.days for r in records if r.ended and r.days <= days}):
        at_risk = sum(r.days >= day for r in records)
        any_hazard = Fraction(sum(r.days == day and r.ended > 0 for r in records), at_risk)
        hazard = Fraction(sum(r.days == day and r.ended == event for r in records), at_risk)
        for i, r in enumerate(records):
            here = Fraction(r.days >= day)
            hazard_slope = (Fraction(r.days == day and r.ended == event) - hazard * here) / at_risk
            any_slope = (Fraction(r.days == day and r.ended > 0) - any_hazard * here) / at_risk
            slope[i] += free_slope[i] * hazard + free * hazard_slope
            free_slope[i] = free_slope[i] * (1 - any_hazard) - free * any_slope
        probability += free * hazard
        free *= 1 - any_hazard
    per_unit: dict[Hashable, Fraction] = defaultdict(Fraction)
    for r, s in zip(records, slope, strict=True):
        per_unit[r.unit] += s
    squares, units = sum((s * s for s in per_unit.values()), Fraction(0)), len(per_unit)
    counts = Counter(r.unit for r in records)
    equal = Fraction(len(records) ** 2, sum(n * n for n in counts.values()))
    if 1 < units < len(records):
        squares *= equal / (equal - 1)
    return Curve(
        probability,
        squares,
        at_risk=sum(r.days >= days for r in records),
        known=sum(r.days >= days or r.ended > 0 for r in records),
        total=len(records),
        units=units,
        units_at_risk=len({r.unit for r in records if r.days >= days}),
        as_many_equal_units=equal,
    )


def effective_n(curve: Curve) -> float:
    """
    Sample size of a binomial that would be as uncertain, kept between those at risk on the last day and all.

    Where units repeat, those at risk are counted as units, the variance is widened by (t/z)**2 for few units of equally many
    records, and a group of one unit is one witness. With nothing seen it is halfway between those at risk and all; with
    everything seen, those whose state is known.
    """
    f, repeats = curve.probability, curve.units < curve.total
    if f == 0:
        n = (curve.at_risk + curve.total) / 2
    elif f == 1:
        n = float(curve.known)
    elif curve.variance == 0:
        n = float(curve.total)
    else:
        n = float(f * (1 - f) / curve.variance)
        if repeats:
            degrees = max(float(curve.as_many_equal_units) - 1, 1.0)
            n /= (float(stats.t.ppf(0.5 + LEVEL / 2, degrees)) / Z) ** 2
    n = min(max(n, curve.units_at_risk if repeats else curve.at_risk), curve.total)
    return min(n, 1.0) if repeats and curve.units == 1 else n


def curve_steps(records: Sequence[Followed], event: int = 1) -> list[tuple[int, Fraction]]:
    """Days on which the event's probability steps up, and how high."""
    free, probability, steps = Fraction(1), Fraction(0), []
    for day in sorted({r.days for r in records if r.ended}):
        at_risk = sum(r.days >= day for r in records)
        probability += free * Fraction(sum(r.days == day and r.ended == event for r in records), at_risk)
        free *= 1 - Fraction(sum(r.days == day and r.ended > 0 for r in records), at_risk)
        steps.append((day, probability))
    return steps


def step_quantile(records: Sequence[Followed], share: Fraction) -> int | None:
    """First day by which the event's probability reaches a share; None when it never does."""
    return next((day for day, probability in curve_steps(records) if probability >= share), None)


def restricted_mean(records: Sequence[Followed], upper: int) -> Fraction:
    """Days until the event, each counted up to `upper`: the area above the event's curve, day by day."""
    steps = curve_steps(records)
    by_day = [max((f for day, f in steps if day <= at), default=Fraction(0)) for at in range(upper)]
    return sum((1 - f for f in by_day), Fraction(0))


def quantile(values: Sequence[float], share: Fraction) -> float:
    """The smallest value within which a share of them lies (Hyndman & Fan 1996, type 1)."""
    ordered = sorted(values)
    return next(v for at, v in enumerate(ordered, start=1) if Fraction(at, len(ordered)) >= share)
