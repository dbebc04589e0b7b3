"""Records of one block to cells: all at once where they are as they should be, one by one where they are not."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl
import pyarrow as pa
from pyarrow import csv as arrow_csv

from pipeline.intake.block import Header
from pipeline.intake.records import Positions, Records

UNPAIRED = "quotation marks that do not pair"
NUL = "a NUL character"

Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Rows:
    """
    Cells of the records of a block.

    Attributes
    ----------
    at : array of int
        Which records these are; a line of nothing but spaces is none.
    cells : frame
        One text column per header, named by position. Rows with a problem hold nulls.
    problem, raw : series of text
        What is wrong with a row, and the row as written; null where nothing is wrong.
    """

    at: Positions
    cells: pl.DataFrame
    problem: pl.Series
    raw: pl.Series


def fields(record: bytes, delimiter: str) -> list[str]:
    """Fields of one record, by Python's csv module; a field beyond any sense leaves the record as one field."""
    text = record.decode(errors="replace")
    try:
        return next(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter), [])
    except csv.Error:
        return [text]


def read_cells(text: bytes, records: Records, wanted: Mask, header: Header) -> Rows:
    """
    Read the wanted records of a block.

    Parameters
    ----------
    text : bytes
        The block.
    records : Records
        Where its records lie.
    wanted : array of bool
        Which of them to read.
    header : Header
        How many fields a record should have, and what parts them.
    """
    problems = dict.fromkeys(np.flatnonzero(wanted & records.broken).tolist(), UNPAIRED)
    problems |= {at: NUL for at in _holding_nul(text, records) if wanted[at]}
    plain = wanted.copy()
    plain[list(problems)] = False
    at = np.flatnonzero(plain)
    table, ragged = _parse(_joined(text, records, plain), at.size, header)
    odd = [_odd_row(text, records, int(at[row]), header) for row in ragged]
    odd += [
        _Odd(n, "", why, text[records.starts[n] : records.ends[n]].decode()) for n, why in problems.items()
    ]
    return _merged(
        pl.DataFrame(table), np.delete(at, ragged), [row for row in odd if row.raw.strip()], header
    )


@dataclass(frozen=True)
class _Odd:
    at: int
    cells: list[str] | str
    problem: str | None
    raw: str


def _holding_nul(text: bytes, records: Records) -> list[int]:
    if b"\0" not in text:
        return []
    nuls = np.flatnonzero(np.frombuffer(text, dtype=np.uint8) == 0)
    nuls = nuls[nuls < records.rest]  # what comes after belongs to the next block
    at = np.unique(np.searchsorted(records.starts, nuls, side="right") - 1)
    return [int(n) for n in at]


def _joined(text: bytes, records: Records, plain: Mask) -> bytes | memoryview:
    """Text of the plain records, without copying where they lie together."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], plain, [False]))))
    runs = [
        memoryview(text)[records.starts[first] : records.ends[last - 1] + 1]
        for first, last in edges.reshape(-1, 2)
    ]
    return runs[0] if len(runs) == 1 else b"".join(runs)


def _parse(text: bytes | memoryview, count: int, header: Header) -> tuple[pa.Table, list[int]]:
    """Parse plain records; gives the rows of the right width and the numbers of the others."""
    names = [str(position) for position in range(len(header.names))]
    if not count:
        return pa.table({name: pa.array([], pa.string()) for name in names}), []
    ragged: list[int] = []

    try:
        table = _parse_at_once(text, names, header.delimiter, ragged)
    except pa.ArrowInvalid:
        table = None
    if table is None or table.num_rows + len(ragged) != count:
        # The quick reader sees other records in this block than the rules give: read it one by one.
        return pa.table({name: pa.array([], pa.string()) for name in names}), list(range(count))
    return table, ragged


def _parse_at_once(text: bytes | memoryview, names: list[str], delimiter: str, ragged: list[int]) -> pa.Table:
    def keep_number(row: arrow_csv.InvalidRow) -> str:
        ragged.append(row.number - 1)
        return "skip"

    return arrow_csv.read_csv(
        pa.BufferReader(pa.py_buffer(text)),
        # One thread: only then are the odd rows numbered.
        read_options=arrow_csv.ReadOptions(column_names=names, use_threads=False, block_size=len(text) + 1),
        parse_options=arrow_csv.ParseOptions(
            delimiter=delimiter, newlines_in_values=True, invalid_row_handler=keep_number
        ),
        convert_options=arrow_csv.ConvertOptions(
            column_types=dict.fromkeys(names, pa.string()), strings_can_be_null=False
        ),
    )


def _odd_row(text: bytes, records: Records, at: int, header: Header) -> _Odd:
    record = text[records.starts[at] : records.ends[at]]
    cells, width = fields(record, header.delimiter), len(header.names)
    raw = record.decode(errors="replace")
    # A spreadsheet often ends every line with delimiters too many; nothing stands in them.
    if len(cells) >= width and not any(cell.strip() for cell in cells[width:]):
        return _Odd(at, cells[:width], None, raw)
    plural = "field" if len(cells) == 1 else "fields"
    return _Odd(at, "", f"{len(cells)} {plural} where the header has {width}", raw)


def _merged(cells: pl.DataFrame, at: Positions, odd: list[_Odd], header: Header) -> Rows:
    nothing = pl.Series([None], dtype=pl.String)
    if not odd:
        return Rows(at, cells, nothing.new_from_index(0, at.size), nothing.new_from_index(0, at.size))
    width = len(header.names)
    rows = [row.cells if isinstance(row.cells, list) else [None] * width for row in odd]
    added = pl.DataFrame(rows, schema=dict.fromkeys(cells.columns, pl.String), orient="row")
    everything = np.concatenate((at, [row.at for row in odd])).astype(np.int64)
    order = np.argsort(everything, kind="stable")
    problem = pl.concat(
        [nothing.new_from_index(0, at.size), pl.Series([row.problem for row in odd], dtype=pl.String)]
    )
    raw = pl.concat(
        [
            nothing.new_from_index(0, at.size),
            pl.Series([row.raw if row.problem else None for row in odd], dtype=pl.String),
        ]
    )
    picked = pl.Series(order)
    return Rows(
        everything[order], pl.concat([cells, added])[order], problem.gather(picked), raw.gather(picked)
    )
