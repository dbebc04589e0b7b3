"""Slow and plain: the three clocks of a fix (measure book, section 6)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from tests.twins.estimates import Followed, quantile, restricted_mean, sample_of_mean, step_quantile
from tests.twins.log import Job

COMPETING = ("quote declined", "beyond economic repair", "referred")
UPPER_DAYS = 60
SHARES = {"median": Fraction(1, 2), "p80": Fraction(4, 5), "p90": Fraction(9, 10)}


def fixed_jobs(jobs: Sequence[Job], start: date, end: date) -> list[Job]:
    """Fixed fault jobs by the day they were finished."""
    return [job for job in jobs if job.is_index and start <= job.finished_on < end]


def row(value: float, values: int, quantiles: dict[str, float | None]) -> dict[str, Any]:
    """A mean with its quantiles; too few values give neither."""
    sample = sample_of_mean(values)
    said = {"value": value, **quantiles}
    if sample == "too few":
        said = dict.fromkeys(said)
    return {"denominator": values, "sample": sample, **said}


def plain_times(values: Sequence[float]) -> dict[str, Any]:
    """Mean and quantiles of times that are all known; nothing where there are none."""
    if not values:
        return {}
    quantiles = {name: quantile(values, share) for name, share in SHARES.items()}
    return row(math.fsum(values) / len(values), len(values), quantiles) | {"numerator": math.fsum(values)}


def are_slots(jobs: Sequence[Job]) -> bool:
    """Whether one value stands in more than half of at least twenty visits: slots, not the time taken."""
    written = [minutes for job in jobs for v in job.visits if (minutes := v.get("hands_on_min"))]
    return len(written) >= 20 and max(written.count(m) for m in written) * 2 > len(written)


def hands_on(jobs: Sequence[Job], start: date, end: date) -> dict[str, Any]:
    """Minutes on the machine of each fixed job that has any written down."""
    return plain_times(
        [float(job.minutes) for job in fixed_jobs(jobs, start, end) if job.minutes is not None]
    )


def visits(jobs: Sequence[Job], start: date, end: date) -> dict[str, Any]:
    """Attended visits of each fixed job."""
    return plain_times([float(sum(v.attended for v in job.visits)) for job in fixed_jobs(jobs, start, end)])


def restored_records(jobs: Sequence[Job], start: date, end: date) -> list[Followed]:
    """Days from report to fix; declined, beyond economic repair and referred compete, open ones still run."""
    records = []
    for job in jobs:
        if not (job.is_fault and job.reported_on and start <= job.reported_on < end):
            continue
        # A job that ended in some other way was no wait for a fix, also where it ended after the window.
        if job.finished_on and job.outcome not in ("fixed", *COMPETING):
            continue
        last = (end - timedelta(days=1) - job.reported_on).days
        if job.finished_on is None or job.finished_on >= end:
            records.append(Followed(last, 0, job.key))
        else:
            ended = 1 if job.outcome == "fixed" else 2
            records.append(Followed((job.finished_on - job.reported_on).days, ended, job.key))
    return records


def restored(jobs: Sequence[Job], start: date, end: date) -> dict[str, Any]:
    """
    Days without the machine: quantiles of the fix's own curve, mean of days up to sixty.

    The mean is that of the wait, however it ended: a customer who declined waits no longer.
    """
    records = restored_records(jobs, start, end)
    if not any(r.ended == 1 for r in records):
        return {}
    waits = [Followed(r.days, min(r.ended, 1), r.unit) for r in records]
    quantiles = {name: step_quantile(records, share) for name, share in SHARES.items()}
    return row(float(restricted_mean(waits, UPPER_DAYS)), len(records), quantiles)
