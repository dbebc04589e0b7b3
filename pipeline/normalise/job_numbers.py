"""Numbers the jobs. The one place that makes job numbers for a log that has none."""

from __future__ import annotations

import duckdb

# A log without job numbers: each row is a job of its own at first, known by its content, so that the same row in a later
# file is the same job. tables/built_jobs.sql joins them once their machines are known.
MADE_JOB_ID = "'row ' || substr(rows.row_digest, 1, 16)"


def job_id_sql(*, has_job_id: bool) -> str:
    """SQL for the job number of a received row (alias rows)."""
    return "nullif(trim(rows.job_id), '')" if has_job_id else MADE_JOB_ID


def number_jobs(con: duckdb.DuckDBPyConnection) -> None:
    """
    Create normalise.job_numbers: a whole number for each source and job number received, in their order.

    Rows that complete the visits of another file make no jobs.
    Whole numbers keep every later join and window narrow.
    """
    con.execute(
        f"""
        create or replace table normalise.job_numbers as
        select row_number() over (order by source, job_id) as job_no, source, job_id
        from (
            select distinct
                coalesce(rows.source, '') as source,
                case when files.has_job_id then {job_id_sql(has_job_id=True)} else {job_id_sql(has_job_id=False)} end as job_id
            from received.rows as rows
            join normalise.files as files on files.file_no = rows.file_no and files.completes is null
        )
        where job_id is not null
        """
    )
