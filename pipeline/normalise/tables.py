"""Small tables worked out in Python, put into the build."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager

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


def add_frame(
    con: duckdb.DuckDBPyConnection, name: str, frame: pl.DataFrame, *, unless_known: Sequence[str] = ()
) -> None:
    """
    Add the rows of a frame to normalise.<name>, column by name.

    Parameters
    ----------
    con : connection
        The build.
    name : str
        A table that is there.
    frame : frame
        Its rows.
    unless_known : sequence of str
        Columns, never empty; a row whose values in them are there already is left out.
    """
    same = " and ".join(f"known.{column} = given.{column}" for column in unless_known)
    left_out = f"anti join normalise.{name} as known on {same}" if same else ""
    with _given(con, frame.to_arrow()) as given:
        con.execute(f"insert into normalise.{name} by name select given.* from {given} as given {left_out}")


def _store(con: duckdb.DuckDBPyConnection, name: str, rows: pa.Table) -> None:
    with _given(con, rows) as given:
        con.execute(f"create or replace table normalise.{name} as select * from {given}")


@contextmanager
def _given(con: duckdb.DuckDBPyConnection, rows: pa.Table) -> Iterator[str]:
    """Name under which SQL can read the rows."""
    con.register("worked_out", rows)
    yield "worked_out"
    con.unregister("worked_out")


def text_columns(*names: str) -> pa.Schema:
    """A schema of text columns."""
    return pa.schema([(name, pa.string()) for name in names])
