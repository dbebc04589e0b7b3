"""Slow and plain: first-visit completion (measure book, section 7)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from tests.twins.estimates import Followed, aalen_johansen, effective_n, sample_of_share, wilson
from tests.twins.fixed import share_of
from tests.twins.log import Job, Visit, moment
from tests.twins.machines import Machine, value_of
from tests.twins.repeats import SAME, followed

LEFT_OUT = ("", "unknown", "no fault found", "quote declined", "beyond economic repair", "referred")
NOT_HELD, COMPETES, RUNNING = 1, 2, 0
Machines = Mapping[tuple[str, ...], Machine]


def first_attended(job: Job) -> Visit | None:
    """The first visit at which somebody stood before the machine."""
    return next((visit for visit in job.visits if visit.attended), None)


def day_of(visit: Visit) -> date | None:
    """Day of a visit."""
    at = moment(visit.get("started_at")) or moment(visit.get("finished_at"))
    return at.date() if at else None


def strict_record(job: Job, machines: Machines, end: date, days: int) -> Followed:
    """
    One first visit: failed at once (day 0), or followed from day 1 on; not to be followed means censored on day 0.

    Returns later than `days` do not matter, so they may run on as seen.
    """
    unit = job.machine or job.key
    visit = first_attended(job)
    attended = [v for v in job.visits if v.attended]
    if visit.get("outcome") != "fixed" or len(attended) > 1:
        return Followed(0, NOT_HELD, unit)
    if job.machine is None or not job.is_index or job.finished_on >= end:
        return Followed(0, RUNNING, unit)
    lasted, how = followed(job, machines[job.machine], end)  # type: ignore[index]
    return Followed(lasted + 1, NOT_HELD if how == SAME else COMPETES if how else RUNNING, unit)


def strict(records: Sequence[Followed], days: int) -> dict[str, Any]:
    """Share that was done at the first visit and held."""
    curve = aalen_johansen(records, days + 1)
    n = effective_n(curve)
    low, high = wilson(n * float(curve.probability), n)
    is_short = max(r.days for r in records) < days + 1 and curve.probability < 1
    sample = "too few" if is_short else sample_of_share(n, low, high, curve.units)
    return {
        "value_strict": None if sample == "too few" else 1 - float(curve.probability),
        "low_strict": 1 - high,
        "high_strict": 1 - low,
        "sample_strict": sample,
    }


def first_visit(
    jobs: Sequence[Job], machines: Machines, start: date, end: date, *, days: int = 30, by: str = ""
) -> dict[tuple[str, ...], dict[str, Any]]:
    """Jobs that the first visit ended over those that needed a fix, by group."""
    inside = []
    for job in jobs:
        visit = first_attended(job)
        on = day_of(visit) if visit else None
        if job.is_fault and on and start <= on < end and visit.get("outcome") not in LEFT_OUT:
            inside.append(job)
    answer = {}
    for group in sorted({value_of(job, machines, by) for job in inside}):
        mine = [job for job in inside if value_of(job, machines, by) == group]
        done = share_of(mine, lambda job: first_attended(job).get("outcome") == "fixed")
        records = [strict_record(job, machines, end, days) for job in mine]
        answer[(group,) if by else ()] = {**done, **strict(records, days)}
    return answer
