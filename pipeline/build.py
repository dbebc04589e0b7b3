"""The build: everything derived, always made whole from what was received, then switched to at once."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import duckdb

from pipeline import normalise
from pipeline.errors import UnreadableError
from pipeline.normalise import LayoutReading
from pipeline.settings import Settings
from pipeline.sql import run_folder
from pipeline.standard_log import LISTS, column_names
from pipeline.store import atomic
from pipeline.store.folder import Store
from pipeline.store.manifest import Manifest, ReceivedFile
from pipeline.store.opening import CLOSED, open_build

MEMORY = "2560MB"  # what the size target leaves the build of four gigabytes
THREADS = 2
# Raise it when the same received rows would give other tables: older builds are then made again.
BUILD_VERSION = 2

KEPT = ("record", "line", "row_digest", "row_problem", "source")


def build(
    store: Store, settings: Settings, layouts: Mapping[str, LayoutReading], say: Callable[[str], None]
) -> Path:
    """
    Make a build of everything received and let it answer.

    The caller holds the store's lock. A build that dies leaves the last good one answering.

    Parameters
    ----------
    store : Store
        The store.
    settings : Settings
        The shop's choices; they become the one-row table `settings.values`.
    layouts : mapping of str to layout
        By name.
    say : callable
        Told what is being done.

    Returns
    -------
    Path
        The new build.
    """
    received = store.manifest
    say("Checking what was received")
    for entry in received.active:
        _check_whole(store.received / entry.parquet, entry)
    path = store.folder / f"fleet-{datetime.now(UTC):%Y%m%dt%H%M%S}-{secrets.token_hex(4)}.duckdb"
    try:
        with _new_build(path) as connection:
            _put_settings(connection, settings, received)
            _put_received(connection, store, received)
            say("Reading words, dates and amounts")
            normalise.run(connection, settings, layouts, store.vocabulary)
            for folder, what in (
                ("tables", "Building jobs, visits and machines"),
                ("facts", "Counting facts"),
            ):
                say(what)
                run_folder(connection, folder)
            # The view names files of the store; the build must answer without them.
            connection.execute("drop view received.rows")
            connection.execute("checkpoint")
    except (duckdb.OutOfMemoryException, duckdb.IOException) as error:
        raise UnreadableError(
            f"The build could not be finished ({type(error).__name__}): memory or disk is full. "
            "Everything received is kept, and the last build still answers. Make room, then run `mendstat reread`."
        ) from error
    atomic.sync(path)
    store.switch(path)
    return path


def _check_whole(path: Path, entry: ReceivedFile) -> None:
    """A figure must not rest on rows that a failing disk or a stray hand has changed."""
    try:
        with path.open("rb") as file:
            is_whole = hashlib.file_digest(file, "sha256").hexdigest() == entry.parquet_sha256
    except OSError:
        is_whole = False
    if not is_whole:
        state = "is damaged" if path.exists() else "is missing"
        raise UnreadableError(
            f"{path}, received from {entry.name}, {state}. Put the folder `received` back from a back-up."
        )


def is_current(store: Store, received: Manifest) -> bool:
    """Whether the store's build can be opened and was made from exactly what was received."""
    try:
        build_path = store.current_build()
        if build_path is None:
            return False
        with open_build(build_path) as connection:
            made_from = connection.execute("select manifest, version from settings.build").fetchall()
    except (duckdb.Error, UnreadableError):
        return False
    return made_from == [(received.digest(), BUILD_VERSION)]


@contextmanager
def _new_build(path: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    """Open a new database to write; what it spilled is gone afterwards."""
    spill = path.with_suffix(".spill")
    config = {
        **CLOSED,
        "threads": THREADS,
        "memory_limit": MEMORY,
        # Identity was replaced before anything got here, so a spill file holds no more than the store itself.
        "temp_directory": str(spill),
        "preserve_insertion_order": False,
    }
    with duckdb.connect(path, config=config) as connection:
        connection.execute("set TimeZone = 'UTC'")
        yield connection
    if spill.exists():
        for left in spill.iterdir():
            left.unlink()
        spill.rmdir()


def _put_settings(connection: duckdb.DuckDBPyConnection, settings: Settings, received: Manifest) -> None:
    connection.execute("create schema settings")
    connection.execute(
        'create table settings."values" as select $1::integer as repeat_days, $2::integer as guarantee_days, '
        "$3::varchar as time_zone, $4::varchar as currency",
        [settings.repeat_days, settings.guarantee_days, settings.time_zone, settings.currency],
    )
    connection.execute(
        "create table settings.build as select $1::varchar as manifest, $2::integer as version",
        [received.digest(), BUILD_VERSION],
    )


def _put_received(connection: duckdb.DuckDBPyConnection, store: Store, received: Manifest) -> None:
    connection.execute("create schema received")
    connection.execute(
        "create table received.files (file_no integer, load_no integer, kind varchar, name varchar, layout varchar, "
        '"rows" bigint, has_job_id boolean, columns_left_out integer[], received_at timestamp)'
    )
    for entry in received.active:
        connection.execute(
            "insert into received.files values ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
            [
                *(entry.file_no, entry.load, entry.kind, entry.name, entry.layout, entry.rows),
                *("job_id" in entry.columns, list(entry.columns_left_out), entry.received_at),
            ],
        )
    by_kind = {kind: [entry for entry in received.active if entry.kind == kind] for kind in LISTS}
    for kind, entries in by_kind.items():
        query = _all_rows(kind, entries, store)
        made = "view received.rows" if kind == "log" else f"table received.{kind}"
        connection.execute(f"create {made} as {query}")


def _all_rows(kind: str, entries: list[ReceivedFile], store: Store) -> str:
    """Query over all rows of one kind of file, every standard column there."""
    if not entries:
        empty = ReceivedFile(0, 0, kind, "", "", "", "", "", "", "", 0, "", 0, (), (), "")
        source = f"(select {', '.join(_null(name) for name in KEPT)})"
        return f"{_file_rows(kind, empty, source)} where false"
    return " union all ".join(
        _file_rows(kind, entry, f"read_parquet({_literal(str(store.received / entry.parquet))})")
        for entry in entries
    )


def _file_rows(kind: str, entry: ReceivedFile, source: str) -> str:
    columns = ", ".join(f'"{name}"' if name in entry.columns else _null(name) for name in column_names(kind))
    return (
        f"select {entry.file_no}::integer as file_no, {entry.load}::integer as load_no, {', '.join(KEPT)}, {columns} "
        f"from {source}"
    )


def _null(name: str) -> str:
    kind = "bigint" if name in ("record", "line") else "varchar"
    return f'null::{kind} as "{name}"'


def _literal(text: str) -> str:
    # A view holds no bound value, so the path of a store with a quotation mark in it is escaped here.
    return "'" + text.replace("'", "''") + "'"
