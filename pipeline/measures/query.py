"""One way to put a query to a build: values are bound by name, never pasted in."""

from __future__ import annotations

from collections.abc import Mapping

import duckdb
import polars as pl


def ask(con: duckdb.DuckDBPyConnection, sql: str, values: Mapping[str, object]) -> pl.DataFrame:
    """
    Rows of a query as a frame.

    Parameters
    ----------
    con : DuckDBPyConnection
        An open build.
    sql : str
        One SELECT from our own registry.
    values : mapping
        Values by name; those the query does not name are left out, since DuckDB refuses what is not used.
    """
    result: pl.DataFrame = con.sql(
        sql, params={name: value for name, value in values.items() if f"${name}" in sql}
    ).pl()
    return result
