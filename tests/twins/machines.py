"""Slow and plain: which machine each job was on (measure book, section 1)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from tests.twins.log import Job, Row, day, days_of, first

OF_A_MACHINE = ("unit_type", "make", "model")
EMPTY = ("", "na", "n/a", "none", "unknown")


@dataclass
class Machine:
    """One machine: what is known of it, and its jobs in order of report."""

    key: tuple[str, ...]
    listed: Row | None
    jobs: list[Job]

    def get(self, name: str) -> str:
        """What the list says, else what was first written in the log."""
        said = (self.listed or {}).get(name, "")
        return said or first(job.get(name) for job in self.jobs)

    @property
    def removed_on(self) -> date | None:
        """The day it left, by the list."""
        return day((self.listed or {}).get("removed_on", ""))

    @property
    def written_off_on(self) -> date | None:
        """The day on which it was found beyond economic repair."""
        days = [j.finished_on for j in self.jobs if j.outcome == "beyond economic repair" and j.finished_on]
        return min(days) if days else None

    @property
    def ended_on(self) -> date | None:
        """The day it left, whichever way."""
        ends = [d for d in (self.removed_on, self.written_off_on) if d]
        return min(ends) if ends else None

    @property
    def last_contact_on(self) -> date:
        """The last day on which the log shows it."""
        return max(d for job in self.jobs for d in days_of(job))


def clean(text: str) -> str:
    """An identity as it is compared: no case, no spaces, no hyphens; nothing for a word that means nothing."""
    bare = text.casefold().replace(" ", "").replace("-", "")
    return "" if bare in EMPTY or not bare.strip("0") else bare


def identify(jobs: Sequence[Job], listed: Sequence[Row]) -> dict[tuple[str, ...], Machine]:
    """Give each job its machine and rung; machines by key, those that are only listed among them."""
    machines = {
        ("unit", clean(row["unit_id"])): Machine(("unit", clean(row["unit_id"])), row, []) for row in listed
    }
    known_serials = _serials(jobs, listed)
    for job in jobs:
        job.machine, job.rung = _by_number(job, known_serials)
    at_site = _machines_at_site(jobs, listed)
    lone = [(job, *_by_site(job, at_site, (*jobs, *listed))) for job in jobs if job.machine is None]
    for job, machine, rung in lone:
        job.machine, job.rung = machine, rung
    for job in jobs:
        if job.machine is not None:
            machines.setdefault(job.machine, Machine(job.machine, None, [])).jobs.append(job)  # type: ignore[arg-type]
    for machine in machines.values():
        machine.jobs.sort(key=lambda j: (j.reported_at is None, j.reported_at, j.number))
    return machines


def _serials(jobs: Sequence[Job], listed: Sequence[Row]) -> dict[tuple[str, str], set[str]]:
    """Which machine numbers stand beside each make and serial, in the log or the list."""
    known: dict[tuple[str, str], set[str]] = defaultdict(set)
    for thing in (*jobs, *listed):
        unit, serial = clean(thing.get("unit_id") or ""), clean(thing.get("serial") or "")
        if unit and serial and thing.get("make"):
            known[(thing.get("make") or "").casefold(), serial].add(unit)
    return known


def _by_number(job: Job, known: dict[tuple[str, str], set[str]]) -> tuple[tuple[str, ...] | None, str]:
    unit, make, serial = clean(job.get("unit_id")), job.get("make").casefold(), clean(job.get("serial"))
    if unit:
        return ("unit", unit), "unit_id"
    if make and serial:
        units = known.get((make, serial), set())
        return (("unit", next(iter(units))) if len(units) == 1 else ("serial", make, serial)), "make + serial"
    return None, "none"


def _machines_at_site(jobs: Sequence[Job], listed: Sequence[Row]) -> dict[tuple[str, str], set[object]]:
    """Machines of a type at a site that bear a number of their own, in the log or listed."""
    found: dict[tuple[str, str], set[object]] = defaultdict(set)
    for job in jobs:
        site = clean(job.get("site_id"))
        if site and job.machine is not None:
            found[site, job.get("unit_type")].add(job.machine)
    for row in listed:
        if site := clean(row.get("site_id", "")):
            found[site, row.get("unit_type", "")].add(("unit", clean(row["unit_id"])))
    return found


def _by_site(
    job: Job, at_site: dict[tuple[str, str], set[object]], seen: Sequence[Job | Row]
) -> tuple[tuple[str, ...] | None, str]:
    """The two assumed rungs: a single household with one machine of that type."""
    site, kind, model = clean(job.get("site_id")), job.get("unit_type"), job.get("model")
    if not site or job.get("site_kind") != "household":
        return None, "none"
    numbered = at_site.get((site, kind), set())
    there = [thing for thing in seen if clean(thing.get("site_id") or "") == site]
    models = {thing.get("model") or "" for thing in there if thing.get("unit_type") == kind} - {""}
    makes = {(thing.get("make") or "").casefold() for thing in there if thing.get("unit_type") == kind} - {""}
    if len(numbered) > 1 or len(makes) > 1 or len(models) > 1:
        return None, "assumed, several"
    key = next(iter(numbered)) if numbered else ("site", site, kind)
    return key, "site + type + model, assumed" if model else "site + type, assumed"  # type: ignore[return-value]


def value_of(job: Job, machines: Mapping[tuple[str, ...], Machine], by: str) -> str:
    """A job's value of a column; what its lines leave open about its machine, the machine's other jobs say."""
    said = job.get(by) if by else ""
    if by in OF_A_MACHINE and not said and job.machine is not None:
        return machines[job.machine].get(by)  # type: ignore[index]
    return said


def shares_of_rungs(jobs: Sequence[Job]) -> dict[str, Fraction]:
    """Share of the jobs that stand on each rung."""
    rungs = [job.rung for job in jobs]
    return {rung: Fraction(rungs.count(rung), len(rungs)) for rung in set(rungs)}
