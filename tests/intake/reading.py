"""Read small files given as bytes, the way a load does."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from pipeline.intake.cells import Header
from pipeline.intake.csv_file import BLOCK_BYTES, read_blocks, read_header
from pipeline.intake.source import Source, survey
from pipeline.store.key import Key

KEY = Key("0123456789abcdef" * 4)


class Record(NamedTuple):
    """One record as it came out: number, cells (nulls where they cannot be told apart), problem, physical line."""

    number: int
    cells: tuple[str | None, ...]
    problem: str | None
    line: int | None


def header_of(content: bytes) -> Header:
    source = Source(Path("some.csv"), content)
    return read_header(source, survey(source, KEY))


def records_of(content: bytes, block_bytes: int = BLOCK_BYTES) -> list[Record]:
    source = Source(Path("some.csv"), content)
    found = survey(source, KEY)
    header = read_header(source, found)
    return [
        Record(block.first_record + n, block.cells.row(n), block.problem[n], block.line[n])
        for block in read_blocks(source, found, header, block_bytes)
        for n in range(block.cells.height)
    ]
