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
from pipeline.received_tables import drop_views, put_received
from pipeline.settings import Settings
from pipeline.spark import engine
from pipeline.store import atomic, corrections
from pipeline.store.folder import Store
from pipeline.store.manifest import Manifest, ReceivedFile
from pipeline.store.opening import BUILD_VERSION, CLOSED, open_current
from pipeline.vocabulary.own_file import own_words_digest

MEMORY = "2560MB"  # what the size target leaves the build of four gigabytes
THREADS = 2
# What a full memory or disk raises, in the middle of a statement, at its end, or once the database gave up.
_NO_ROOM = (
    duckdb.OutOfMemoryException,
    duckdb.IOException,
    duckdb.TransactionException,
    duckdb.FatalException,
)
# Fingerprints of what was received, of corrections and of the shop's own words.
MadeFrom = tuple[str, str, str]


def build(
    store: Store,
    settings: Settings,
    layouts: Mapping[str, LayoutReading],
    say: Callable[[str], None],
    engine_name: str = "duckdb",
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
    engine_name : str
        What makes tables and facts: duckdb or spark.

    Returns
    -------
    Path
        The new build.
    """
    received = store.manifest
    say("Checking what was received")
    for entry in received.active:
        check_whole(store.received / entry.parquet, entry)
    mended, gone = corrections.placed(corrections.read(store.corrections), received.active)
    path = store.folder / f"fleet-{datetime.now(UTC):%Y%m%dt%H%M%S}-{secrets.token_hex(4)}.duckdb"
    try:
        with engine(engine_name, path.with_suffix(".exchange")) as run, _new_build(path) as connection:
            _put_settings(connection, settings, made_from(store, received))
            put_received(connection, store.received, received.active, mended)
            _put_gone(connection, received, gone)
            say("Reading words, dates and amounts")
            normalise.run(connection, settings, layouts, store.vocabulary)
            for folder, what in (
                ("tables", "Building jobs, visits and machines"),
                ("facts", "Counting facts"),
            ):
                say(what)
                run(connection, folder)
            drop_views(connection)
            connection.execute("checkpoint")
    except _NO_ROOM as error:
        raise UnreadableError(
            f"The build could not be finished ({type(error).__name__}): memory or disk is full. "
            "Everything received is kept, and the last build still answers. Make room, then run `mendstat reread`."
        ) from error
    atomic.sync(path)
    store.switch(path)
    return path


def check_whole(path: Path, entry: ReceivedFile) -> None:
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
    """Whether the store's build can be opened and was made from exactly what was received, mended and settled."""
    try:
        build_path = store.current_build()
        if build_path is None:
            return False
        with open_current(build_path) as connection:
            built = built_from(connection)
    except (duckdb.Error, UnreadableError):
        return False
    return built == made_from(store, received)


def built_from(connection: duckdb.DuckDBPyConnection) -> MadeFrom:
    """Fingerprints of what an open build was made from."""
    (built,) = connection.execute("select manifest, corrections, vocabulary from settings.build").fetchall()
    return built


def made_from(store: Store, received: Manifest) -> MadeFrom:
    """Fingerprints of what a build of the store would be made from now."""
    return received.digest(), corrections.digest(store.corrections), own_words_digest(store.vocabulary)


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


def put_settings(connection: duckdb.DuckDBPyConnection, settings: Settings) -> None:
    """Make the one-row table `settings.values` of the shop's choices; amounts in major units."""
    kinds = {
        "repeat_days": "integer",
        "guarantee_days": "integer",
        "time_zone": "varchar",
        "currency": "varchar",
    }
    kinds |= {"hour_costs": "double", "pricing": "varchar", "flat_price": "double", "customer_day": "double"}
    columns = ", ".join(
        f"cast(${place} as {kind}) as {name}" for place, (name, kind) in enumerate(kinds.items(), 1)
    )
    connection.execute("create schema if not exists settings")
    connection.execute(
        f'create or replace table settings."values" as select {columns}',
        [getattr(settings, name) for name in kinds],
    )


def _put_settings(connection: duckdb.DuckDBPyConnection, settings: Settings, made_from: MadeFrom) -> None:
    put_settings(connection, settings)
    connection.execute(
        "create table settings.build as "
        "select $1::varchar as manifest, $2::varchar as corrections, $3::varchar as vocabulary, $4::integer as version",
        [*made_from, BUILD_VERSION],
    )


def _put_gone(
    connection: duckdb.DuckDBPyConnection, received: Manifest, gone: list[corrections.Correction]
) -> None:
    """Corrections whose row is not there, with the file they belong to, else with the first one."""
    connection.execute(
        "create table received.corrections_gone (file_no integer, row_reference varchar, column_name varchar)"
    )
    for correction in gone:
        at = corrections.row_of(correction.row, received.active)
        file_no = at[0].file_no if at else received.active[0].file_no
        connection.execute(
            "insert into received.corrections_gone values ($1, $2, $3)",
            [file_no, correction.row, correction.column],
        )
