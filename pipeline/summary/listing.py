"""What is listed one by one: comebacks with their bill, machines that wait for a part, safety reports."""

from __future__ import annotations

from typing import Any

import duckdb

from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.safety_reports import safety_reports
from pipeline.normalise.money import factor_sql
from pipeline.summary.counts import COMEBACKS
from pipeline.summary.period import Period

OURS, CUSTOMERS, OTHERS, OPEN = "ours", "the customer's", "a maker's or an insurer's", "not written down yet"


def comebacks_by_bill(con: duckdb.DuckDBPyConnection, period: Period) -> list[dict[str, Any]]:
    """
    One row per comeback reported in the period, the newest first.

    Columns: `reported_on, job_id, unit_type, symptom, days, bill` (OURS …), `hours`, `cost` (parts, major units; null where
    a part has no price), `currency`, and of the fix that did not hold `part_no, part_name, action`.
    """
    sql = f"""
    with {COMEBACKS},
    worked as (
        select w.job_no, min_by(p.part_no, p.part_no) as part_no, min_by(p.part_name, p.part_no) as part_name,
            min_by(w.action, p.part_no) as action
        from facts.job_parts as w join tables.parts as p on p.part_key = w.part_key
        group by w.job_no
    )
    select c.next_on as reported_on, j.job_id, j.unit_type, j.symptom, c.days_to_next as days,
        case
            when m.is_unpaid then '{OURS}'
            when m.is_paid and m.payer in ('maker warranty', 'insurer') then '{OTHERS.replace("'", "''")}'
            when m.is_paid then '{CUSTOMERS.replace("'", "''")}'
            else '{OPEN}'
        end as bill,
        m.minutes / 60.0 as hours, m.parts_cost_minor / {factor_sql("coalesce(m.currency, '')")} as cost, m.currency,
        worked.part_no, worked.part_name, worked.action
    from comebacks as c
    join tables.jobs as j on j.job_no = c.next_job_no
    left join facts.job_money as m on m.job_no = c.next_job_no
    left join worked on worked.job_no = c.job_no
    where c.next_on >= $from_on and c.next_on < $to_on
    order by c.next_on desc, j.job_no
    """
    return ask(con, sql, _days(period)).to_dicts()


def waiting_for_parts(con: duckdb.DuckDBPyConnection, period: Period) -> list[dict[str, Any]]:
    """
    One row per job that waited for a part at the end of the period, the longest first.

    Asked for and not fitted by then, and the job neither over nor called off. Columns: `job_id, unit_type, asked_on, days`
    (to the last day of the period), `part_no, part_name` (of the part asked for first), `count_parts`.
    """
    sql = """
    with needed as (
        select n.job_no, min(n.asked_on) as asked_on, count(*) as count_parts,
            min_by(p.part_no, n.asked_on) as part_no, min_by(p.part_name, n.asked_on) as part_name
        from facts.part_needs as n left join tables.parts as p on p.part_key = n.part_key
        where n.asked_on < $to_on and (n.fitted_on is null or n.fitted_on >= $to_on)
        group by n.job_no
    ),
    last_words as (select job_no, max_by(outcome, visit_no) as outcome from tables.visits group by job_no)
    select j.job_id, j.unit_type, n.asked_on, date_diff('day', n.asked_on, $last_on) as days, n.part_no, n.part_name,
        n.count_parts
    from needed as n join tables.jobs as j on j.job_no = n.job_no
    join last_words as l on l.job_no = n.job_no
    where (not j.is_closed or j.finished_on >= $to_on) and coalesce(l.outcome, '') <> 'cancelled'
    order by n.asked_on, j.job_no
    """
    return ask(con, sql, _days(period)).to_dicts()


def reports_of_danger(con: duckdb.DuckDBPyConnection, period: Period) -> list[dict[str, Any]]:
    """Safety reports of the period, soon after our own visit first; those without a day are never left out."""
    return [
        row
        for row in safety_reports(con, Question()).to_dicts()
        if row["reported_on"] is None or period.first_on <= row["reported_on"] < period.to_on
    ]


def _days(period: Period) -> dict[str, object]:
    return {"from_on": period.first_on, "to_on": period.to_on, "last_on": period.last_on}
