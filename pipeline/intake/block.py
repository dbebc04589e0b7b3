"""What every reader gives, whatever kind of file it reads: headers, and blocks of cells as text."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

import polars as pl

from pipeline.intake.source import Source, Survey

# How much of a file is read at a time; no row depends on it.
BLOCK_BYTES = 1 << 23
# Titles and addresses may stand above the header; it is looked for among so many records.
HEADER_AMONG = 30
# Cells of a block of a file whose records have no size of their own. A block of CSV holds about as many.
BLOCK_CELLS = 1 << 20


@dataclass(frozen=True)
class Header:
    """
    A record that may name the columns.

    Attributes
    ----------
    names : tuple of str
        Its fields.
    delimiter : str
        What parts them, in a text file.
    above : int
        How many records of the file stand above it: titles, which are no rows.
    """

    names: tuple[str, ...]
    delimiter: str = ","
    above: int = 0

    @property
    def width(self) -> int:
        """How many columns it names."""
        return sum(bool(name.strip()) for name in self.names)


@dataclass(frozen=True)
class Block:
    """
    Some records, in the order of the file.

    Attributes
    ----------
    cells : frame
        One text column per header, named by position ("0", "1", …); an empty cell is an empty text. A row with a
        problem has no cells: its fields cannot be told apart, so none of them may be taken for a harmless one.
    problem : series of text
        What is wrong with the row's structure; null where nothing is.
    raw : series of text
        The record as written, of rows with a problem. Never to be kept.
    first_record : int
        1-based number of the first record.
    line : series of int
        Physical line (row of a sheet) of each record, where it is not simply the record number plus one; else
        null. A Parquet file has no lines.
    """

    cells: pl.DataFrame
    problem: pl.Series
    raw: pl.Series
    first_record: int
    line: pl.Series


class Table(Protocol):
    """A table that rows can be read from: a file, or one sheet of a workbook."""

    @property
    def source(self) -> Source:
        """The file's bytes."""
        ...

    @property
    def survey(self) -> Survey:
        """What a first look at the whole file found."""
        ...

    @property
    def sheet(self) -> int | None:
        """1-based number of the sheet; None for what is no workbook."""
        ...

    @property
    def title(self) -> str | None:
        """Name of the sheet, which may be somebody's name; None for what is no workbook."""
        ...

    def headers(self) -> Sequence[Header]:
        """Records that may be the header, in the order of the file; at least one."""
        ...

    def blocks(
        self, header: Header, block_bytes: int = BLOCK_BYTES, tell: Callable[[int], None] | None = None
    ) -> Iterator[Block]:
        """Records below a header; `tell` is told how many bytes of the file as it lies there have been read."""
        ...


def plain_block(cells: pl.DataFrame, first_record: int, line: pl.Series | None = None) -> Block:
    """Give a block of records with which nothing is wrong."""
    nothing = pl.Series([None], dtype=pl.String).new_from_index(0, cells.height)
    if line is None:
        line = pl.Series("line", [None], dtype=pl.Int64).new_from_index(0, cells.height)
    return Block(cells, nothing, nothing, first_record, line)
