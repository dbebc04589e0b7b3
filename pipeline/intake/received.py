"""One file taken in: read, made safe, and kept as Parquet under its hashes."""

from __future__ import annotations

import hashlib
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from pathlib import Path

import polars as pl
import pyarrow as pa
from pyarrow import parquet

from pipeline.intake.block import Block
from pipeline.intake.transform import Transformer
from pipeline.store import atomic

BEFORE = (("record", pa.int64()), ("line", pa.int64()))
# Blocks; each costs about twenty times its bytes in memory, and the machine this is meant for has two cores.
CHANGED_AT_A_TIME = 2
TEXTS = ("row_digest", "row_problem", "source")


def receive(blocks: Iterator[Block], transformer: Transformer, path: Path) -> tuple[int, str]:
    """
    Keep a table's rows as Parquet.

    The file appears under its name only when it is whole and on the disk. Nothing reaches a disk before identity
    is replaced: each block is read, changed and written while it is in memory.

    Returns
    -------
    rows : int
        How many were kept: every record of the file.
    hash : str
        SHA-256 of the Parquet file.
    """
    schema = _schema(transformer)
    temporary = atomic.temporary_name(path)
    try:
        with ThreadPoolExecutor(1) as reading, ThreadPoolExecutor(CHANGED_AT_A_TIME) as changing:

            def change(block: Block) -> pa.Table:
                return transformer.rows(block).to_arrow(compat_level=pl.CompatLevel.oldest()).cast(schema)

            rows = _write(temporary, schema, _in_order(_ahead(blocks, reading), change, changing))
        with temporary.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
        atomic.put_in_place(temporary, path)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    return rows, digest


def _schema(transformer: Transformer) -> pa.Schema:
    names = (*TEXTS, *(column.name for column in transformer.columns))
    return pa.schema([*BEFORE, *((name, pa.string()) for name in names)])


def _ahead(blocks: Iterator[Block], reading: Executor) -> Iterator[Block]:
    """Give blocks on while the next one is already being read."""
    coming = reading.submit(next, blocks, None)
    while (block := coming.result()) is not None:
        coming = reading.submit(next, blocks, None)
        yield block


def _in_order(
    blocks: Iterator[Block], change: Callable[[Block], pa.Table], changing: Executor
) -> Iterator[pa.Table]:
    """Changed blocks in the order they came, a few of them being changed while one is written."""
    coming: deque[Future[pa.Table]] = deque()
    for block in blocks:
        coming.append(changing.submit(change, block))
        if len(coming) > CHANGED_AT_A_TIME:
            yield coming.popleft().result()
    while coming:
        yield coming.popleft().result()


def _write(path: Path, schema: pa.Schema, tables: Iterable[pa.Table]) -> int:
    rows = 0
    # Digests are all different; a dictionary of them would only cost time and room.
    dictionaries = [name for name in schema.names if name not in {"record", "line", "row_digest"}]
    with parquet.ParquetWriter(path, schema, compression="zstd", use_dictionary=dictionaries) as writer:
        for table in tables:
            writer.write_table(table, row_group_size=max(1, table.num_rows))
            rows += table.num_rows
    return rows
