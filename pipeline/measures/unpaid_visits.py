"""Which visits nobody pays for, and the hours they took (measure book, section 8)."""

from __future__ import annotations

import duckdb
import polars as pl

from pipeline.measures.groups import WORK, job_grouping
from pipeline.measures.no_fault_repeats import IS_NO_FAULT
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.window import Bounds

# In the book's order; a visit that is two of them counts as the first.
KINDS = ("no_access", "cancelled_at_door", "uncharged_no_fault", "own_guarantee")
# Whoever charges a missed call, or claims from a maker or insurer, is paid.
_VISITS = f"""
charged as (
    select v.*, c.charged_minor
    from tables.visits as v join facts.visit_charges as c on c.visit_key = v.visit_key
),
no_fault as (
    select j.job_no,
        case
            when sum(v.charged_minor) > 0 or coalesce(j.payer in ('maker warranty', 'insurer'), false) then 'paid'
            when sum(v.charged_minor) = 0 or coalesce(j.payer in ('own guarantee', 'goodwill'), false)
                then 'uncharged'
            else 'unknown'
        end as charging
    from tables.jobs as j join charged as v on v.job_no = j.job_no
    where j.is_fault and {IS_NO_FAULT}
    group by j.job_no, j.payer
),
told as (
    -- A workshop job counts as a fault job without travel.
    select v.job_no, v.hands_on_min, case when j.job_kind <> 'workshop' then v.travel_min end as travel_min,
        case
            when v.outcome = 'no access' and coalesce(v.charged_minor, 0) <= 0 then 'no_access'
            -- Somebody set out: the visit has a start or minutes. A call cancelled by telephone has neither.
            when v.outcome = 'cancelled' and coalesce(v.charged_minor, 0) <= 0
                and (v.started_at is not null or v.travel_min > 0 or v.hands_on_min > 0) then 'cancelled_at_door'
            when v.is_attended and n.charging = 'uncharged' then 'uncharged_no_fault'
            when v.is_attended and coalesce(v.payer, j.payer) = 'own guarantee' then 'own_guarantee'
        end as kind
    from charged as v
    join tables.jobs as j on j.job_no = v.job_no
    left join no_fault as n on n.job_no = v.job_no
    where j.is_fault
)
"""


def unpaid_jobs(
    con: duckdb.DuckDBPyConnection, question: Question, bounds: Bounds
) -> tuple[pl.DataFrame, tuple[str, ...]]:
    """
    One row per fault job and group, with its unpaid hours by kind; and the names of the groups.

    `unit` is the machine, or the job itself where none is known; `unpaid_visits`, `visits_without_minutes` and
    `charge_unknown` (0 or 1: a job without a finding of which nobody knows whether it was charged) are counts.
    """
    groups = job_grouping(question.by, dated="j.reported_on", people=question.people)
    hours = ", ".join(
        f"sum(case when kind = '{kind}' then coalesce(hands_on_min, 0) + coalesce(travel_min, 0) else 0 end) / 60.0"
        f" as hours_{kind}"
        for kind in KINDS
    )
    zeros = ", ".join(f"coalesce(u.hours_{kind}, 0.0)::double as hours_{kind}" for kind in KINDS)
    sql = f"""
    with {WORK}, {_VISITS},
    unpaid as (
        select job_no, {hours}, count(*) as unpaid_visits,
            count(*) filter (where hands_on_min is null and travel_min is null) as visits_without_minutes
        from told where kind is not null group by job_no
    )
    select {groups.select} j.job_no, coalesce(j.machine_no, -j.job_no) as unit, {zeros},
        coalesce(u.unpaid_visits, 0) as unpaid_visits,
        coalesce(u.visits_without_minutes, 0) as visits_without_minutes,
        case when n.charging = 'unknown' then 1 else 0 end as charge_unknown
    from tables.jobs as j {groups.work_join}
    left join unpaid as u on u.job_no = j.job_no
    left join no_fault as n on n.job_no = j.job_no
    where j.is_fault and j.reported_at >= $from_utc and j.reported_at < $to_utc
    order by all
    """
    return ask(con, sql, bounds.parameters), groups.names
