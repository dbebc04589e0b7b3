"""Small tables worked out in Python, put into the build."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import duckdb
import polars as pl
import pyarrow as pa


def store_rows(
    con: duckdb.DuckDBPyConnection, name: str, schema: pa.Schema, rows: Iterable[Mapping[str, object]]
) -> None:
    """Create normalise.<name> from rows; the schema gives names and types, also where there is no row."""
    _store(con, name, pa.Table.from_pylist(list(rows), schema=schema))


def store_frame(con: duckdb.DuckDBPyConnection, name: str, frame: pl.DataFrame) -> None:
    """Create normalise.<name> from a frame."""
    _store(con, name, frame.to_arrow())


def _store(con: duckdb.DuckDBPyConnection, name: str, rows: pa.Table) -> None:
    con.register("worked_out", rows)
    con.execute(f"create or replace table normalise.{name} as select * from worked_out")
    con.unregister("worked_out")


def text_columns(*names: str) -> pa.Schema:
    """A schema of text columns."""
    return pa.schema([(name, pa.string()) for name in names])
