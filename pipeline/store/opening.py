"""Opening a build: to read only, shut off from everything else."""

from __future__ import annotations

from pathlib import Path

import duckdb

from pipeline.errors import UnreadableError

# Raise it when the same received rows would give other tables: older builds are then made again.
BUILD_VERSION = 17

MEMORY = "2GB"  # what a command may take to answer
# What DuckDB raises when it meets blocks that are not as it wrote them.
_DAMAGE = (
    duckdb.IOException,
    duckdb.FatalException,
    duckdb.InternalException,
    duckdb.SerializationException,
)
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
    config = {**CLOSED, "threads": 2, "memory_limit": MEMORY, "temp_directory": ""}
    try:
        connection = duckdb.connect(build, read_only=True, config=config)
        if not _is_locked(connection):
            _close_off(connection)
    except duckdb.Error as error:
        raise UnreadableError(
            f"The build {build} could not be opened ({type(error).__name__}). Run `mendstat reread` to build it again."
        ) from None
    return connection


def trouble_with_build(error: Exception) -> UnreadableError | None:
    """
    What to tell the user of an error in the middle of a query; None where the build is not to blame.

    Damage far inside a build is met only when its blocks are read.
    """
    if isinstance(error, duckdb.OutOfMemoryException):
        return UnreadableError(
            f"This question needs more memory than a command may take ({MEMORY}). Ask for fewer groups, or a "
            "shorter time."
        )
    if isinstance(error, _DAMAGE):
        return UnreadableError(
            f"The build could not be read to its end ({type(error).__name__}): it is damaged, or its disk is. "
            "Run `mendstat reread` to build it again; everything received is kept."
        )
    return None


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
