"""Opening a build: to read only, shut off from everything else."""

from __future__ import annotations

from pathlib import Path

import duckdb

from pipeline.errors import UnreadableError

# Raise it when the same received rows would give other tables: older builds are then made again.
BUILD_VERSION = 14

# Nothing is ever fetched, whatever a query asks for.
CLOSED: dict[str, str | bool | int | float | list[str]] = {
    "autoinstall_known_extensions": False,
    "autoload_known_extensions": False,
    "allow_community_extensions": False,
}


def open_current(build: Path) -> duckdb.DuckDBPyConnection:
    """
    Open one build as `open_build` does, if its tables are those this version of mendstat asks.

    Raises
    ------
    UnreadableError
        If it cannot be opened, or was made by an older or newer version.
    """
    connection = open_build(build)
    try:
        found = connection.execute("select version from settings.build").fetchall()
    except duckdb.Error:
        found = []
    if found != [(BUILD_VERSION,)]:
        connection.close()
        made = "a newer" if found and (found[0][0] or 0) > BUILD_VERSION else "an older"
        raise UnreadableError(
            f"The build {build} was made by {made} version of mendstat. Run `mendstat reread` to build it again; "
            "everything received is kept."
        )
    return connection


def open_build(build: Path) -> duckdb.DuckDBPyConnection:
    """
    Open one build read-only, sandboxed, with its time in UTC.

    A process may open the same build several times: the connections share one instance, which is locked once.
    """
    config = {**CLOSED, "threads": 2, "memory_limit": "2GB", "temp_directory": ""}
    try:
        connection = duckdb.connect(build, read_only=True, config=config)
        if not _is_locked(connection):
            _close_off(connection)
    except duckdb.Error as error:
        raise UnreadableError(
            f"The build {build} could not be opened ({type(error).__name__}). Run `mendstat reread` to build it again."
        ) from None
    return connection


def _close_off(connection: duckdb.DuckDBPyConnection) -> None:
    try:
        connection.execute("set global TimeZone = 'UTC'")
        connection.execute("set enable_external_access = false")
        connection.execute("set lock_configuration = true")
    except duckdb.Error:
        # Another thread of this process was quicker.
        if not _is_locked(connection):
            raise


def _is_locked(connection: duckdb.DuckDBPyConnection) -> bool:
    found = connection.execute("select current_setting('lock_configuration')").fetchall()
    return bool(found[0][0])
