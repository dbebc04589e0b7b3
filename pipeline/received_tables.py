"""Received rows as tables of a build: every standard column there, mended cells laid over what was received."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from pathlib import Path

import duckdb
import pyarrow as pa

from pipeline.standard_log import LISTS, received_names
from pipeline.store.corrections import Mended
from pipeline.store.manifest import ReceivedFile

KEPT = ("record", "line", "row_digest", "row_problem", "source")
_CORRECTIONS = pa.schema(
    [("file_no", pa.int32()), ("record", pa.int64()), ("column_name", pa.string()), ("value", pa.string())]
)


def put_received(
    connection: duckdb.DuckDBPyConnection,
    folder: Path,
    entries: Sequence[ReceivedFile],
    mended: Sequence[Mended],
    *,
    only: Mapping[int, Collection[int]] | None = None,
    in_memory: Mapping[int, str] | None = None,
) -> None:
    """
    Create received.files, received.corrections, the view received.rows and the lists, and views <name>_unmended of all.

    Parameters
    ----------
    connection : connection
        The build.
    folder : Path
        Where the Parquet files of received rows lie.
    entries : sequence of ReceivedFile
        Files that count.
    mended : sequence of Mended
        Mended cells; only files that have some pay for them.
    only : mapping of int to collection of int, or None
        By file number the records to take; all of every file where it is None.
    in_memory : mapping of int to str, or None
        By file number the name of a table that holds its rows, where they lie in no file.
    """
    connection.execute("create schema received")
    _put_files(connection, entries)
    _put_corrections(connection, mended)
    mended_columns = {
        entry.file_no: sorted({cell.column for cell in mended if cell.file_no == entry.file_no})
        for entry in entries
    }

    there = in_memory or {}

    def rows_of(kind: str, columns: Mapping[int, Sequence[str]]) -> str:
        queries = (
            _file_rows(
                kind,
                entry,
                there.get(entry.file_no) or _source(entry, folder, only),
                columns.get(entry.file_no, ()),
            )
            for entry in entries
            if entry.kind == kind
        )
        return " union all ".join(queries) or _no_rows(kind)

    for kind in LISTS:
        made = "view" if kind == "log" else "table"
        connection.execute(f"create {made} received.{_table(kind)} as {rows_of(kind, mended_columns)}")
        connection.execute(f"create view received.{_table(kind)}_unmended as {rows_of(kind, {})}")


def drop_views(connection: duckdb.DuckDBPyConnection) -> None:
    """The views name files of the store; a build must answer without them."""
    for name in ("rows", *(f"{_table(kind)}_unmended" for kind in LISTS)):
        connection.execute(f"drop view received.{name}")


def _table(kind: str) -> str:
    return "rows" if kind == "log" else kind


def _put_files(connection: duckdb.DuckDBPyConnection, entries: Sequence[ReceivedFile]) -> None:
    connection.execute(
        "create table received.files (file_no integer, load_no integer, kind varchar, name varchar, layout varchar, "
        '"rows" bigint, has_job_id boolean, columns_left_out integer[], received_at timestamp)'
    )
    for entry in entries:
        connection.execute(
            "insert into received.files values ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
            [
                *(entry.file_no, entry.load, entry.kind, entry.name, entry.layout, entry.rows),
                *("job_id" in entry.columns, list(entry.columns_left_out), entry.received_at),
            ],
        )


def _put_corrections(connection: duckdb.DuckDBPyConnection, mended: Sequence[Mended]) -> None:
    rows = [
        {"file_no": cell.file_no, "record": cell.record, "column_name": cell.column, "value": cell.value}
        for cell in mended
    ]
    connection.register("given", pa.Table.from_pylist(rows, schema=_CORRECTIONS))
    connection.execute("create table received.corrections as select * from given")
    connection.unregister("given")


def _source(entry: ReceivedFile, folder: Path, only: Mapping[int, Collection[int]] | None) -> str:
    file = f"read_parquet({_literal(str(folder / entry.parquet))})"
    if only is None:
        return file
    records = ", ".join(str(int(record)) for record in sorted(only.get(entry.file_no, ())))
    return f"(select * from {file} where record in ({records or 'null'}))"


def _no_rows(kind: str) -> str:
    columns = ", ".join(_null(name) for name in (*KEPT, *received_names(kind)))
    return f"select null::integer as file_no, null::integer as load_no, {columns} where false"


def _file_rows(kind: str, entry: ReceivedFile, source: str, mended: Sequence[str]) -> str:
    """Query over the rows of one file; `mended` names the columns in which some of its cells were mended."""
    kept = ", ".join(_digest() if name == "row_digest" and mended else f"rows.{name}" for name in KEPT)
    columns = ", ".join(
        _cell(name, is_there=name in entry.columns, is_mended=name in mended) for name in received_names(kind)
    )
    join = f" left join ({_overlay(entry.file_no, mended)}) as mended on mended.record = rows.record"
    return (
        f"select {entry.file_no}::integer as file_no, {entry.load}::integer as load_no, {kept}, {columns} "
        f"from {source} as rows{join if mended else ''}"
    )


def _cell(name: str, *, is_there: bool, is_mended: bool) -> str:
    received = f'rows."{name}"' if is_there else "null::varchar"
    if is_mended:
        received = (
            f"case when list_contains(mended.names, '{name}') then mended.\"{name}\" else {received} end"
        )
    return f'{received} as "{name}"'


def _overlay(file_no: int, mended: Sequence[str]) -> str:
    """One row per mended row of a file, its mended cells side by side."""
    cells = ", ".join(f"max(value) filter (where column_name = '{name}') as \"{name}\"" for name in mended)
    said = "column_name || '=' || coalesce(value, '')"
    return (
        f"select record, list(column_name) as names, string_agg({said}, chr(30) order by column_name) as said, "
        f"{cells} from received.corrections where file_no = {file_no} group by record"
    )


def _digest() -> str:
    # Rows that were the same and were mended to say different things are not the same any more.
    said = "left(sha256(rows.row_digest || chr(30) || mended.said), length(rows.row_digest))"
    return f"case when mended.record is null then rows.row_digest else {said} end as row_digest"


def _null(name: str) -> str:
    kind = "bigint" if name in ("record", "line") else "varchar"
    return f'null::{kind} as "{name}"'


def _literal(text: str) -> str:
    # A view holds no bound value, so the path of a store with a quotation mark in it is escaped here.
    return "'" + text.replace("'", "''") + "'"
