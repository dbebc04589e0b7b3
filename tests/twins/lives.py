"""Slow and plain: how long a part lasts after a fix, and repairs a machine has had by an age (measure book, 3 and 4)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from tests.twins.estimates import (
    Followed,
    aalen_johansen,
    effective_n,
    sample_of_rate,
    sample_of_share,
    wilson,
)
from tests.twins.log import Job, day, moment
from tests.twins.machines import Machine
from tests.twins.part_rate import LIST, Stay, stay_of

AGAIN, REMOVED = 1, 2
CLEANING = ("clean", "free")
MIN_AT_RISK = 5
ENOUGH_AT_RISK = 20
YEAR = Fraction(1461, 4)


def said_of(job: Job, part: str, machine: Machine) -> str:
    """What was done to the part; a cleaning or freeing after an earlier one of the same piece is told apart."""
    action = job.works[part]
    before = sorted(
        (other.finished_at, other.number, other.works[part])
        for other in machine.jobs
        if other.is_index
        and part in other.works
        and (other.finished_at, other.number) < (job.finished_at, job.number)
    )
    done = [work for _, _, work in before]
    while "replace" in done:
        done = done[done.index("replace") + 1 :]
    return f"{action}, again" if action in CLEANING and set(done) & set(CLEANING) else action


def life_of(job: Job, part: str, machine: Machine, end: date) -> Followed:
    """Days to the next fault job on the same part, to the machine's end, or to the end of the window."""
    last = (end - timedelta(days=1) - job.finished_on).days
    later = [
        other.reported_on
        for other in machine.jobs
        if other.is_fault
        and part in other.works
        and other.reported_at
        and other.reported_at > job.finished_at
    ]
    ends = [(last, 9, 0)]
    ends += [((min(later) - job.finished_on).days, 0, AGAIN)] if later else []
    if machine.ended_on and machine.ended_on >= job.finished_on:
        ends.append(((machine.ended_on - job.finished_on).days, 1, REMOVED))
    days, _, how = min(one for one in ends if one[0] <= last)
    return Followed(days, how, machine.key)


def part_lives(
    machines: Mapping[tuple[str, ...], Machine], start: date, end: date, days: int
) -> dict[tuple[str, ...], dict[str, Any]]:
    """Probability that a part is worked on again by a day, by part and action."""
    lives: dict[tuple[str, str], list[Followed]] = {}
    for machine in machines.values():
        for job in machine.jobs:
            if job.is_index and start <= job.finished_on < end:
                for part in job.works:
                    group = part, said_of(job, part, machine)
                    lives.setdefault(group, []).append(life_of(job, part, machine, end))
    return {group: _row(records, days) for group, records in lives.items()}


def _row(records: Sequence[Followed], days: int) -> dict[str, Any]:
    curve = aalen_johansen(records, days)
    n = effective_n(curve)
    low, high = wilson(n * float(curve.probability), n)
    sample = sample_of_share(n, low, high, curve.units)
    if max(record.days for record in records) < days and curve.probability < 1:
        sample = "too few"
    return {
        "value": None if sample == "too few" else float(curve.probability),
        "low": low,
        "high": high,
        "numerator": sum(r.ended == AGAIN and r.days <= days for r in records),
        "denominator": len(records),
        "sample": sample,
    }


def origin_of(machine: Machine) -> date | None:
    """The day from which a machine's age is counted: installed, else made, else told."""
    listed = day((machine.listed or {}).get("installed_on", ""))
    said = [listed, *(day(machine.get(name)) for name in ("installed_on", "made_on"))]
    told = [
        job.reported_on - timedelta(days=round(Fraction(job.get("age_years")) * YEAR))
        for job in machine.jobs
        if job.get("age_years") and job.reported_on
    ]
    return next((d for d in (*said, *told) if d), None)


def repairs_by_age(
    machines: Mapping[tuple[str, ...], Machine], basis: str, start: date, end: date, first_on: date
) -> dict[tuple[str, ...], dict[str, Any]]:
    """Mean number of fault jobs by each whole year of age, added up age by age."""
    stays = []
    for machine in machines.values():
        stay, origin = stay_of(machine, basis, start, end, first_on=first_on), origin_of(machine)
        if stay and origin and origin <= stay.enter:
            stays.append((machine, stay, origin))
    watched = [((s.enter - o).days, (s.leave - o).days - 1) for _, s, o in stays]
    events = [age for machine, s, o in stays for age in ages_of(machine, s, o, basis)]
    oldest = max((last for _, last in watched), default=-1)
    many = [age for age in range(oldest + 1) if n_at(watched, age) >= MIN_AT_RISK]
    answer: dict[tuple[str, ...], dict[str, Any]] = {}
    for year in range(1, int(oldest / YEAR) + 2):
        limit = year * YEAR
        if many and limit > max(many[0] - 1, 0):
            if n_at(watched, int(limit)) < MIN_AT_RISK:
                break
            answer[(str(year),)] = _mean_by(
                watched, [age for age in events if many[0] <= age <= limit], limit
            )
    return answer


def n_at(watched: Sequence[tuple[int, int]], age: int) -> int:
    """Machines under observation on a day of their age."""
    return sum(first <= age <= last for first, last in watched)


def _mean_by(watched: Sequence[tuple[int, int]], events: Sequence[int], limit: Fraction) -> dict[str, Any]:
    """The sum over ages of events per machine watched; the line ends before an event with too few watched."""
    ends = [age for age in events if n_at(watched, age) < MIN_AT_RISK]
    counted = [age for age in events if not ends or age < min(ends)]
    sample = sample_of_rate(len(counted))
    if sample == "enough" and min(n_at(watched, age) for age in (*counted, int(limit))) < ENOUGH_AT_RISK:
        sample = "rough"
    return {
        "value": None
        if sample == "too few"
        else float(sum(Fraction(1, n_at(watched, age)) for age in counted)),
        "numerator": len(counted),
        "denominator": len(watched),
        "sample": sample,
        "at_risk": n_at(watched, int(limit)),
    }


def ages_of(machine: Machine, stay: Stay, origin: date, basis: str) -> list[int]:
    """Ages in days at which a machine under observation was reported with a fault."""
    return [
        (job.reported_on - origin).days
        for job in machine.jobs
        if job.is_fault
        and job.reported_on
        and stay.enter <= job.reported_on < stay.leave
        and not (basis != LIST and job is stay.entry_job)
        and moment(job.get("reported_at"))
    ]
