"""Tables and facts against plain Python that knows only the measure book: the same drawn log, equal answers."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import duckdb
import pytest
from hypothesis import HealthCheck, given, settings

from tests.builds import built
from tests.twins import part_rate
from tests.twins.log import Job, jobs_of, part_of, windows_of
from tests.twins.machines import Machine, clean, identify
from tests.twins.repeats import first_return
from tests.twins.strategies import StandardLog, standard_logs

IDENTITIES = ("unit_id", "serial", "site_id", "technician")
SELDOM, OFTEN = 25, 400
FIRST, LAST = date(2022, 12, 1), date(2027, 1, 1)


@dataclass(frozen=True)
class Both:
    """A drawn log as the twins see it and as the build has it."""

    con: duckdb.DuckDBPyConnection
    log: StandardLog
    jobs: list[Job]
    machines: dict[tuple[str, ...], Machine]

    def rows(self, sql: str) -> list[tuple[Any, ...]]:
        """Rows of the build."""
        return self.con.execute(sql).fetchall()

    def job(self, job_id: str) -> Job:
        """A job by its number."""
        return next(job for job in self.jobs if job.key == job_id)


def drawing(rows: list[dict[str, str]]) -> str:
    """Rows as text, with identity cleaned as intake cleans it before it is replaced."""
    names = sorted({name for row in rows for name in row})
    cell = lambda row, name: clean(row.get(name, "")) if name in IDENTITIES else row.get(name, "")  # noqa: E731
    return "\n".join([" | ".join(names), *(" | ".join(cell(row, name) for name in names) for row in rows)])


@contextmanager
def both(log: StandardLog) -> Iterator[Both]:
    """The log built and read the slow way."""
    lists = {kind: drawing(rows) for kind, rows in (("machines", log.machines), ("parts", log.parts)) if rows}
    con = built(drawing(log.rows), **lists)
    jobs = jobs_of(log.rows)
    try:
        yield Both(con, log, jobs, identify(jobs, log.machines))
    finally:
        con.close()


def check_jobs(both: Both) -> None:
    sql = (
        "select job_id, outcome, finished_at, is_fault, is_index, hands_on_min, machine_rung from tables.jobs"
    )
    got = {row[0]: row[1:] for row in both.rows(sql)}
    minutes = {job.key: None if job.minutes is None else float(job.minutes) for job in both.jobs}
    expected = {
        j.key: (j.outcome or None, j.finished_at, j.is_fault, j.is_index, minutes[j.key], j.rung)
        for j in both.jobs
    }
    assert got == expected


def check_machines(both: Both) -> None:
    """The same jobs on the same machine, and the same said of it."""
    sql = """
    select list(j.job_id order by j.reported_at, j.job_no) filter (where j.job_no is not null), any_value(m.is_listed),
        any_value(m.ended_on), any_value(m.last_contact_on), any_value(m.unit_type), any_value(m.make), any_value(m.model)
    from tables.machines as m left join tables.jobs as j using (machine_no) group by m.machine_no
    """
    got = sorted((tuple(jobs or ()), *rest) for jobs, *rest in both.rows(sql))
    expected = sorted(
        (
            tuple(job.key for job in machine.jobs),
            machine.listed is not None,
            machine.ended_on,
            machine.last_contact_on if machine.jobs else None,
            *(machine.get(name) or None for name in ("unit_type", "make", "model")),
        )
        for machine in both.machines.values()
    )
    assert got == expected


def check_windows(both: Both) -> None:
    windows = windows_of(both.jobs)
    sql = "select first_on, last_report_on, reports_complete_to, closed_complete_to, lag_days from facts.windows"
    assert both.rows(sql) == [tuple(vars(windows).values())]


def check_repeats(both: Both) -> None:
    sql = """
    select i.job_id, n.job_id, r.days_to_next, r.next_is_same_fault from facts.repeats as r
    join tables.jobs as i on i.job_no = r.job_no left join tables.jobs as n on n.job_no = r.next_job_no
    """
    got = sorted(both.rows(sql))
    expected = []
    for job in both.jobs:
        if job.is_index and job.machine is not None:
            back = first_return(job, both.machines[job.machine])
            expected.append(
                (job.key, *((back.job.key, back.days, back.is_same) if back else (None, None, None)))
            )
    assert got == sorted(expected)


def check_part_works(both: Both) -> None:
    sql = """
    select j.job_id, w.part_key, w.action, w.is_first_job, not (w.is_repeat or w.is_overlapping), w.is_done_together
    from facts.part_works as w join tables.jobs as j using (job_no)
    """
    got = sorted((job, part.removeprefix("name: "), *rest) for job, part, *rest in both.rows(sql))
    expected = []
    for job in (job for job in both.jobs if job.is_fault):
        machine = both.machines.get(job.machine) if job.machine else None
        for part, action in job.works.items():
            works = part_rate.works_on(machine, part) if machine else [job]
            fails = part_rate.is_failure(job, works[: works.index(job)])
            is_first = machine is not None and machine.jobs[0] is job
            expected.append((job.key, part, action, is_first, fails, len(job.works) > 1))
    assert got == sorted(expected)


def check_off_risk(both: Both) -> None:
    """Day by day: the stretches hold exactly the days that some job on the part takes out."""
    sql = """
    select any_value(j.job_id), o.part_key, o.off_from, o.off_to from facts.part_off_risk as o
    join facts.job_parts as w using (machine_no, part_key) join tables.jobs as j on j.job_no = w.job_no
    group by o.machine_no, o.part_key, o.off_from, o.off_to
    """
    got: dict[tuple[object, str], list[tuple[date, date]]] = defaultdict(list)
    for job_id, part, start, end in both.rows(sql):
        got[both.job(job_id).machine, part.removeprefix("name: ")].append((start, end or LAST))
    for machine in both.machines.values():
        for part in {part for job in machine.jobs for part in job.works}:
            works = part_rate.works_on(machine, part)
            for on in (FIRST + timedelta(days=n) for n in range((LAST - FIRST).days)):
                is_out = sum(start <= on < end for start, end in got[machine.key, part])
                assert is_out == any(part_rate.off_risk(job, on) for job in works), (machine.key, part, on)


def check_exposure(both: Both) -> None:
    """The days under observation on both bases, before any window is laid over them."""
    sql = """
    select basis, (select any_value(job_id) from tables.jobs as j where j.machine_no = e.machine_no) as job_id, unit_id,
        enter_on, exit_on
    from facts.exposure as e join tables.machines as m using (machine_no)
    """
    got = {
        (basis, unit or both.job(job).machine): (enter, leave)
        for basis, job, unit, enter, leave in both.rows(sql)
    }
    expected = {}
    start = windows_of(both.jobs).first_on
    for machine in both.machines.values():
        name = machine.key[1] if machine.key[0] == "unit" else machine.key
        for basis in (part_rate.LIST, part_rate.SEEN):
            if stay := part_rate.stay_of(machine, basis, start, LAST):
                expected[basis.replace("-", " "), name] = (
                    stay.enter,
                    None if stay.leave == LAST else stay.leave,
                )
    # The build keeps what lies before the log's first day; the twin lays the window over it at once.
    cut = {
        key: (max(enter, start), leave) for key, (enter, leave) in got.items() if not leave or leave > start
    }
    assert cut == expected


CHECKS = (
    check_jobs,
    check_machines,
    check_windows,
    check_repeats,
    check_part_works,
    check_off_risk,
    check_exposure,
)


def compare(log: StandardLog) -> None:
    """Every table and fact of a drawn log."""
    with both(log) as seen:
        for check in CHECKS:
            check(seen)


def drawn(examples: int) -> settings:
    """So many logs, the same in every run."""
    return settings(
        max_examples=examples, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck)
    )


@drawn(SELDOM)
@given(standard_logs(machines=8))
def test_tables_and_facts_agree_with_their_twins(log):
    compare(log)


@pytest.mark.full
def test_tables_and_facts_agree_with_their_twins_on_many_logs(request):
    if "full" not in request.config.getoption("markexpr"):
        pytest.skip("the full number of logs runs with -m full")
    drawn(OFTEN)(given(standard_logs())(compare))()


def test_part_key_is_the_twins():
    from pipeline.normalise.part_keys import match_key

    assert match_key("100-20.a / 3") == part_of({"part_no": "100-20.a / 3"})
