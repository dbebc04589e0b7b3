"""Everything that is wrong with the rows set aside: normalise.row_problems, one row per cell to mend."""

from __future__ import annotations

import duckdb

from pipeline.normalise import typed
from pipeline.normalise.lists import TABLES


def list_problems(con: duckdb.DuckDBPyConnection) -> None:
    """
    Create normalise.row_problems: file_no, record, line, column_name, reason, shape; `row` where no cell can be named.

    What the rows say of themselves goes from their tables into this one, which is small, and their cells are shown as
    shapes from here on.
    """
    tables = {"lines": "line", **dict.fromkeys(TABLES.values(), "cast(null as bigint)")}
    every = " union all ".join(_problems_of(table, line) for table, line in tables.items())
    con.execute(
        f"""
        create or replace table normalise.row_problems as
        select file_no, record, line, problem.column_name, problem.reason, {typed.shape("problem.cell")} as shape
        from ({every})
        where problem is not null
        """
    )
    for table in tables:
        con.execute(f"alter table normalise.{table} drop column problems")


def _problems_of(table: str, line: str) -> str:
    return (
        f"select file_no, record, {line} as line, unnest(problems) as problem from normalise.{table} "
        "where problem_reason is not null"
    )
