"""Slow and plain: the share of jobs that ended fixed, and what stopped the rest."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from datetime import date
from typing import Any

from tests.twins.estimates import Followed, aalen_johansen, effective_n, sample_of_share, wilson
from tests.twins.log import Job
from tests.twins.machines import Machine, value_of

UNDECIDED = ("", "unknown", "open", "return booked", "awaiting customer")


def share(hits: Sequence[bool], units: Sequence[Hashable]) -> dict[str, Any]:
    """
    A proportion of jobs on these machines, with its interval and what its sample allows to say.

    It is a life curve on whose day 0 everything has been decided.
    """
    of = len(hits)
    if of == 0:
        return {
            "value": None,
            "low": 0.0,
            "high": 1.0,
            "numerator": 0,
            "denominator": of,
            "sample": "too few",
        }
    curve = aalen_johansen([Followed(0, int(hit), unit) for hit, unit in zip(hits, units, strict=True)], 0)
    n = effective_n(curve)
    low, high = wilson(n * float(curve.probability), n)
    sample = sample_of_share(n, low, high, curve.units)
    value = None if sample == "too few" else sum(hits) / of
    return {
        "value": value,
        "low": low,
        "high": high,
        "numerator": sum(hits),
        "denominator": of,
        "sample": sample,
    }


def share_of(jobs: Sequence[Job], counts: Callable[[Job], bool]) -> dict[str, Any]:
    """Share of the jobs that count; a job on no known machine stands for itself."""
    return share([counts(job) for job in jobs], [job.machine or job.key for job in jobs])


def counted(jobs: Sequence[Job], start: date, end: date) -> list[Job]:
    """Fault jobs reported in the window."""
    return [job for job in jobs if job.is_fault and job.reported_on and start <= job.reported_on < end]


def fixed_share(
    jobs: Sequence[Job], machines: Mapping[tuple[str, ...], Machine], start: date, end: date, by: str = ""
) -> dict[tuple[str, ...], dict[str, Any]]:
    """Fixed over known outcomes, beside it over all jobs, by group."""
    inside = counted(jobs, start, end)
    answer = {}
    for group in sorted({value_of(job, machines, by) for job in inside}):
        mine = [job for job in inside if value_of(job, machines, by) == group]
        known = [job for job in mine if job.outcome not in UNDECIDED]
        over_all = share_of(mine, lambda job: job.outcome == "fixed")
        answer[(group,) if by else ()] = {
            **share_of(known, lambda job: job.outcome == "fixed"),
            "all_jobs": len(mine),
            "value_all": over_all["numerator"] / len(mine),
            "low_all": over_all["low"],
            "high_all": over_all["high"],
        }
    return answer


def barriers(jobs: Sequence[Job], start: date, end: date) -> dict[tuple[str, ...], dict[str, Any]]:
    """Share of the jobs not fixed by the reason recorded."""
    unfixed = [job for job in counted(jobs, start, end) if job.outcome not in (*UNDECIDED, "fixed")]
    reasons = {job.get("second_visit_reason") for job in unfixed}
    return {
        (reason,): share_of(unfixed, lambda job, r=reason: job.get("second_visit_reason") == r)
        for reason in reasons
    }
