"""Read small files given as bytes, the way a load does."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from pipeline.intake.block import BLOCK_BYTES, Header, Table
from pipeline.intake.source import Source, survey
from pipeline.intake.tables import tables_of
from pipeline.store.key import Key

KEY = Key("0123456789abcdef" * 4)


class Record(NamedTuple):
    """One record as it came out: number, cells (nulls where they cannot be told apart), problem, physical line."""

    number: int
    cells: tuple[str | None, ...]
    problem: str | None
    line: int | None


def tables_in(content: bytes) -> tuple[Table, ...]:
    source = Source(Path("some.csv"), content)
    return tables_of(source, survey(source, KEY)).tables


def headers_of(content: bytes) -> list[Header]:
    (table,) = tables_in(content)
    return list(table.headers())


def header_of(content: bytes) -> Header:
    return headers_of(content)[0]


def records_of(content: bytes, block_bytes: int = BLOCK_BYTES, above: int = 0) -> list[Record]:
    (table,) = tables_in(content)
    header = next(header for header in table.headers() if header.above == above)
    return [
        Record(block.first_record + n, block.cells.row(n), block.problem[n], block.line[n])
        for block in table.blocks(header, block_bytes)
        for n in range(block.cells.height)
    ]
