"""
The small files that are mutated: some lines of the sample log, in every kind of file that mendstat reads.

A sample is a header and rows of cells, and a writer that makes the bytes of a file of them. In the exports every customer
has a name and a telephone number; in the standard log they are planted, in notes and as sites. None of it may ever stand
in a message.
"""

from __future__ import annotations

import csv
import gzip
import io
import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pyarrow as pa
import xlsxwriter
from pyarrow import parquet

from sample_logs import standard_files
from sample_logs.exports import json_lines, notebook, spreadsheet, visit_sheet
from sample_logs.exports.people import person
from tests.intake.four_formats import ARROW, COLUMNS, typed_rows

LINES = 60
ENCODING = "utf-8"
Cells = list[Any]
Write = Callable[[Sequence[Any], Sequence[Cells]], bytes]


@dataclass(frozen=True)
class Sample:
    """
    A small file that can be mutated.

    Attributes
    ----------
    name : str
        What the file is called.
    form : str
        delimited, packed, json, workbook or parquet.
    header, rows
        Its cells: texts, or typed values where the kind of file has them.
    write : callable
        Bytes of a file of a header and rows.
    delimiter : str
        What parts the fields, in a text.
    people : frozenset of str
        What may never stand in a message.
    """

    name: str
    form: str
    header: tuple[str, ...]
    rows: tuple[tuple[Any, ...], ...]
    write: Write = field(repr=False)
    delimiter: str = ","
    people: frozenset[str] = frozenset()

    @property
    def content(self) -> bytes:
        """The file as it is before anything is done to it."""
        return self.write(self.header, [list(row) for row in self.rows])


def delimited(delimiter: str, *, start: bytes = b"", line_end: str = "\n") -> Write:
    """A writer of delimited text."""

    def write(header: Sequence[Any], rows: Sequence[Cells]) -> bytes:
        lines = (delimiter.join(_quoted(cell, delimiter) for cell in cells) for cells in [header, *rows])
        return start + "".join(line + line_end for line in lines).encode()

    return write


def _quoted(cell: Any, delimiter: str) -> str:
    """A field, in marks where it needs them; Python's writer forgets the line end that is a carriage return alone."""
    text = str(cell)
    return '"' + text.replace('"', '""') + '"' if set(text) & {delimiter, '"', "\r", "\n"} else text


def packed(write: Write) -> Write:
    """The same, packed with gzip."""
    return lambda header, rows: gzip.compress(write(header, rows), mtime=0)


def json_of_rows(header: Sequence[Any], rows: Sequence[Cells]) -> bytes:
    """One flat object a line; an empty cell is left out."""
    lines = (
        {str(name): cell for name, cell in zip(header, row, strict=True) if cell not in (None, "")}
        for row in rows
    )
    return "".join(json.dumps(line, default=_iso, ensure_ascii=False) + "\n" for line in lines).encode()


def json_of_jobs(_header: Sequence[Any], rows: Sequence[Cells]) -> bytes:
    """One nested object a line: each row has one cell, the object."""
    return "".join(json.dumps(row[0], ensure_ascii=False) + "\n" for row in rows).encode()


def workbook(titles: Sequence[str] = ()) -> Write:
    """A writer of a sheet with titles above its header."""

    def write(header: Sequence[Any], rows: Sequence[Cells]) -> bytes:
        out = io.BytesIO()
        options = {"in_memory": True, "strings_to_numbers": False, "nan_inf_to_errors": True}
        with xlsxwriter.Workbook(out, options) as book:
            book.set_properties({"created": datetime(2026, 3, 2)})
            day = book.add_format({"num_format": "dd.mm.yyyy hh:mm"})
            sheet = book.add_worksheet("Jobs")
            for number, cells in enumerate([*([title] for title in titles), header, *rows]):
                for place, cell in enumerate(cells):
                    _write_cell(sheet, number, place, cell, day)
        return out.getvalue()

    return write


def _write_cell(sheet: Any, number: int, place: int, cell: Any, day: Any) -> None:
    if isinstance(cell, datetime | date):
        if cell.year >= 1900:
            sheet.write_datetime(number, place, cell, day)
        else:
            sheet.write_string(number, place, cell.isoformat())  # no workbook knows such a day
    elif isinstance(cell, int | float):
        sheet.write_number(number, place, cell)
    elif cell:
        sheet.write_string(number, place, str(cell)[:32_767])  # as much as a cell holds


def table_of(header: Sequence[Any], rows: Sequence[Cells]) -> bytes:
    """A Parquet file; a column that holds more than one type is written as text."""
    columns = [[row[place] for row in rows] for place in range(len(header))]
    arrays = [_array(str(name), column) for name, column in zip(header, columns, strict=True)]
    out = io.BytesIO()
    parquet.write_table(pa.Table.from_arrays(arrays, names=[str(n) for n in header]), out, row_group_size=25)
    return out.getvalue()


def _array(name: str, cells: Cells) -> pa.Array:
    kind = ARROW.get(COLUMNS[name].kind, pa.string()) if name in COLUMNS else pa.string()
    try:
        return pa.array(cells, kind)
    except (pa.ArrowException, ValueError, TypeError, OverflowError):
        return pa.array([None if cell is None else _iso(cell) for cell in cells], pa.string())


def _iso(cell: Any) -> str:
    return cell.isoformat() if isinstance(cell, date) else str(cell)


@cache
def samples() -> dict[str, Sample]:
    """All samples by name."""
    return {sample.name: sample for sample in _samples()}


def _samples() -> Iterator[Sample]:
    with standard_files()["log"].open(encoding=ENCODING, newline="") as file:
        log = [row for row, _ in zip(csv.DictReader(file), range(LINES), strict=False)]
    people = _plant(log)
    header = tuple(log[0])
    texts = tuple(tuple(row.values()) for row in log)
    plain = {"header": header, "rows": texts, "people": people}
    yield Sample("comma.csv", "delimited", write=delimited(","), **plain)
    yield Sample("tab.tsv", "delimited", write=delimited("\t"), delimiter="\t", **plain)
    yield Sample("packed.csv.gz", "packed", write=packed(delimited(",")), **plain)
    values = tuple(
        tuple(row.values()) for row in typed_rows(delimited(",")(header, list(map(list, texts))).decode())
    )
    plain["rows"] = values
    yield Sample("typed.xlsx", "workbook", write=workbook(["Everything of three years"]), **plain)
    yield Sample("typed.parquet", "parquet", write=table_of, **plain)
    yield Sample("flat.jsonl", "json", write=json_of_rows, **plain)
    yield from _exports(log)


def _plant(log: list[dict[str, str]]) -> frozenset[str]:
    """Put a customer's name and telephone number where a firm would write them."""
    for number, row in enumerate(log):
        if number % 7 == 0:
            who = person(row["site_id"])
            row["note"] = f"{who.name}, {who.telephone}, {who.way_in}"
            row["site_id"] = f"{who.name} {who.telephone}"
    return frozenset(mark for row in log for mark in person(row["site_id"]).marks if row["note"])


def _exports(log: list[dict[str, str]]) -> Iterator[Sample]:
    people = frozenset(mark for row in log for mark in person(row["site_id"]).marks)
    with TemporaryDirectory() as name:
        folder = Path(name)
        for export in (visit_sheet, notebook, json_lines):
            export.write(log, folder)
        for file, delimiter, write in (
            (visit_sheet.FILE, ";", delimited(";", start=b"\xef\xbb\xbf", line_end="\r\n")),
            (notebook.FILE, ",", delimited(",")),
        ):
            with (folder / file).open(encoding="utf-8-sig", newline="") as read:
                header, *rows = csv.reader(read, delimiter=delimiter)
            cells = tuple(map(tuple, rows))
            yield Sample(file, "delimited", tuple(header), cells, write, delimiter, people)
        with (folder / json_lines.FILE).open(encoding=ENCODING) as read:
            jobs = tuple((json.loads(line),) for line in read)
        yield Sample(json_lines.FILE, "json", ("job",), jobs, json_of_jobs, people=people)
    written, _ = spreadsheet._rows(log)
    rows = tuple(tuple(cells.values()) for cells, _ in written)
    yield Sample(
        spreadsheet.FILE, "workbook", spreadsheet.HEADERS, rows, workbook(spreadsheet.TITLE), people=people
    )
