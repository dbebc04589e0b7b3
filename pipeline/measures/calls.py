"""Calls that are booked and not yet done: by job number, kind, model and complaint; no name and no address."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

import duckdb
import polars as pl

from pipeline.measures.query import ask
from pipeline.measures.symptom_words import Case
from pipeline.vocabulary.dangers import dangers_of

SAFE = "Make safe and stop: no likely part is shown for this."
NO_ANSWER = "No such job ended fixed and held so far."
FEWEST = 10
_COLUMNS = """
jobs.job_no, jobs.job_id, jobs.machine_no, jobs.unit_type, jobs.make, jobs.model, jobs.fault_code, jobs.symptom,
jobs.reported_at, jobs.reported_on
"""
_DAYS = """
select visits.booked_for_on as day, count(distinct visits.job_no) as calls
from tables.visits as visits
join tables.jobs as jobs on jobs.job_no = visits.job_no and jobs.is_fault
cross join facts.windows as windows
where visits.finished_at is null and visits.booked_for_on >= windows.last_report_on
    and coalesce(visits.outcome, 'open') in ('open', 'return booked', 'not finished', 'unknown')
group by all
order by 1
"""
_CALLS = f"""
select {_COLUMNS}, min(visits.booked_for_at) as booked_at
from tables.visits as visits
join tables.jobs as jobs on jobs.job_no = visits.job_no and jobs.is_fault
where visits.finished_at is null and visits.booked_for_on = $day
    and coalesce(visits.outcome, 'open') in ('open', 'return booked', 'not finished', 'unknown')
group by all
order by booked_at nulls last, jobs.job_id, jobs.job_no
"""
_ONE = f"select {_COLUMNS}, null as booked_at from tables.jobs as jobs where lower(jobs.job_id) = $job order by jobs.job_no"
# What was most often done, and held, for each complaint of the calls, by kind of machine: a plain count, in one query.
_USUALLY = """
with
asked as (select unnest($symptoms) as symptom, unnest($kinds) as unit_type),
held as (
    select distinct asked.symptom, asked.unit_type, jobs.job_no
    from asked
    join tables.job_symptoms as shown on shown.symptom = asked.symptom
    join tables.jobs as jobs on jobs.job_no = shown.job_no and jobs.unit_type = asked.unit_type and jobs.is_index
    left join facts.repeats as repeats on repeats.job_no = jobs.job_no
    where not coalesce(repeats.next_is_same_fault and repeats.days_to_next <= 90, false)
),
done as (
    select held.symptom, held.unit_type, held.job_no, coalesce(parts.part_name, parts.part_no) as what
    from held
    join facts.job_parts as works on works.job_no = held.job_no
    join tables.parts as parts on parts.part_key = works.part_key
    union
    select held.symptom, held.unit_type, held.job_no, 'outside the machine: ' || causes.cause
    from held
    join facts.outside_causes as causes on causes.job_no = held.job_no
),
counted as (
    select symptom, unit_type, what, count(distinct job_no) as jobs
    from done
    group by all
),
totals as (
    select symptom, unit_type, count(distinct job_no) as of_jobs
    from done
    group by all
)
select counted.*, totals.of_jobs
from counted
join totals on totals.symptom = counted.symptom and totals.unit_type = counted.unit_type
qualify row_number() over (partition by counted.symptom, counted.unit_type order by counted.jobs desc, counted.what) = 1
"""


@dataclass(frozen=True)
class Call:
    """
    A job that somebody is to go to, or went to.

    Attributes
    ----------
    job_no : int
    job_id, unit_type, make, model, code : str or None
    symptoms : str
        The complaint as the log has it.
    machine_no : int or None
    booked_at : datetime or None
        Local time of the shop.
    reported_at : datetime or None
    reported_on : date or None
    """

    job_no: int
    job_id: str | None
    unit_type: str | None
    make: str | None
    model: str | None
    code: str | None
    symptoms: str
    machine_no: int | None
    booked_at: datetime | None
    reported_at: datetime | None
    reported_on: date | None

    def case(self, words: str = "", unit_type: str = "", model: str = "", code: str = "") -> Case:
        """What is known before the machine is opened; what was said since wins."""
        return Case(
            words or ", ".join(symptoms_of(self)),
            unit_type or self.unit_type or "",
            model or self.model or "",
            code or self.code or "",
        )


def days_with_calls(con: duckdb.DuckDBPyConnection) -> list[tuple[date, int]]:
    """Days from the log's last report on with visits that are booked and not done, and how many jobs each has."""
    return list(ask(con, _DAYS, {}).rows())


def calls(con: duckdb.DuckDBPyConnection, day: date) -> list[Call]:
    """Fault jobs booked for a day and not done, in the order of the day."""
    zone = ZoneInfo(str(con.execute('select time_zone from settings."values"').fetchall()[0][0]))
    return [_call(row, zone) for row in ask(con, _CALLS, {"day": day}).to_dicts()]


def call_of(con: duckdb.DuckDBPyConnection, job_id: str) -> Call | None:
    """The job of a number, as anybody may write it; None where the log has none, or several sources have one each."""
    number = job_id.strip().casefold()
    rows = ask(con, _ONE, {"job": number}).to_dicts() if number else []
    return _call(rows[0], ZoneInfo("UTC")) if len(rows) == 1 else None


def usually(con: duckdb.DuckDBPyConnection, some: list[Call]) -> dict[tuple[str, str], tuple[str, int, int]]:
    """By complaint and kind: the part or outside cause that most often fixed it and held, in how many of how many jobs."""
    asked = sorted({(one, call.unit_type) for call in some for one in symptoms_of(call) if call.unit_type})
    if not asked:
        return {}
    values = {"symptoms": [symptom for symptom, _ in asked], "kinds": [kind for _, kind in asked]}
    return {
        (row["symptom"], row["unit_type"]): (row["what"], row["jobs"], row["of_jobs"])
        for row in ask(con, _USUALLY, values).to_dicts()
    }


def answers(con: duckdb.DuckDBPyConnection, some: list[Call]) -> list[str]:
    """One line for each call: the commonest fix that held with its counts, or make safe and stop."""
    known = usually(con, some)
    dangers = dangers_of(pl.Series([call.symptoms for call in some], dtype=pl.String)).to_list()
    return [SAFE if danger else _line(known, call) for call, danger in zip(some, dangers, strict=True)]


def _line(known: dict[tuple[str, str], tuple[str, int, int]], call: Call) -> str:
    kind = call.unit_type or ""
    said = [known[one, kind] for one in symptoms_of(call) if (one, kind) in known]
    if not said:
        return NO_ANSWER
    what, jobs, of = max(said, key=lambda each: each[1] / each[2])
    return f"{what}, {jobs} of {of}" if of >= FEWEST else f"{what}, {jobs} of {of}: too few to say"


def call_rows(con: duckdb.DuckDBPyConnection, day: date) -> list[dict[str, Any]]:
    """job_id, booked_at, unit_type, make, model, symptom, answer: one row a call of a day."""
    some = calls(con, day)
    return [
        {
            "job_id": call.job_id,
            "booked_at": call.booked_at,
            "unit_type": call.unit_type,
            "make": call.make,
            "model": call.model,
            "symptom": call.symptoms,
            "answer": answer,
        }
        for call, answer in zip(some, answers(con, some), strict=True)
    ]


def symptoms_of(call: Call) -> list[str]:
    """Each complaint apart."""
    return [piece.strip() for piece in call.symptoms.split(";") if piece.strip()]


def _call(row: dict[str, Any], zone: ZoneInfo) -> Call:
    booked = row["booked_at"]
    if booked is not None:
        booked = booked.replace(tzinfo=ZoneInfo("UTC")).astimezone(zone).replace(tzinfo=None)
    return Call(
        row["job_no"],
        row["job_id"],
        row["unit_type"],
        row["make"],
        row["model"],
        row["fault_code"],
        row["symptom"] or "",
        row["machine_no"],
        booked,
        row["reported_at"],
        row["reported_on"],
    )
