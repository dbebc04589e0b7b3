"""The jobs behind procedures: one row per fix and part, how it was followed, and what a trainer asks about it."""

from __future__ import annotations

import duckdb
import numpy as np
import polars as pl

from pipeline.estimators.competing import CENSORED
from pipeline.measures.followed import SAME_FAULT, first_end
from pipeline.measures.groups import WORK, age_band
from pipeline.measures.query import ask
from pipeline.measures.window import Bounds, last_day

DAYS = 90
PROCEDURE = ("unit_type", "part_no", "part_name", "action")


def procedure_jobs(con: duckdb.DuckDBPyConnection, bounds: Bounds) -> pl.DataFrame:
    """
    One row per fix on a known machine and part it worked on.

    Columns: PROCEDURE, `symptom`, `make`, `age_band`, `technician` (never shown), `time` (days to what ended the follow-up), `is_back` (the same
    fault within DAYS), `finished_day` (of the window), `another_part_cured`, `taken_out_again`, `test_run`, `leak_check`,
    `installation_looked_at`, `has_mechanism`, `checks` (list), `hands_on_min`, `unpaid_min` (of the chain a return started).
    """
    sql = f"""
    with {WORK},
    cured as (
        select distinct cures.job_no, works.part_key
        from facts.same_symptom_cures as cures
        join facts.part_works as works on works.job_no = cures.job_no
        where not works.is_confirmed
    ),
    recorded as (
        select job_no, max(case when mechanism is not null then 1 else 0 end) as has_mechanism,
            list(distinct "check" order by "check") filter (where "check" is not null) as checks
        from tables.lines where mechanism is not null or "check" is not null group by job_no
    ),
    undone as (
        select distinct job_no, part_key from tables.lines where part_status = 'taken out again'
    )
    select j.unit_type, p.part_no, p.part_name, p.action, j.symptom, j.make,
        {age_band("j.age_years")} as age_band, j.technician,
        case when r.next_on < $to_on then r.days_to_next end as days_to_next, r.next_is_same_fault,
        case when r.removed_on <= $last_on then date_diff('day', r.finished_on, r.removed_on) end as days_to_leave,
        date_diff('day', r.finished_on, $last_on) as days_followed, date_diff('day', $from_on, r.finished_on) as finished_day,
        cured.job_no is not null as another_part_cured, undone.job_no is not null as taken_out_again,
        last.test_run, last.leak_check, last.installation_looked_at,
        coalesce(recorded.has_mechanism = 1, false) as has_mechanism, coalesce(recorded.checks, []) as checks, j.hands_on_min,
        chains.minutes::double as unpaid_min
    from facts.repeats as r
    join tables.jobs as j on j.job_no = r.job_no
    join work as p on p.job_no = j.job_no
    left join cured on cured.job_no = p.job_no and cured.part_key = p.part_key
    left join undone on undone.job_no = r.next_job_no and undone.part_key = p.part_key
    left join tables.visits as last on last.job_no = j.job_no and last.visit_no = j.last_attended_no
    left join recorded on recorded.job_no = j.job_no
    left join facts.return_chains as chains on chains.job_no = r.job_no
    where r.finished_at >= $from_utc and r.finished_at < $to_utc and j.unit_type is not null
    order by r.job_no, p.part_no, p.part_name, p.action
    """
    records = ask(con, sql, {**bounds.parameters, "last_on": last_day(bounds)})
    time, cause = first_end(records)
    is_back = (cause != CENSORED) & (cause == SAME_FAULT) & (time <= DAYS)
    return records.drop("days_to_next", "next_is_same_fault", "days_to_leave", "days_followed").with_columns(
        pl.Series("time", np.asarray(time)), pl.Series("is_back", is_back)
    )
