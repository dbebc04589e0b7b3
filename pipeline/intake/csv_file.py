"""CSV files, block by block: every record of the file comes out once, numbered, whatever is wrong with it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np
import numpy.typing as npt
import polars as pl

from pipeline.errors import UnreadableError
from pipeline.intake.block import BLOCK_BYTES, HEADER_AMONG, Block, Header
from pipeline.intake.cells import fields, read_cells
from pipeline.intake.records import Records, find_records
from pipeline.intake.source import Source, Survey
from pipeline.intake.text import text_chunks

DELIMITERS = (",", ";", "\t", "|")
LONGEST_HEADER = 1 << 20
LONGEST_LINE = 1 << 26


@dataclass(frozen=True)
class CsvFile:
    """A CSV file: comma, semicolon, tab or upright stroke between the fields."""

    source: Source
    survey: Survey
    sheet: int | None = None
    title: str | None = None

    def headers(self) -> Sequence[Header]:
        """
        Records that may be the header, each cut at every delimiter that it holds.

        Raises
        ------
        UnreadableError
            If there is none.
        """
        text = b""
        found: list[Header] = []
        for chunk in text_chunks(self.source, self.survey.encoding, 1 << 16):
            text += chunk
            found = _first_records(text, is_last=False)
            if len(text) > LONGEST_HEADER or (found and found[-1].above == HEADER_AMONG - 1):
                return self._some(found)
        return self._some(_first_records(text, is_last=True))

    def _some(self, found: list[Header]) -> list[Header]:
        if not found:
            raise UnreadableError(
                f"{self.source.path} has no header row: one of its first lines must name the columns."
            )
        return found

    def blocks(
        self, header: Header, block_bytes: int = BLOCK_BYTES, tell: Callable[[int], None] | None = None
    ) -> Iterator[Block]:
        """
        Records below the header in blocks; empty lines are no records.

        Parameters
        ----------
        header : Header
            Of the file.
        block_bytes : int
            How much is read at a time; the records do not depend on it.
        tell : callable or None
            Told how many bytes of the file as it lies there have been read.

        Raises
        ------
        UnreadableError
            If a line is so long that the file can be no table.
        """
        reader = _Reader(header)
        rest = b""
        for chunk in text_chunks(self.source, self.survey.encoding, block_bytes, tell):
            rest, block = reader.read(rest + chunk, is_last=False)
            if len(rest) > LONGEST_LINE:
                raise UnreadableError(
                    f"{self.source.path}: line {reader.line + 1} is longer than {LONGEST_LINE >> 20} MB. Is this a table?"
                )
            if block is not None:
                yield block
        _, block = reader.read(rest, is_last=True)
        if block is not None:
            yield block


def _first_records(text: bytes, *, is_last: bool) -> list[Header]:
    """First records of a text in order; of one record, the cut that gives most fields comes first."""
    found = [
        Header(tuple(fields(record, delimiter)), delimiter, above)
        for delimiter in DELIMITERS
        for above, record in enumerate(_filled(text, delimiter, is_last=is_last))
    ]
    return sorted(found, key=lambda header: (header.above, -len(header.names)))


def _filled(text: bytes, delimiter: str, *, is_last: bool) -> Iterator[bytes]:
    records = find_records(text, delimiter, is_last=is_last)
    cut = (text[start:end] for start, end in zip(records.starts.tolist(), records.ends.tolist(), strict=True))
    return islice((record for record in cut if record.strip()), HEADER_AMONG)


class _Reader:
    """Turns blocks of text into blocks of cells, and keeps count."""

    def __init__(self, header: Header) -> None:
        self.header = header
        self.record, self.line = 1, 0
        self.above = header.above + 1  # records to pass by, the header among them

    def read(self, text: bytes, *, is_last: bool) -> tuple[bytes, Block | None]:
        """Read a block; gives the text that belongs to the next block, and the records."""
        records = find_records(text, self.header.delimiter, is_last=is_last)
        first_line, first_record = self.line + 1, self.record
        self.line += text.count(b"\n", 0, records.rest)
        wanted = records.ends > records.starts
        if self.above:
            self._pass_header(text, records, wanted)
        rows = read_cells(text, records, wanted, self.header)
        if not rows.at.size:
            return text[records.rest :], None
        self.record += rows.at.size
        line = first_line + records.lines[rows.at]
        numbered = pl.Series("line", line).set(
            pl.Series(line == np.arange(first_record + 1, self.record + 1)), None
        )
        return text[records.rest :], Block(rows.cells, rows.problem, rows.raw, first_record, numbered)

    def _pass_header(self, text: bytes, records: Records, wanted: npt.NDArray[np.bool_]) -> None:
        for index in np.flatnonzero(wanted).tolist():
            wanted[index] = False
            if text[records.starts[index] : records.ends[index]].strip():
                self.above -= 1
                if not self.above:
                    return
