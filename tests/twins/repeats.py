"""Slow and plain: is the machine called out again after a job that ended fixed (measure book, section 5)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from tests.twins.estimates import Followed, aalen_johansen, effective_n, sample_of_share, wilson
from tests.twins.log import Job
from tests.twins.machines import Machine, value_of

SAME, OTHER, REMOVED = 1, 2, 3
# A wrong diagnosis left the fault where it was.
SAYS_SAME = ("same fault", "wrong diagnosis")


@dataclass(frozen=True)
class Return:
    """The first later report on the machine of an index job."""

    job: Job
    days: int
    is_same: bool


def is_same_fault(index: Job, later: Job) -> bool:
    """Whether the later job shares the symptom or a worked part, or says that it is a return."""
    said = later.get("return_of") == index.key or later.get("return_reason") in SAYS_SAME
    return said or bool(index.symptoms & later.symptoms) or bool(set(index.works) & set(later.works))


def first_return(index: Job, machine: Machine) -> Return | None:
    """The first fault job reported after the index job was finished, unless a more recent index job stands between."""
    later = [
        j
        for j in machine.jobs
        if j.is_fault and j is not index and j.reported_at and j.reported_at > index.finished_at
    ]
    if not later:
        return None
    following = min(later, key=lambda j: (j.reported_at, j.number))
    before = [j for j in machine.jobs if j.is_index and j.finished_at < following.reported_at]
    latest = max(before, key=lambda j: (j.finished_at, j.number))
    if latest is not index:
        return None
    gap = (following.reported_on - index.finished_on).days
    return Return(following, gap, is_same_fault(index, following))


def followed(index: Job, machine: Machine, end: date) -> tuple[int, int]:
    """Days followed and how it ended: same fault, other fault, removed, or still running (0)."""
    last = (end - timedelta(days=1) - index.finished_on).days
    ends = [(last, 9, 0)]
    if back := first_return(index, machine):
        ends.append((back.days, 0, SAME if back.is_same else OTHER))
    if machine.ended_on and machine.ended_on >= index.finished_on:
        ends.append(((machine.ended_on - index.finished_on).days, 1, REMOVED))
    days, _, how = min(end for end in ends if end[0] <= last)
    return days, how


def repeat_visits(
    jobs: Sequence[Job],
    machines: dict[tuple[str, ...], Machine],
    start: date,
    end: date,
    *,
    days: int = 30,
    same_fault: bool = False,
    by: str = "",
) -> dict[tuple[str, ...], dict[str, Any]]:
    """Probability of a return by day `days`, with its counts, by group."""
    index = [j for j in jobs if j.is_index and j.machine is not None and start <= j.finished_on < end]
    answer = {}
    for group in sorted({value_of(j, machines, by) for j in index}):
        mine = [j for j in index if value_of(j, machines, by) == group]
        ends = [(j, *followed(j, machines[j.machine], end)) for j in mine]
        answer[(group,) if by else ()] = _row(ends, end, days, (SAME,) if same_fault else (SAME, OTHER))
    return answer


def _row(
    ends: Sequence[tuple[Job, int, int]], end: date, days: int, wanted: tuple[int, ...]
) -> dict[str, Any]:
    records = [Followed(d, 1 if how in wanted else 2 if how else 0, j.machine) for j, d, how in ends]
    curve = aalen_johansen(records, days)
    n = effective_n(curve)
    low, high = wilson(n * float(curve.probability), n)
    sample = sample_of_share(n, low, high, curve.units)
    seen = [r.ended == 1 and r.days <= days for r in records]
    could = [j.finished_on + timedelta(days=days) < end for j, _, _ in ends]
    return {
        "value": None if sample == "too few" else float(curve.probability),
        "low": low,
        "high": high,
        "numerator": sum(seen),
        "denominator": len(records),
        "sample": sample,
        "mature_numerator": sum(s and c for s, c in zip(seen, could, strict=True)),
        "mature_denominator": sum(could),
    }
