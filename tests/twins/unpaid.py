"""Slow and plain: hours that nobody pays for, per 100 jobs (measure book, section 8)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from fractions import Fraction
from typing import Any

from tests.twins.estimates import sample_of_mean, sample_of_rate
from tests.twins.log import Job, Visit
from tests.twins.machines import Machine, value_of
from tests.twins.no_fault import is_no_fault

KINDS = ("no_access", "cancelled_at_door", "uncharged_no_fault", "own_guarantee")
BETTER_LAST = ("too few", "rough", "enough")


def charge(visit: Visit) -> Fraction | None:
    """What was charged; None where nothing is written."""
    return Fraction(visit.get("charge")) if visit.get("charge") else None


def minutes(visit: Visit, name: str) -> Fraction:
    """Minutes written, none being nothing."""
    return Fraction(visit.get(name) or 0)


def is_uncharged(job: Job) -> bool | None:
    """Whether a job without a finding went uncharged; None where nobody can say."""
    payer = job.get("payer")
    written = [c for visit in job.visits if (c := charge(visit)) is not None]
    if sum(written) > 0 or payer in ("maker warranty", "insurer"):
        return False
    return True if written or payer in ("own guarantee", "goodwill") else None


def kind_of(job: Job, visit: Visit) -> str | None:
    """Why nobody pays for a visit; None where somebody does."""
    outcome, is_free = visit.get("outcome"), (charge(visit) or 0) <= 0
    if outcome == "no access":
        kind = "no_access" if is_free else None
    elif outcome == "cancelled":
        set_out = visit.get("started_at") or minutes(visit, "travel_min") or minutes(visit, "hands_on_min")
        kind = "cancelled_at_door" if is_free and set_out else None
    elif not visit.attended:
        kind = None
    elif is_no_fault(job) and is_uncharged(job):
        kind = "uncharged_no_fault"
    else:
        kind = "own_guarantee" if (visit.get("payer") or job.get("payer")) == "own guarantee" else None
    return kind


def hours_of(job: Job) -> dict[str, Fraction]:
    """Unpaid hours of a job by kind."""
    hours = dict.fromkeys(KINDS, Fraction(0))
    for visit in job.visits:
        if kind := kind_of(job, visit):
            travel = 0 if job.get("job_kind") == "workshop" else minutes(visit, "travel_min")
            hours[kind] += (minutes(visit, "hands_on_min") + travel) / 60
    return hours


def unpaid_hours(
    jobs: Sequence[Job], machines: Mapping[tuple[str, ...], Machine], start: date, end: date, by: str = ""
) -> dict[tuple[str, ...], dict[str, Any]]:
    """Hours per 100 fault jobs reported in the window, by group."""
    inside = [job for job in jobs if job.is_fault and job.reported_on and start <= job.reported_on < end]
    answer = {}
    for group in sorted({value_of(job, machines, by) for job in inside}):
        mine = [hours_of(job) for job in inside if value_of(job, machines, by) == group]
        by_kind = {kind: sum((hours[kind] for hours in mine), Fraction(0)) for kind in KINDS}
        total, unpaid = sum(by_kind.values()), sum(any(hours.values()) for hours in mine)
        sample = min(sample_of_mean(len(mine)), sample_of_rate(unpaid), key=BETTER_LAST.index)
        answer[(group,) if by else ()] = {
            "value": None if sample == "too few" else float(100 * total / len(mine)),
            "numerator": float(total),
            "denominator": len(mine),
            "sample": sample,
            "unpaid_jobs": unpaid,
            **{f"hours_{kind}": float(100 * hours / len(mine)) for kind, hours in by_kind.items()},
            **{f"jobs_{kind}": sum(hours[kind] > 0 for hours in mine) for kind in KINDS},
        }
    return answer
