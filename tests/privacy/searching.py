"""What a folder of files says, whatever form a file hides it in: raw, wide, packed, as columns of a table."""

from __future__ import annotations

import contextlib
import re
import zipfile
from collections.abc import Iterable, Iterator
from pathlib import Path

import duckdb
import polars as pl
import pyarrow as pa

ZSTD_START = bytes.fromhex("28b52ffd")


def holding(folder: Path, names: tuple[str, ...]) -> list[str]:
    """Files below a folder that hold one of the names, as written or cleaned, packed or not."""
    wanted = [form for name in names for form in (name.casefold(), name.casefold().replace(" ", ""))]
    found = []
    for path in sorted(p for p in folder.rglob("*") if p.is_file()):
        texts = readings(path)
        if any(form in text for text in texts for form in wanted):
            found.append(str(path.relative_to(folder)))
    return found


def readings(path: Path) -> Iterator[str]:
    """What a file says: its name, its bytes, what is packed in it, and its rows where it is a table."""
    content = path.read_bytes()
    yield path.name.casefold()
    yield content.decode("latin-1").casefold()
    yield content.replace(b"\0", b"").decode("latin-1").casefold()
    yield from unpacked(content)
    if path.suffix == ".parquet" and content.endswith(b"PAR1"):
        yield str(pl.read_parquet(path).select(pl.all().cast(pl.String)).rows()).casefold()
    if path.suffix == ".duckdb":
        yield from tables(path)


def unpacked(content: bytes) -> Iterator[str]:
    """Every zstd frame in some bytes, whole or cut off: an unfinished Parquet file cannot be read otherwise."""
    at = content.find(ZSTD_START)
    while at >= 0:
        stream = pa.CompressedInputStream(pa.BufferReader(content[at:]), "zstd")
        with contextlib.suppress(OSError):
            yield stream.read(1 << 22).decode("latin-1").casefold()
        at = content.find(ZSTD_START, at + 4)


def tables(path: Path) -> Iterator[str]:
    """Rows of every table of a database that can be opened; a killed build cannot."""
    try:
        con = duckdb.connect(path, read_only=True)
    except duckdb.Error:
        return
    with con:
        for schema, table in con.execute("select schema_name, table_name from duckdb_tables()").fetchall():
            yield str(con.execute(f'select * from "{schema}"."{table}"').fetchall()).casefold()


# Below that many letters or digits a mark is found in packed bytes by chance.
SHORTEST_IN_BYTES = 8


def marks_found(texts: Iterable[str], marks: Iterable[str]) -> set[str]:
    """
    Marks that stand in some texts: without case, and without spaces and punctuation.

    A text is one cell, line or page: marks are not looked for across two of them.
    """
    frame = pl.DataFrame({"text": list(texts)}, schema={"text": pl.String}).unique()
    forms = pl.concat(
        [
            frame.select(pl.col("text").str.to_lowercase()),
            frame.select(pl.col("text").str.to_lowercase().str.replace_all(r"[\W_]", "")),
        ]
    )
    found = forms.select(pl.col("text").str.extract_many(sorted(marks), overlapping=True).explode())
    return set(found.to_series().drop_nulls())


def marks_in_folder(folder: Path, marks: Iterable[str]) -> dict[str, set[str]]:
    """Marks in every file below a folder, by file: in its cells where it is a table, and in its bytes."""
    marks = sorted(marks)
    long = [mark for mark in marks if len(mark) >= SHORTEST_IN_BYTES]
    found = {}
    for path in sorted(p for p in folder.rglob("*") if p.is_file()):
        there = marks_found([path.name, *cells(path)], marks)
        there |= marks_found(readings(path), long)
        if there:
            found[str(path.relative_to(folder))] = there
    return found


def cells(path: Path) -> Iterator[str]:
    """Text cells of a table, or the lines of a text; keyed digests are left out, in which anything may stand by chance."""
    if path.suffix == ".parquet" and path.read_bytes().endswith(b"PAR1"):
        yield from _texts(pl.read_parquet(path))
    elif path.suffix == ".duckdb":
        with contextlib.suppress(duckdb.Error), duckdb.connect(path, read_only=True) as con:
            for schema, table in con.execute(
                "select schema_name, table_name from duckdb_tables()"
            ).fetchall():
                yield from _texts(con.sql(f'select * from "{schema}"."{table}"').pl())
    elif path.suffix == ".xlsx":
        with zipfile.ZipFile(path) as book:
            for name in book.namelist():
                yield from re.split(r"<[^>]*>", book.read(name).decode("utf-8", "ignore"))
    else:
        yield from path.read_bytes().decode("utf-8", "ignore").splitlines()


def _texts(frame: pl.DataFrame) -> Iterator[str]:
    for name, kind in frame.schema.items():
        if name != "row_digest" and kind in (pl.String, pl.List(pl.String)):
            yield from frame.get_column(name).explode().drop_nulls().unique()
