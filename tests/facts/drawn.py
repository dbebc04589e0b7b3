"""One fact from drawn tables: only the columns that the fact reads have to be drawn."""

import duckdb

from pipeline.build import put_settings
from pipeline.settings import Settings
from pipeline.sql import load_folder
from tests.builds import connect
from tests.table_text import create_table

JOBS = {
    "job_no": "bigint", "source": "varchar", "job_id": "varchar", "machine_no": "bigint", "unit_type": "varchar",
    "reported_at": "timestamp", "reported_on": "date", "finished_at": "timestamp", "finished_on": "date",
    "is_fault": "boolean", "is_index": "boolean", "return_of": "varchar", "return_reason": "varchar",
}  # fmt: skip
MACHINES = {
    "machine_no": "bigint", "unit_type": "varchar", "make": "varchar", "model": "varchar", "is_listed": "boolean",
    "installed_on": "date", "first_job_no": "bigint", "first_finish_on": "date", "last_contact_on": "date",
    "ended_on": "date", "age_origin_on": "date",
}  # fmt: skip

SOURCE = {"part_source": "varchar"}


def drawn(**tables: str) -> duckdb.DuckDBPyConnection:
    """Tables as `schema__table`; days of jobs follow from their moments, jobs are fixed fault jobs where not said."""
    con = connect()
    put_settings(con, Settings())
    known = {
        "tables__jobs": JOBS,
        "tables__machines": MACHINES,
        "tables__lines": SOURCE,
        "facts__works": SOURCE,
    }
    empty = {"tables__jobs": "", "tables__machines": "", "tables__job_symptoms": "job_no:bigint | symptom"}
    for name, text in {**empty, **tables}.items():
        create_table(con, name.replace("__", "."), text, also=known.get(name))
    con.execute(
        """
        update tables.jobs set
            source = coalesce(source, 'shop'), job_id = coalesce(job_id, 'J' || job_no),
            reported_on = cast(reported_at as date), finished_on = cast(finished_at as date),
            is_fault = coalesce(is_fault, true), is_index = coalesce(is_index, finished_at is not null)
        """
    )
    con.execute(
        """
        create table tables.returns_named as
        select later.job_no, earlier.job_no as of_job_no
        from tables.jobs as later
        join tables.jobs as earlier on earlier.source = later.source and earlier.job_id = later.return_of
        """
    )
    return con


def make(con: duckdb.DuckDBPyConnection, *facts: str) -> None:
    """Run the files of facts, in this order."""
    texts = load_folder("facts")
    con.execute("create schema if not exists facts")
    for name in facts:
        con.execute(f"create or replace table facts.{name} as {texts[name]}")
