"""A build from drawn rows, without files: what intake would hand over, then normalise, tables and facts."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import duckdb

from pipeline import normalise
from pipeline.build import put_settings
from pipeline.settings import Settings
from pipeline.sql import run_folder
from pipeline.standard_log import received_names
from tests.table_text import create_table, parse

RECEIVED = {
    "file_no": "integer",
    "load_no": "integer",
    "record": "bigint",
    "line": "bigint",
    "row_digest": "varchar",
}
RECEIVED |= {"row_problem": "varchar", "source": "varchar"}
FILES = {
    "file_no": "integer",
    "load_no": "integer",
    "kind": "varchar",
    "name": "varchar",
    "layout": "varchar",
}
FILES |= {"received_at": "timestamp", "rows": "bigint", "has_job_id": "boolean"}


@dataclass(frozen=True)
class Completes:
    """Whose visits a layout's rows complete, for a test."""

    layout: str
    by: tuple[str, ...] = ("job_id",)


@dataclass(frozen=True)
class Layout:
    """What a layout says, for a test."""

    values: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    time_zone: str | None = None
    lines_may_repeat: bool = False
    split: tuple[str, ...] = ()
    completes: Completes | None = None
    forms: Mapping[str, str] = field(default_factory=dict)
    not_recorded: tuple[str, ...] = ()


@dataclass(frozen=True)
class LogFile:
    """One received file, drawn."""

    text: str
    load_no: int = 1
    layout: str = "plain"
    received_at: str = "2030-01-01 12:00"


def connect() -> duckdb.DuckDBPyConnection:
    """An empty database whose clock is UTC."""
    con = duckdb.connect()
    con.execute("set TimeZone = 'UTC'")
    return con


def receive(con: duckdb.DuckDBPyConnection, files: Sequence[LogFile | str], **lists: str) -> None:
    """Create received.* and settings.values from drawn files."""
    columns = {**RECEIVED, **dict.fromkeys(received_names("log"), "varchar")}
    create_table(con, "received.rows", also=columns)
    create_table(con, "received.files", also=FILES)
    for number, file in enumerate(files, start=1):
        _receive_log(con, number, file if isinstance(file, LogFile) else LogFile(file))
    for number, (kind, text) in enumerate(lists.items(), start=len(files) + 1):
        _receive_list(con, number, kind, text)


def normalised(
    *files: LogFile | str,
    settings: Settings | None = None,
    layouts: Mapping[str, Layout] | None = None,
    **lists: str,
) -> duckdb.DuckDBPyConnection:
    """Received rows and the schema normalise."""
    con = connect()
    receive(con, files, **lists)
    put_settings(con, settings or Settings())
    normalise.run(con, settings or Settings(), layouts or {})
    return con


def built(
    *files: LogFile | str,
    settings: Settings | None = None,
    layouts: Mapping[str, Layout] | None = None,
    facts: bool = True,
    **lists: str,
) -> duckdb.DuckDBPyConnection:
    """A whole build."""
    con = normalised(*files, settings=settings, layouts=layouts, **lists)
    run_folder(con, "tables")
    if facts:
        run_folder(con, "facts")
    return con


def _receive_log(con: duckdb.DuckDBPyConnection, file_no: int, file: LogFile) -> None:
    types, rows = parse(file.text)
    con.execute(
        "insert into received.files values ($1, $2, 'log', $3, $4, $5, $6, $7)",
        [
            file_no,
            file.load_no,
            f"file {file_no}",
            file.layout,
            file.received_at,
            len(rows),
            "job_id" in types,
        ],
    )
    fixed = {"file_no": file_no, "load_no": file.load_no, "source": "shop"}
    for record, cells in enumerate(rows, start=1):
        content = {name: cell for name, cell in zip(types, cells, strict=True) if cell}
        digest = hashlib.md5(repr(sorted(content.items())).encode(), usedforsecurity=False).hexdigest()
        _insert(con, "received.rows", {**fixed, "record": record, "row_digest": digest, **content})


def _receive_list(con: duckdb.DuckDBPyConnection, file_no: int, kind: str, text: str) -> None:
    types, rows = parse(text)
    names = {"file_no": "integer", "record": "bigint", "row_digest": "varchar", "row_problem": "varchar"}
    create_table(con, f"received.{kind}", also={**names, **dict.fromkeys(received_names(kind), "varchar")})
    con.execute(
        "insert into received.files values ($1, 1, $2, $3, 'plain', '2030-01-01 12:00', $4, false)",
        [file_no, kind, f"file {file_no}", len(rows)],
    )
    for record, cells in enumerate(rows, start=1):
        content = {name: cell for name, cell in zip(types, cells, strict=True) if cell}
        _insert(con, f"received.{kind}", {"file_no": file_no, "record": record, **content})


def _insert(con: duckdb.DuckDBPyConnection, table: str, values: Mapping[str, object]) -> None:
    names = ", ".join(f'"{name}"' for name in values)
    con.execute(
        f"insert into {table} ({names}) values ({', '.join('?' for _ in values)})", list(values.values())
    )
