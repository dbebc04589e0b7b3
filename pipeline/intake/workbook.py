"""
Workbooks (.xlsx): each sheet is a table of its own.

A formula gives the value that was last worked out; a cell that shows an error (#N/A, #DIV/0!) is empty. A value merged
over several rows stands in each of them. Rows and columns that are only hidden from view are read, hidden sheets are not.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import fastexcel
import numpy as np
import polars as pl

from pipeline.errors import UnreadableError
from pipeline.intake.block import BLOCK_BYTES, BLOCK_CELLS, HEADER_AMONG, Block, Header, plain_block
from pipeline.intake.canonical import column_text, uniform_cells
from pipeline.intake.source import Source, Survey
from pipeline.intake.workbook_parts import Parts, SheetPart, damaged, look_over

# The reader below us complains of odd sheets on its own; what a user has to know is said in our words.
logging.getLogger("calamine").addHandler(logging.NullHandler())

# Days before these years are spans and times of day: a workbook counts them all from one first day.
_SPAN = r"^(?:1899|190[0-4])-\d\d-\d\d \d\d:\d\d:\d\d"
_MOMENT = r"^\d{4}-\d\d-\d\d \d\d:"
_FRACTION = r"^\d{4}-\d\d-\d\d \d\d:\d\d:\d\d\.\d+$"
_FIRST_DAY = {False: "1899-12-31", True: "1904-01-01"}
_LEAP_DAY_THAT_NEVER_WAS = "1900-03-01"


def sheets_of(source: Source, survey: Survey) -> tuple[tuple[Sheet, ...], tuple[int, ...]]:
    """
    Sheets of a workbook, and the numbers of the hidden ones among them, which are not read.

    Raises
    ------
    UnreadableError
        If it is no workbook, is damaged, or would not fit into memory, or all sheets are empty.
    """
    parts = look_over(source)
    shown = [n for n, part in enumerate(parts.sheets) if not part.is_hidden]
    sheets = tuple(sheet for n in shown if not (sheet := Sheet(source, survey, n + 1, parts)).is_empty)
    if not sheets:
        raise UnreadableError(f"{source.path} holds no sheet with anything in it.")
    return sheets, tuple(n for n, part in enumerate(parts.sheets, start=1) if part.is_hidden)


@dataclass(frozen=True)
class Sheet:
    """One sheet of a workbook, in memory only while it is read."""

    source: Source
    survey: Survey
    sheet: int
    parts: Parts

    @property
    def _part(self) -> SheetPart:
        return self.parts.sheets[self.sheet - 1]

    @property
    def title(self) -> str | None:
        """Its name, which may be somebody's."""
        return self._part.title

    @property
    def is_empty(self) -> bool:
        """Whether nothing stands in it."""
        return not self._first_rows

    def headers(self) -> Sequence[Header]:
        """
        First filled rows: any of them may name the columns.

        Raises
        ------
        UnreadableError
            If the sheet cannot be read.
        """
        return [Header(row, above=above) for above, row in enumerate(self._first_rows)]

    @cached_property
    def _first_rows(self) -> list[tuple[str, ...]]:
        cells, rows = self._cells()
        return cells[rows[:HEADER_AMONG]].rows()

    def blocks(
        self, header: Header, block_bytes: int = BLOCK_BYTES, tell: Callable[[int], None] | None = None
    ) -> Iterator[Block]:
        """Rows below the header in blocks; `line` is the row's number in the sheet."""
        cells, rows = self._cells()
        rows = rows[header.above + 1 :]
        most = max(1, min(BLOCK_CELLS, block_bytes // 8) // max(1, cells.width))
        for start in range(0, rows.size, most):
            at = rows[start : start + most]
            numbers = np.arange(start + 1, start + at.size + 1)
            line = pl.Series("line", at + 1).set(pl.Series(at == numbers), None)
            yield plain_block(cells[at], start + 1, line)
            if tell is not None:
                tell(self.survey.packed_size * (start + at.size) // rows.size)

    def _cells(self) -> tuple[pl.DataFrame, np.ndarray]:
        """All cells as text, and the 0-based numbers of the rows with something in them."""
        place = str(self.source.path) if self.source.content is None else self.source.content
        try:
            loaded = fastexcel.read_excel(place).load_sheet(
                self.sheet - 1, header_row=None, skip_rows=0, dtypes="string"
            )
            frame = loaded.to_polars()
        except fastexcel.FastExcelError:
            raise damaged(self.source) from None
        frame.columns = [str(n) for n in range(frame.width)]
        cells = _merged(_texts(frame, self.parts), self._part)
        filled = cells.select(pl.any_horizontal(pl.all().str.strip_chars() != "")).to_series()
        return cells, filled.arg_true().to_numpy()


def _texts(frame: pl.DataFrame, parts: Parts) -> pl.DataFrame:
    cells = frame.select(pl.all().cast(pl.String).fill_null(""))
    for name in _some(cells, pl.all().str.contains(_MOMENT)):
        column = _replaced(
            cells.get_column(name), _SPAN, lambda at: _spans(at, counts_from_1904=parts.counts_from_1904)
        )
        cells = cells.with_columns(_replaced(column, _FRACTION, _whole_seconds))
    truths = _some(cells, pl.all().is_in(["true", "false"]))
    cells = cells.with_columns(pl.col(truths).replace({"true": "yes", "false": "no"}))
    return uniform_cells(cells)


def _some(cells: pl.DataFrame, holds: pl.Expr) -> list[str]:
    """Names of the columns in which something holds of a cell."""
    return [column.name for column in cells.select(holds.any()) if column.item()]


def _replaced(cells: pl.Series, pattern: str, text: Callable[[pl.Series], pl.Series]) -> pl.Series:
    at = cells.str.contains(pattern).arg_true()
    return cells.clone().scatter(at, text(cells.gather(at))) if len(at) else cells


def _spans(cells: pl.Series, *, counts_from_1904: bool) -> pl.Series:
    """Moments of the first days as what they are: hours and minutes since the first day began."""
    frame = cells.to_frame("c").select(pl.col("c").str.to_datetime(time_unit="us", strict=False))
    first = pl.lit(_FIRST_DAY[counts_from_1904]).str.to_datetime(time_unit="us")
    # A workbook that counts from 1900 has a 29 February in it, which its reader takes out again.
    taken_out = (
        pl.when(
            pl.lit(not counts_from_1904) & (pl.col("c") >= pl.lit(_LEAP_DAY_THAT_NEVER_WAS).str.to_datetime())
        )
        .then(pl.duration(days=1))
        .otherwise(pl.duration(days=0))
    )
    spans = frame.select(pl.col("c").dt.round("1s") - first + taken_out).to_series()
    return column_text(spans)


def _whole_seconds(cells: pl.Series) -> pl.Series:
    """Moments without the thousandth of a second by which a fraction of a day misses them."""
    moment = cells.str.to_datetime("%Y-%m-%d %H:%M:%S%.f", time_unit="ms", strict=False)
    frame = pl.DataFrame({"is": moment, "near": moment.dt.round("1s")})
    off = (pl.col("is") - pl.col("near")).dt.total_milliseconds().abs()
    return column_text(frame.select(pl.when(off <= 1).then("near").otherwise("is")).to_series())


def _merged(cells: pl.DataFrame, part: SheetPart) -> pl.DataFrame:
    """Cells with each value that is merged over several rows in every one of them."""
    first_column, last_column = part.columns
    if not part.merged or cells.width != last_column - first_column + 1:
        return cells
    filled: dict[int, dict[int, str]] = {}
    for top, left, bottom, _ in part.merged:
        at = left - first_column
        if 0 <= at < cells.width and top <= cells.height and (value := cells.item(top - 1, at)):
            filled.setdefault(at, {}).update(dict.fromkeys(range(top, min(bottom, cells.height)), value))
    return cells.with_columns(
        cells.to_series(at).clone().scatter(list(values), list(values.values()))
        for at, values in filled.items()
    )
