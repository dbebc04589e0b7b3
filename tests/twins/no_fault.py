"""Slow and plain: jobs in which no fault was found, and whether their machines were back (measure book, section 8)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from tests.twins.estimates import Followed, aalen_johansen, effective_n, sample_of_share, wilson
from tests.twins.fixed import share_of
from tests.twins.log import Job
from tests.twins.machines import Machine, value_of
from tests.twins.repeats import is_same_fault
from tests.twins.visit_logs import OUTSIDE

BACK, COMPETES, RUNNING = 1, 2, 0
Machines = Mapping[tuple[str, ...], Machine]
NOBODY = {
    "value_repeat": None,
    "low_repeat": 0.0,
    "high_repeat": 1.0,
    "numerator_repeat": 0,
    "denominator_repeat": 0,
    "sample_repeat": "too few",
}


def has_outside_cause(job: Job) -> bool:
    """Whether something outside the machine was found and put right, or advice given on it."""
    return any(
        row.get("action") in ("correct installation", "advise")
        and (row.get("finding") in OUTSIDE or row.get("cause") in OUTSIDE)
        for row in job.rows
    )


def is_no_fault(job: Job) -> bool:
    """Whether the last attended visit found nothing, and nothing outside the machine was found."""
    return job.outcome == "no fault found" and not has_outside_cause(job)


def followed(job: Job, machine: Machine, end: date, *, same_fault: bool) -> Followed:
    """Days to the first later fault report of the machine, to its end, or to the end of the window."""
    last = (end - timedelta(days=1) - job.finished_on).days
    ends = [(last, 9, RUNNING)]
    later = [j for j in machine.jobs if j.is_fault and j.reported_at and j.reported_at > job.finished_at]
    if later:
        back = min(later, key=lambda j: (j.reported_at, j.number))
        counts = is_same_fault(job, back) or not same_fault
        ends.append(((back.reported_on - job.finished_on).days, 0, BACK if counts else COMPETES))
    if machine.ended_on and machine.ended_on >= job.finished_on:
        ends.append(((machine.ended_on - job.finished_on).days, 1, COMPETES))
    days, _, how = min(end for end in ends if end[0] <= last)
    return Followed(days, how, machine.key)


def repeats(records: Sequence[Followed], days: int) -> dict[str, Any]:
    """Probability that they were reported again."""
    if not records:
        return NOBODY
    curve = aalen_johansen(records, days)
    n = effective_n(curve)
    low, high = wilson(n * float(curve.probability), n)
    is_short = max(r.days for r in records) < days and curve.probability < 1
    sample = "too few" if is_short else sample_of_share(n, low, high, curve.units)
    return {
        "value_repeat": None if sample == "too few" else float(curve.probability),
        "low_repeat": low,
        "high_repeat": high,
        "numerator_repeat": sum(r.ended == BACK and r.days <= days for r in records),
        "denominator_repeat": len(records),
        "sample_repeat": sample,
    }


def no_fault_found(
    jobs: Sequence[Job],
    machines: Machines,
    start: date,
    end: date,
    *,
    days: int,
    same_fault: bool,
    by: str = "",
) -> dict[tuple[str, ...], dict[str, Any]]:
    """Jobs without a finding over attended jobs, by group; nothing where the log never says so."""
    faults = [job for job in jobs if job.is_fault]
    if not any(job.outcome == "no fault found" for job in faults):
        return {}
    inside = [j for j in faults if j.last_attended and j.reported_on and start <= j.reported_on < end]
    answer = {}
    for group in sorted({value_of(job, machines, by) for job in inside}):
        mine = [job for job in inside if value_of(job, machines, by) == group]
        nothing = [job for job in mine if is_no_fault(job)]
        records = [
            followed(job, machines[job.machine], end, same_fault=same_fault)  # type: ignore[index]
            for job in nothing
            if job.machine is not None and job.finished_on and job.finished_on < end
        ]
        outside = share_of(mine, has_outside_cause)
        answer[(group,) if by else ()] = {
            **share_of(mine, is_no_fault),
            **repeats(records, days),
            **{f"{name}_outside": outside[name] for name in ("value", "low", "high", "numerator", "sample")},
        }
    return answer
