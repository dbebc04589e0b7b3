"""Slow and plain: why the first visit was not enough (measure book, section 7)."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from typing import Any

from tests.twins.first_visits import LEFT_OUT, day_of, first_attended
from tests.twins.fixed import share_of
from tests.twins.log import Job, part_of

MISSING = ("needed not on van", "ordered", "faulty new")
Answer = dict[tuple[str, ...], dict[str, Any]]


def unfinished(jobs: Sequence[Job], start: date, end: date) -> list[Job]:
    """Fault jobs that needed a fix and were not ended by their first attended visit, in the window."""
    found = []
    for job in jobs:
        visit = first_attended(job)
        on = day_of(visit) if visit else None
        if not job.is_fault or on is None or not start <= on < end or visit.get("outcome") in LEFT_OUT:
            continue
        if visit.get("outcome") != "fixed" or visit is not job.last_attended:
            found.append(job)
    return found


def reason_of(job: Job) -> list[str]:
    """The reason of the first visit, else the one written anywhere."""
    return [first_attended(job).get("second_visit_reason") or job.get("second_visit_reason")]


def missing_of(job: Job) -> list[str]:
    """Parts that the first visit needed and did not have."""
    rows = [row for row in first_attended(job).rows if row.get("part_status") in MISSING]
    return sorted({part_of(row) for row in rows if part_of(row)}) or [""]


def wait_of(job: Job, end: date) -> int | None:
    """Days from the first visit to the finish, where it ended fixed in the window."""
    if not job.is_index or job.finished_on >= end:
        return None
    return (job.finished_on - min(d for d in (day_of(v) for v in job.visits if v.attended) if d)).days


def second_visits(jobs: Sequence[Job], start: date, end: date, split: Callable[[Job], list[str]]) -> Answer:
    """Share of each reason or part among those jobs, and half of their days of waiting."""
    inside = unfinished(jobs, start, end)
    answer: Answer = {}
    for key in {key for job in inside for key in split(job)}:
        mine = [job for job in inside if key in split(job)]
        waits = sorted(days for job in mine if (days := wait_of(job, end)) is not None)
        answer[(key,)] = {
            **share_of(inside, lambda job, k=key: k in split(job)),
            "waits": len(waits),
            "median_wait_days": waits[(len(waits) - 1) // 2] if waits else None,
        }
    silent = split is reason_of and all(reason_of(job) == [""] for job in inside)
    return {} if silent else answer
