"""From jobs to rows of the standard log, with the gaps and repeated lines that a real log has."""

from __future__ import annotations

import random
from collections import Counter

from pipeline.standard_log import column_names
from sample_logs import wording
from sample_logs.check_times import fill_check_minutes
from sample_logs.jobs import Job, Row, Visit, moment
from sample_logs.money import fill_charges
from sample_logs.park import Machine

LOG_COLUMNS = column_names("log")
# Share of jobs on whose lines a field is missing.
NO_UNIT_ID = 0.04
NO_UNIT_ID_NO_SERIAL = 0.015
NO_INSTALLED_ON = 0.06
NO_MINUTES = 0.03
NO_TRAVEL = 0.03
REPEATED_LINES = 20


def _at(day: float | None) -> str:
    return "" if day is None else moment(day).strftime("%Y-%m-%dT%H:%M")


def _on(day: float) -> str:
    return moment(day).date().isoformat()


def _fitting(machine: Machine) -> str:
    if machine.unit_type == "dryer" and machine.number % 4 == 0:
        return "stacked"
    built_in = machine.unit_type in {"dishwasher", "fridge-freezer"} and machine.number % 3
    return "built-in" if built_in else "freestanding"


def machine_fields(machine: Machine) -> Row:
    """Columns of the machine, complete."""
    return {
        "unit_id": machine.unit_id,
        "unit_type": machine.unit_type,
        "make": machine.model.make,
        "model": machine.model.model,
        "serial": machine.serial,
        "made_on": machine.made_on.isoformat(),
        "installed_on": _on(machine.installed),
        "fitting": _fitting(machine),
        "site_id": f"S-{machine.site_no:04d}",
        "site_kind": machine.site_kind,
        "postcode": f"{machine.district} {machine.site_no % 90 + 10}",
    }


def _with_gaps(rng: random.Random, job: Job, fields: Row, at_site: Counter[tuple[int, str]]) -> Row:
    """Leave machine fields out of a job here and there, the same on each of its lines."""
    machine, draw = job.machine, rng.random()
    is_alone = machine.site_kind == "household" and at_site[(machine.site_no, machine.unit_type)] == 1
    # Without number and serial a machine is known only where it is the only one of its type at a household.
    if draw < NO_UNIT_ID_NO_SERIAL and (is_alone or draw < NO_UNIT_ID_NO_SERIAL / 8):
        fields |= {"unit_id": "", "serial": ""}
    elif draw < NO_UNIT_ID:
        fields["unit_id"] = ""
    elif not machine.is_listed and machine.number % 3 == 0:
        fields["serial"] = ""
    if not machine.is_listed:
        fields |= {"installed_on": "", "made_on": "", "age_years": f"{machine.age_years(job.reported):.0f}"}
    elif rng.random() < NO_INSTALLED_ON:
        fields["installed_on"] = ""
    return fields


def _visit_fields(rng: random.Random, job: Job, visit: Visit) -> Row:
    fields = {
        "booked_for": _at(visit.booked),
        "started_at": _at(visit.start),
        "finished_at": _at(visit.finish),
        "technician": visit.technician,
        "outcome": visit.outcome,
        "second_visit_reason": visit.second_visit_reason,
        **visit.fields,
    }
    if visit.minutes is None:
        return fields
    # Only a job of one visit loses its minutes, so that a sum over visits is whole or absent.
    lost = len(job.visits) == 1 and rng.random() < NO_MINUTES
    fields["hands_on_min"] = "" if lost else str(visit.minutes)
    fields["travel_min"] = "" if rng.random() < NO_TRAVEL or job.kind == "workshop" else str(visit.travel)
    return fields | _tests(rng, job, visit)


def _tests(rng: random.Random, job: Job, visit: Visit) -> Row:
    """Installation looked at, test run, leak check, safety test, things advised, a note."""
    looked = "yes" if (job.course and job.course.corrects) or rng.random() < 0.35 else "no"
    fields = {"installation_looked_at": looked, "safety_test": "yes" if rng.random() < 0.6 else "unknown"}
    if visit.outcome == "fixed":
        fields["test_run"] = "yes" if rng.random() < 0.82 else "no"
        fields["leak_check"] = "yes" if rng.random() < 0.5 else "no"
    if rng.random() < 0.04:
        fields["advised_not_done"] = wording.ADVISED[int(rng.random() * len(wording.ADVISED))]
    if rng.random() < 0.06:
        fields["note"] = wording.NOTES[int(rng.random() * len(wording.NOTES))]
    return fields


def job_rows(rng: random.Random, job: Job, at_site: Counter[tuple[int, str]]) -> list[Row]:
    """All lines of a job."""
    fill_charges(rng, job)
    of_job = {
        "job_id": job.job_id,
        "job_kind": job.kind,
        "return_of": job.returns_to.job_id if job.returns_to else "",
        "return_reason": job.return_reason,
        "reported_at": _at(job.reported),
        "symptom": job.symptom,
        "fault_code": job.fault_code,
    }
    of_machine = _with_gaps(rng, job, machine_fields(job.machine), at_site)
    rows = []
    for number, visit in enumerate(job.visits, start=1):
        of_visit = of_job | of_machine | {"visit_no": str(number)} | _visit_fields(rng, job, visit)
        rows += [
            {column: (of_visit | line).get(column, "") for column in LOG_COLUMNS} for line in visit.lines
        ]
    return rows


def log_rows(seed: int, jobs: list[Job], machines: list[Machine]) -> list[Row]:
    """
    Rows of the whole log, in order of report; twenty lines stand in it twice.

    Parameters
    ----------
    seed : int
        Seed of the firm.
    jobs : list of Job
        In order of report, numbered.
    machines : list of Machine
        All of them, to know which site has two of a type.

    Returns
    -------
    list of dict
        One per line of work, with every standard column, "" where there is nothing.
    """
    at_site = Counter((machine.site_no, machine.unit_type) for machine in machines)
    rows: list[Row] = []
    for job in jobs:
        of_job = job_rows(random.Random(f"{seed}:rows:{job.job_id}"), job, at_site)
        fill_check_minutes(seed, of_job)
        rows += of_job
    return _with_repeats(random.Random(f"{seed}:repeats"), rows, REPEATED_LINES * len(rows) // 6000)


def _with_repeats(rng: random.Random, rows: list[Row], count: int) -> list[Row]:
    repeated: set[int] = set()
    while len(repeated) < count:
        repeated.add(int(rng.random() * len(rows)))
    return [row for index, row in enumerate(rows) for _ in range(2 if index in repeated else 1)]
