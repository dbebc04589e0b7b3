"""Parquet files: row groups to blocks of text cells."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import polars as pl
import pyarrow as pa
from pyarrow import parquet

from pipeline.errors import UnreadableError
from pipeline.intake.block import BLOCK_BYTES, BLOCK_CELLS, Block, Header, plain_block
from pipeline.intake.canonical import column_text, uniform
from pipeline.intake.source import Source, Survey

BUFFER = 1 << 20  # bytes of a column that are held at a time
_NO_CELLS = "; write one row for each line of work and one value in each cell, then load that."


@dataclass(frozen=True)
class ParquetFile:
    """A Parquet file; its rows have numbers, but no lines."""

    source: Source
    survey: Survey
    sheet: int | None = None
    title: str | None = None

    def headers(self) -> Sequence[Header]:
        """
        Names of the columns.

        Raises
        ------
        UnreadableError
            If the file is damaged, or a column holds something that is no cell.
        """
        try:
            schema = self._opened().schema_arrow
            names = tuple(schema.names)
        except UnicodeDecodeError:
            raise self._damaged() from None
        if not names:
            raise UnreadableError(f"{self.source.path} has no columns.")
        for position, field in enumerate(schema, start=1):
            if (strange := _strange(field.type)) is not None:
                raise UnreadableError(
                    f"{self.source.path}: the cells of column {position} hold {strange}{_NO_CELLS}"
                )
        return [Header(names)]

    def blocks(
        self, header: Header, block_bytes: int = BLOCK_BYTES, tell: Callable[[int], None] | None = None
    ) -> Iterator[Block]:
        """Rows in blocks, in the order of the file; how many at a time depends on how many columns there are."""
        cells = min(BLOCK_CELLS, max(1, block_bytes // 8))
        file = self._opened()
        done = 0
        batches = file.iter_batches(max(1, cells // len(header.names)), use_threads=False)
        while (batch := self._next(batches)) is not None:
            if batch.num_rows:
                yield plain_block(_texts(batch), done + 1)
            done += batch.num_rows
            if tell is not None:
                tell(self.survey.packed_size * done // max(1, file.metadata.num_rows))
        if done != file.metadata.num_rows:
            # Rows that it promises and has not would be lost without a word.
            raise self._damaged()

    def _opened(self) -> parquet.ParquetFile:
        place = self.source.path if self.source.content is None else pa.BufferReader(self.source.content)
        try:
            return parquet.ParquetFile(place, buffer_size=BUFFER, pre_buffer=False)
        except (pa.ArrowException, OSError):
            raise self._damaged() from None

    def _next(self, batches: Iterator[pa.RecordBatch]) -> pa.RecordBatch | None:
        try:
            batch = next(batches, None)
            if batch is not None:
                # Texts that are none would not be noticed later, but do harm there.
                batch.validate(full=True)
        except (pa.ArrowException, OSError):
            raise self._damaged() from None
        return batch

    def _damaged(self) -> UnreadableError:
        return UnreadableError(
            f"{self.source.path} is a Parquet file, but damaged or cut off. Fetch it again, then load it again."
        )


def _strange(kind: pa.DataType) -> str | None:
    """What the cells of a column hold that is no single value."""
    if pa.types.is_dictionary(kind):
        return _strange(kind.value_type)
    if pa.types.is_struct(kind):
        return "records"
    if pa.types.is_nested(kind):
        return "lists"
    return "values of no known type" if pa.types.is_interval(kind) else None


def _texts(batch: pa.RecordBatch) -> pl.DataFrame:
    return pl.DataFrame([_text(column).alias(str(n)) for n, column in enumerate(batch.columns)])


def _text(column: Any) -> pl.Series:
    if isinstance(column, pa.ExtensionArray):
        column = column.storage
    kind = column.type
    if pa.types.is_dictionary(kind):
        return _text(column.dictionary_decode())
    # Two kinds that polars does not know or would take for text.
    if pa.types.is_decimal256(kind):
        return uniform(column_text(_texts_of(column, lambda value: f"{value:f}")))
    if pa.types.is_fixed_size_binary(kind):
        return column_text(_texts_of(column, lambda value: value.hex()))
    return column_text(pl.Series(pl.from_arrow(column)))


def _texts_of(column: Any, text: Callable[[Any], str]) -> pl.Series:
    return pl.Series(
        [None if value is None else text(value) for value in column.to_pylist()], dtype=pl.String
    )
