"""Fixtures of the committed files."""

from collections import defaultdict
from datetime import date

import pytest

from tests.sample_logs.plain import FAULTS, day, read, worked_parts


@pytest.fixture(scope="session")
def log():
    return read("log")


@pytest.fixture(scope="session")
def machines():
    return {row["unit_id"]: row for row in read("machines")}


@pytest.fixture(scope="session")
def jobs(log):
    """Lines of each job, in order."""
    found = defaultdict(list)
    for line in log:
        found[line["job_id"]].append(line)
    return dict(found)


@pytest.fixture(scope="session")
def history(jobs, machines):
    """Jobs of each listed machine, in order of report; a job without a number is found by its serial, or by its site."""
    by_serial = {row["serial"]: unit_id for unit_id, row in machines.items()}
    at_site = defaultdict(list)
    for unit_id, row in machines.items():
        at_site[row["site_id"], row["unit_type"], row["model"]].append(unit_id)
    found = defaultdict(list)
    for lines in jobs.values():
        first = lines[0]
        alike = at_site[first["site_id"], first["unit_type"], first["model"]]
        unit_id = (
            first["unit_id"] or by_serial.get(first["serial"]) or (alike[0] if len(alike) == 1 else None)
        )
        if unit_id:
            found[unit_id].append(lines)
    return dict(found)


@pytest.fixture(scope="session")
def failures(history):
    """Number of failures by type and part: jobs on a part that was not worked on in the 30 days before."""
    count = defaultdict(int)
    for of_machine in history.values():
        last = {}
        for lines in of_machine:
            done = lines[-1]["finished_at"]
            for part_no in worked_parts(lines):
                since = (day(lines[0]["reported_at"]) - last[part_no]).days if part_no in last else 999
                if since > 30 and lines[0]["job_kind"] in FAULTS:
                    count[lines[0]["unit_type"], part_no] += 1
                last[part_no] = day(done) if done else date.max
    return dict(count)
