"""Slow and plain: the three clocks of a fix (measure book, section 6)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from tests.twins.estimates import Followed, quantile, restricted_mean, step_quantile
from tests.twins.log import Job

COMPETING = ("quote declined", "beyond economic repair", "referred")
UPPER_DAYS = 60


def fixed_jobs(jobs: Sequence[Job], start: date, end: date) -> list[Job]:
    """Fixed fault jobs by the day they were finished."""
    return [job for job in jobs if job.is_index and start <= job.finished_on < end]


def plain_times(values: Sequence[float]) -> dict[str, Any]:
    """Mean and quantiles of times that are all known; the mean of at least thirty, below that by the log-normal."""
    return {
        "denominator": len(values),
        "value": math.fsum(values) / len(values) if len(values) >= 30 else lognormal_mean(values),
        "median": quantile(values, 0.5),
        "p80": quantile(values, 0.8),
        "p90": quantile(values, 0.9),
    }


def lognormal_mean(values: Sequence[float]) -> float | None:
    """exp(m + s²/2) of the logarithms: Cox's estimate (Land 1972; Zhou & Gao 1997); None where it has no sense."""
    if len(values) < 2 or min(values) <= 0:
        return None
    logs = [math.log(v) for v in values]
    mean = math.fsum(logs) / len(logs)
    return math.exp(mean + math.fsum((x - mean) ** 2 for x in logs) / (len(logs) - 1) / 2)


def hands_on(jobs: Sequence[Job], start: date, end: date) -> dict[str, Any]:
    """Minutes on the machine of each fixed job that has any written down."""
    return plain_times([float(job.minutes) for job in fixed_jobs(jobs, start, end) if job.minutes is not None])


def visits(jobs: Sequence[Job], start: date, end: date) -> dict[str, Any]:
    """Attended visits of each fixed job."""
    return plain_times([float(sum(v.attended for v in job.visits)) for job in fixed_jobs(jobs, start, end)])


def restored_records(jobs: Sequence[Job], start: date, end: date) -> list[Followed]:
    """Days from report to fix; declined, beyond economic repair and referred compete, open ones still run."""
    records = []
    for job in jobs:
        if not (job.is_fault and job.reported_on and start <= job.reported_on < end):
            continue
        last = (end - timedelta(days=1) - job.reported_on).days
        finished = job.finished_on if job.finished_on and job.finished_on < end else None
        if finished is None:
            records.append(Followed(last, 0, job.key))
        elif job.outcome == "fixed" or job.outcome in COMPETING:
            records.append(Followed((finished - job.reported_on).days, 1 if job.outcome == "fixed" else 2, job.key))
    return records


def restored(jobs: Sequence[Job], start: date, end: date) -> dict[str, Any]:
    """Days without the machine: quantiles of the fix's own curve, mean of days up to sixty."""
    records = restored_records(jobs, start, end)
    return {
        "denominator": len(records),
        "value": float(restricted_mean(records, UPPER_DAYS)),
        "median": step_quantile(records, Fraction(1, 2)),
        "p80": step_quantile(records, Fraction(4, 5)),
    }
