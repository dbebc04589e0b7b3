"""CSV files, block by block: every record of the file comes out once, numbered, whatever is wrong with it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

from pipeline.errors import UnreadableError
from pipeline.intake.cells import Header, fields, read_cells
from pipeline.intake.records import Records, find_records
from pipeline.intake.source import Source, Survey
from pipeline.intake.text import text_chunks

BLOCK_BYTES = 1 << 23
DELIMITERS = (",", ";", "\t")
LONGEST_HEADER = 1 << 20
LONGEST_LINE = 1 << 26


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
        Physical line of each record, where it is not simply the record number plus one; else null.
    """

    cells: pl.DataFrame
    problem: pl.Series
    raw: pl.Series
    first_record: int
    line: pl.Series


def read_header(source: Source, survey: Survey) -> Header:
    """
    Header of a CSV file; the delimiter is the one that gives most fields.

    Raises
    ------
    UnreadableError
        If there is none.
    """
    text = b""
    for chunk in text_chunks(source, survey.encoding, 1 << 16):
        text += chunk
        found = _first_record(text, is_last=False)
        if found is not None:
            return found
        if len(text) > LONGEST_HEADER:
            break
    found = _first_record(text, is_last=True)
    if found is None or len(text) > LONGEST_HEADER:
        raise UnreadableError(f"{source.path} has no header row: its first line must name the columns.")
    return found


def _first_record(text: bytes, *, is_last: bool) -> Header | None:
    best: Header | None = None
    for delimiter in DELIMITERS:
        records = find_records(text, delimiter, is_last=is_last)
        for start, end in zip(records.starts.tolist(), records.ends.tolist(), strict=True):
            if text[start:end].strip():
                header = Header(tuple(fields(text[start:end], delimiter)), delimiter)
                if best is None or len(header.names) > len(best.names):
                    best = header
                break
    return best


def read_blocks(
    source: Source,
    survey: Survey,
    header: Header,
    block_bytes: int = BLOCK_BYTES,
    tell: Callable[[int], None] | None = None,
) -> Iterator[Block]:
    """
    Records of a CSV file in blocks; the header and empty lines are no records.

    Parameters
    ----------
    source, survey, header
        The file and what is known of it.
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
    for chunk in text_chunks(source, survey.encoding, block_bytes, tell):
        rest, block = reader.read(rest + chunk, is_last=False)
        if len(rest) > LONGEST_LINE:
            raise UnreadableError(
                f"{source.path}: line {reader.line + 1} is longer than {LONGEST_LINE >> 20} MB. Is this a table?"
            )
        if block is not None:
            yield block
    _, block = reader.read(rest, is_last=True)
    if block is not None:
        yield block


class _Reader:
    """Turns blocks of text into blocks of cells, and keeps count."""

    def __init__(self, header: Header) -> None:
        self.header = header
        self.record, self.line, self.is_past_header = 1, 0, False

    def read(self, text: bytes, *, is_last: bool) -> tuple[bytes, Block | None]:
        """Read a block; gives the text that belongs to the next block, and the records."""
        records = find_records(text, self.header.delimiter, is_last=is_last)
        first_line, first_record = self.line + 1, self.record
        self.line += text.count(b"\n", 0, records.rest)
        wanted = records.ends > records.starts
        if not self.is_past_header:
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
                self.is_past_header = True
                return
