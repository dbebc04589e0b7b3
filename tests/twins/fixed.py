"""Slow and plain: the share of jobs that ended fixed, and what stopped the rest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from tests.twins.estimates import sample_of_share, wilson
from tests.twins.log import Job
from tests.twins.machines import Machine, value_of

UNDECIDED = ("", "unknown", "open", "return booked", "awaiting customer")


def share(hits: int, of: int) -> dict[str, Any]:
    """A proportion with its interval and what its sample allows to say."""
    if of == 0:
        return {
            "value": None,
            "low": 0.0,
            "high": 1.0,
            "numerator": hits,
            "denominator": of,
            "sample": "too few",
        }
    low, high = wilson(hits, of)
    sample = sample_of_share(of, low, high)
    value = None if sample == "too few" else hits / of
    return {"value": value, "low": low, "high": high, "numerator": hits, "denominator": of, "sample": sample}


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
        fixed = sum(job.outcome == "fixed" for job in mine)
        known = sum(job.outcome not in UNDECIDED for job in mine)
        answer[(group,) if by else ()] = {
            **share(fixed, known),
            "all_jobs": len(mine),
            "value_all": fixed / len(mine),
            "low_all": wilson(fixed, len(mine))[0],
            "high_all": wilson(fixed, len(mine))[1],
        }
    return answer


def barriers(jobs: Sequence[Job], start: date, end: date) -> dict[tuple[str, ...], dict[str, Any]]:
    """Share of the jobs not fixed by the reason recorded."""
    unfixed = [job for job in counted(jobs, start, end) if job.outcome not in (*UNDECIDED, "fixed")]
    reasons = [job.get("second_visit_reason") for job in unfixed]
    return {(reason,): share(reasons.count(reason), len(reasons)) for reason in set(reasons)}
