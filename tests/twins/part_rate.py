"""Slow and plain: failures of a part per machine-year, day by day (measure book, section 2)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from tests.twins.estimates import rate_interval, sample_of_rate
from tests.twins.fixed import share_of
from tests.twins.log import REPEAT_DAYS, Job, day, days_of, part_of
from tests.twins.machines import Machine

YEAR = Fraction(1461, 4)
# Whole years of age, as the project bands them.
AGE_BANDS = (
    (0, 2, "0 to 2 years"),
    (2, 5, "2 to 5 years"),
    (5, 10, "5 to 10 years"),
    (10, 15, "10 to 15 years"),
    (15, 200, "15 years and over"),
)
LIST, SEEN, SHARES = "machine-list", "machines-seen", "shares"


@dataclass(frozen=True)
class Stay:
    """When a machine was under observation: first day, first day no longer, the job that brought it in."""

    enter: date
    leave: date
    entry_job: Job | None


def months_later(start: date, months: int) -> date:
    """The same day of a later month, or that month's last day."""
    year, month = divmod(start.year * 12 + start.month - 1 + months, 12)
    for number in range(start.day, 27, -1):
        try:
            return date(year, month + 1, number)
        except ValueError:
            continue
    return date(year, month + 1, start.day)


def stay_of(
    machine: Machine,
    basis: str,
    start: date,
    end: date,
    *,
    first_on: date | None = None,
    contact_months: int | None = None,
) -> Stay | None:
    """The days that count, or None."""
    ends = [end]
    if basis == LIST:
        if machine.listed is None:
            return None
        # A machine whose installation is not known is followed from the log's first day.
        enter, entry_job = day(machine.listed.get("installed_on", "")) or first_on or start, None
        ends += [machine.ended_on] if machine.ended_on else []
    else:
        entry_job = machine.jobs[0] if machine.jobs else None
        if entry_job is None or entry_job.finished_on is None:
            return None
        enter = entry_job.finished_on
        ends += [machine.ended_on] if machine.ended_on else []
        ends += [months_later(machine.last_contact_on, contact_months)] if contact_months else []
    stay = Stay(max(start, enter), min(ends), entry_job)
    return stay if stay.enter < stay.leave else None


def works_on(machine: Machine, part: str) -> list[Job]:
    """Jobs of any kind that worked on the part, in order of report."""
    return [job for job in machine.jobs if part in job.works and job.reported_on]


def off_risk(job: Job, on: date) -> bool:
    """Whether a day lies between a job's report and 30 days after its end; an open job has no end."""
    if on < job.reported_on:
        return False
    return job.finished_on is None or on < job.finished_on + timedelta(days=REPEAT_DAYS)


def is_failure(job: Job, earlier: Sequence[Job]) -> bool:
    """Whether a job on a part is a failure of its own and not an old one not yet cured."""
    for other in earlier:
        after = (job.reported_on - other.finished_on).days if other.finished_on else None
        if off_risk(other, job.reported_on) or (after is not None and 0 <= after <= REPEAT_DAYS):
            return False
    return True


def failures(machine: Machine, part: str, stay: Stay) -> list[Job]:
    """Failures of the part while the machine was under observation."""
    works = works_on(machine, part)
    return [
        job
        for at, job in enumerate(works)
        if job.is_fault
        and stay.enter <= job.reported_on < stay.leave
        and job is not stay.entry_job
        and is_failure(job, works[:at])
    ]


def is_confirmed(job: Job, part: str, machine: Machine) -> bool:
    """Whether not: the same symptom was back within 30 days of the finish, and a fix of another part cured it."""
    if job.finished_at is None:
        return True
    cures = [
        later
        for later in machine.jobs
        if later.is_index and later.works and later.reported_at and later.reported_at > job.finished_at
        if (later.reported_on - job.finished_on).days <= REPEAT_DAYS and later.symptoms & job.symptoms
    ]
    return all(part in cure.works for cure in cures)


def days_at_risk(machine: Machine, part: str, stay: Stay) -> int:
    """Days under observation that no job on the part takes out, counted one by one."""
    works = works_on(machine, part)
    days = (stay.enter + timedelta(days=n) for n in range((stay.leave - stay.enter).days))
    return (
        sum(not any(off_risk(job, on) for job in works) for on in days)
        if works
        else (stay.leave - stay.enter).days
    )


def fits_of(jobs: Sequence[Job], parts: Sequence[Mapping[str, str]]) -> dict[str, set[str]]:
    """Machine types in which each part is fitted: by the parts list, else where it was ever worked on."""
    fits = {part_of(p): {t.strip() for t in p.get("fits", "").split("|") if t.strip()} for p in parts}
    unlisted = {part for job in jobs for part in job.works if not fits.get(part)}
    for part in unlisted:
        fits[part] = {job.get("unit_type") for job in jobs if part in job.works}
    return {part: types for part, types in fits.items() if types}


def part_rates(
    machines: Sequence[Machine],
    jobs: Sequence[Job],
    parts: Sequence[Mapping[str, str]],
    basis: str,
    window: tuple[date, date],
    *,
    by: str = "",
) -> dict[tuple[str, ...], dict[str, Any]]:
    """Failures per machine-year of each part (and of a column of its machines), by individual machine and day."""
    answer = {}
    first_on = min((on for job in jobs for on in days_of(job)), default=None)
    for part, types in fits_of(jobs, parts).items():
        mine = [m for m in machines if m.get("unit_type") in types]
        for group, stays in _groups(mine, basis, window, by, first_on=first_on).items():
            row = _row(part, stays)
            if by in ("", "unit_type"):
                row["open_jobs"] = len(open_jobs(jobs, {m.get("unit_type") for m, _ in stays}, window))
            if row["denominator"]:
                answer[(part, *group)] = row
        if basis == SEEN:
            for group, stays in _groups(mine, basis, window, by, first_on=first_on, months=24).items():
                second = _row(part, stays)
                if (part, *group) in answer and second["denominator"]:
                    names = ("value", "low", "high")
                    answer[part, *group] |= {f"{name}_24_months": second[name] for name in names}
    return answer


def open_jobs(jobs: Sequence[Job], types: set[str], window: tuple[date, date]) -> list[Job]:
    """Fault jobs reported in the window, on machines of these types, that are open and have worked on no part yet."""
    return [
        job
        for job in jobs
        if job.is_fault and job.reported_on and window[0] <= job.reported_on < window[1]
        if job.get("unit_type") in types and job.finished_on is None and not job.works
    ]


Stays = list[tuple[Machine, Stay]]


def _groups(
    machines: Sequence[Machine],
    basis: str,
    window: tuple[date, date],
    by: str,
    *,
    first_on: date | None,
    months: int | None = None,
) -> dict[tuple[str, ...], Stays]:
    """Machines and their days under observation by group; by age, each machine's days are cut at the limits."""
    groups: dict[tuple[str, ...], Stays] = defaultdict(list)
    for machine in machines:
        stay = stay_of(machine, basis, *window, first_on=first_on, contact_months=months)
        if stay and by == "age_band":
            for label, cut in by_age(machine, stay):
                groups[(label,)].append((machine, cut))
        elif stay:
            groups[(machine.get(by),) if by else ()].append((machine, stay))
    return groups


def by_age(machine: Machine, stay: Stay) -> list[tuple[str, Stay]]:
    """A stay cut where the machine passes from one age band into the next; nothing where its age is not known."""
    installed = day((machine.listed or {}).get("installed_on", ""))
    if installed is None:
        return []
    pieces = []
    for low, high, label in AGE_BANDS:
        enter = max(stay.enter, months_later(installed, 12 * low))
        leave = min(stay.leave, months_later(installed, 12 * high))
        if enter < leave:
            pieces.append((label, Stay(enter, leave, stay.entry_job)))
    return pieces


def _row(part: str, stays: Stays) -> dict[str, Any]:
    per_unit = [(len(failures(m, part, stay)), days_at_risk(m, part, stay)) for m, stay in stays]
    events, days = sum(d for d, _ in per_unit), sum(t for _, t in per_unit)
    row: dict[str, Any] = {"numerator": events, "denominator": float(days / YEAR), "machines": len(stays)}
    row["sample"] = sample_of_rate(events)
    row["confirmed"] = sum(is_confirmed(job, part, m) for m, stay in stays for job in failures(m, part, stay))
    worked = [
        job
        for m, stay in stays
        for job in works_on(m, part)
        if stay.enter <= job.reported_on < stay.leave and job.is_fault and job is not stay.entry_job
    ]
    row["jobs"] = len(worked)
    row["done_together"] = sum(len(job.works) > 1 for job in worked)
    if days == 0:
        return row
    low, high = rate_interval([(d, float(t / YEAR)) for d, t in per_unit])
    value = None if row["sample"] == "too few" else float(events / (days / YEAR))
    return {**row, "low": low, "high": high, "value": value}


def part_shares(
    jobs: Sequence[Job], fits: Mapping[str, set[str]], start: date, end: date
) -> dict[tuple[str, ...], dict[str, Any]]:
    """Share of the fault jobs, on machines in which the part is fitted, in which it was worked on."""
    inside = [job for job in jobs if job.is_fault and job.reported_on and start <= job.reported_on < end]
    answer = {}
    for part, types in fits.items():
        mine = [job for job in inside if job.get("unit_type") in types]
        if mine:
            answer[(part,)] = share_of(mine, lambda job, p=part: p in job.works)
    return answer
