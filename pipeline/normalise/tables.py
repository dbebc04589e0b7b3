"""Small tables worked out in Python, put into the build."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import duckdb
import pyarrow as pa


def store_rows(
    con: duckdb.DuckDBPyConnection, name: str, schema: pa.Schema, rows: Iterable[Mapping[str, object]]
) -> None:
    """Create normalise.<name> from rows; the schema gives names and types, also where there is no row."""
    con.register("worked_out", pa.Table.from_pylist(list(rows), schema=schema))
    con.execute(f"create or replace table normalise.{name} as select * from worked_out")
    con.unregister("worked_out")


def text_columns(*names: str) -> pa.Schema:
    """A schema of text columns."""
    return pa.schema([(name, pa.string()) for name in names])
