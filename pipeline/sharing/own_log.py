"""The firm's own log as mendstat read it: the standard log again, for the firm's own use."""

from __future__ import annotations

import duckdb
import polars as pl

from pipeline.normalise.money import factor_sql

_FACTOR = factor_sql("visits.currency")
_LOG = f"""
select
    jobs.source, jobs.job_id, jobs.job_kind, visits.visit_no, jobs.return_of, jobs.return_reason,
    jobs.machine_no, jobs.unit_type, jobs.make, jobs.model, machines.serial_block, machines.made_week, jobs.fitting, jobs.site_id, jobs.site_kind, jobs.area,
    jobs.reported_at, visits.started_at, visits.finished_at, visits.hands_on_min, visits.travel_min,
    lines.symptom, lines.fault_code, lines."check", lines.check_result, lines.reading, lines.check_min, lines.finding, lines.mechanism, lines.cause,
    parts.part_no, coalesce(lines.part_name, parts.part_name) as part_name, lines.part_status, lines.part_source, lines.quantity,
    lines.part_cost_minor / {_FACTOR} as part_cost, lines.action, visits.charge_minor / {_FACTOR} as charge, visits.currency, visits.payer, visits.outcome,
    visits.second_visit_reason, visits.installation_looked_at, visits.test_run, visits.leak_check, visits.safety_test
from tables.lines as lines
join tables.visits as visits on visits.visit_key = lines.visit_key
join tables.jobs as jobs on jobs.job_no = lines.job_no
left join tables.machines as machines on machines.machine_no = jobs.machine_no
left join tables.parts as parts on parts.part_key = lines.part_key
order by jobs.reported_at, jobs.job_no, visits.visit_no, lines.line_no
"""


def own_log(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """
    Every used line of work with its visit, job and machine, as read.

    Amounts are in major units of their currency, moments in UTC. Sites are pseudonyms: this is personal data still, and
    for the firm itself. Who did the work is left out.
    """
    frame: pl.DataFrame = con.sql(_LOG).pl()
    return frame
