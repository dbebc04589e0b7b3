"""Received rows written again: under another key, or without the rows of somebody who asked to be forgotten."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import polars as pl
from pyarrow import parquet

from pipeline.build import is_current
from pipeline.errors import UnreadableError
from pipeline.load import build_again
from pipeline.store import atomic, corrections
from pipeline.store import manifest as manifests
from pipeline.store.corrections import Correction
from pipeline.store.folder import Store
from pipeline.store.manifest import Manifest, ReceivedFile

Change = Callable[[pl.DataFrame], pl.DataFrame]


def rewritten(store: Store, entry: ReceivedFile, name: str, change: Change) -> ReceivedFile:
    """
    Write a received file again beside the old one, row group by row group.

    Parameters
    ----------
    store : Store
        The caller holds its lock.
    entry : ReceivedFile
        The file as it is listed.
    name : str
        What the new file is to be called.
    change : callable
        Gives the rows to keep of some rows.

    Returns
    -------
    ReceivedFile
        The entry of the new file.

    Raises
    ------
    UnreadableError
        If the old file is damaged.
    """
    path, temporary = store.received / name, atomic.temporary_name(store.received / name)
    rows = 0
    try:
        with parquet.ParquetFile(_whole(store.received / entry.parquet, entry)) as old:
            schema = old.schema_arrow
            with parquet.ParquetWriter(temporary, schema, compression="zstd") as writer:
                for number in range(old.num_row_groups):
                    table = old.read_row_group(number)
                    changed = change(pl.DataFrame(table)).to_arrow(compat_level=pl.CompatLevel.oldest())
                    writer.write_table(changed.cast(schema), row_group_size=max(1, changed.num_rows))
                    rows += changed.num_rows
        with temporary.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
        atomic.put_in_place(temporary, path)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    return replace(entry, parquet=name, parquet_sha256=digest, rows=rows)


def unused_name(entry: ReceivedFile, source_hash: str) -> str:
    """A name that no received file had before."""
    return f"{source_hash}.{entry.reading_hash}.{secrets.token_hex(4)}.parquet"


def take_over(store: Store, manifest: Manifest, kept: list[Correction], say: Callable[[str], None]) -> None:
    """
    Let a rewritten manifest count, remove everything that it replaces, and build again.

    Until the manifest is in its place the store is as it was; after it a `mendstat reread` finishes the rest.
    """
    earlier = corrections.replace_all(store.corrections, kept)
    manifests.write(manifest, store.manifest_path)
    for path in earlier:
        path.unlink()
    _build_anew(store, say)


def finish(store: Store, say: Callable[[str], None]) -> None:
    """Do the rest of a rewriting that was killed: until then a build of the rows as they were answers. Needs the lock."""
    if store.manifest.active and not is_current(store, store.manifest):
        _build_anew(store, say)


def _build_anew(store: Store, say: Callable[[str], None]) -> None:
    for build in store.folder.glob("fleet-*.duckdb"):
        build.unlink()
    build_again(store, say)


def _whole(path: Path, entry: ReceivedFile) -> Path:
    try:
        with path.open("rb") as file:
            if hashlib.file_digest(file, "sha256").hexdigest() == entry.parquet_sha256:
                return path
    except OSError:
        pass
    raise UnreadableError(
        f"{path}, received from {entry.name}, is damaged or missing. Put the folder `received` back from a back-up."
    )
