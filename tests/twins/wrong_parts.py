"""Slow and plain: fixes after which another part cured the same symptom within 30 days (measure book, section 8)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from tests.twins.estimates import Followed, aalen_johansen, effective_n, sample_of_share, wilson
from tests.twins.log import REPEAT_DAYS, Job
from tests.twins.machines import Machine, value_of

CURED, LEFT, RUNNING = 1, 2, 0
Machines = Mapping[tuple[str, ...], Machine]


def symptoms(job: Job) -> set[str]:
    """All symptoms of a job."""
    return {row["symptom"] for row in job.rows if row.get("symptom")}


def cure_day(job: Job, part: str, machine: Machine, end: date) -> int | None:
    """Days to the first report of the same symptom that was then cured by another part and not by this one."""
    days = [
        (later.reported_on - job.finished_on).days
        for later in machine.jobs
        if later.is_index
        and later.reported_at
        and later.reported_at > job.finished_at
        and later.reported_on < end
        and symptoms(job) & symptoms(later)
        and later.works
        and part not in later.works
    ]
    return min((d for d in days if d <= REPEAT_DAYS), default=None)


def followed(job: Job, part: str, machine: Machine, end: date) -> Followed:
    """Days to that cure, to the machine's end, or to the end of the window."""
    last = (end - timedelta(days=1) - job.finished_on).days
    ends = [(last, 9, RUNNING)]
    if (cured := cure_day(job, part, machine, end)) is not None:
        ends.append((cured, 0, CURED))
    if machine.ended_on and machine.ended_on >= job.finished_on:
        ends.append(((machine.ended_on - job.finished_on).days, 1, LEFT))
    days, _, how = min(end for end in ends if end[0] <= last)
    return Followed(days, how, machine.key)


def wrong_part(
    jobs: Sequence[Job], machines: Machines, start: date, end: date, *by: str
) -> dict[tuple[str, ...], dict[str, Any]]:
    """Probability by group; `part_no` and `action` are those of the work, other columns those of the job."""
    groups: dict[tuple[str, ...], list[Followed]] = {}
    for job in jobs:
        # A fix without a report still is one: only what comes later needs one.
        if not (
            job.is_index and job.machine is not None and symptoms(job) and start <= job.finished_on < end
        ):
            continue
        for part, action in job.works.items():
            own = {"part_no": part, "action": action}
            key = tuple(own[name] if name in own else value_of(job, machines, name) for name in by)
            groups.setdefault(key, []).append(followed(job, part, machines[job.machine], end))  # type: ignore[index]
    return {key: _row(records) for key, records in groups.items()}


def _row(records: Sequence[Followed]) -> dict[str, Any]:
    curve = aalen_johansen(records, REPEAT_DAYS)
    n = effective_n(curve)
    low, high = wilson(n * float(curve.probability), n)
    is_short = max(r.days for r in records) < REPEAT_DAYS and curve.probability < 1
    sample = "too few" if is_short else sample_of_share(n, low, high, curve.units)
    return {
        "value": None if sample == "too few" else float(curve.probability),
        "low": low,
        "high": high,
        "numerator": sum(r.ended == CURED and r.days <= REPEAT_DAYS for r in records),
        "denominator": len(records),
        "sample": sample,
        "at_risk": curve.at_risk,
    }
