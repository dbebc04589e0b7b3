"""The sample log as a typed Parquet file, a workbook, and JSON lines with visits and lines inside their jobs."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from datetime import date, datetime
from itertools import groupby
from typing import Any

import pyarrow as pa
import xlsxwriter
from pyarrow import parquet

from pipeline.standard_log import LOG, Column

COLUMNS = {column.name: column for column in LOG}
WHOLE, DECIMAL = {"minutes", "count"}, {"number", "money"}
ARROW = (
    {"moment": pa.timestamp("us"), "day": pa.date32()}
    | dict.fromkeys(WHOLE, pa.int64())
    | dict.fromkeys(DECIMAL, pa.float64())
)
NESTED = (("job", "machine"), ("visit",), ("line",))


def typed(text: str, column: Column) -> Any:
    """A cell as the value it means; nothing for an empty one."""
    if not text:
        return None
    if column.kind == "moment":
        return datetime.fromisoformat(text)
    if column.kind == "day":
        return date.fromisoformat(text)
    if column.kind in WHOLE | DECIMAL:
        return int(text) if column.kind in WHOLE else float(text)
    return text


def typed_rows(log: str) -> list[dict[str, Any]]:
    rows = csv.DictReader(io.StringIO(log))
    return [{name: typed(text, COLUMNS[name]) for name, text in row.items()} for row in rows]


def as_parquet(rows: list[dict[str, Any]]) -> bytes:
    schema = pa.schema([(name, ARROW.get(COLUMNS[name].kind, pa.string())) for name in rows[0]])
    out = io.BytesIO()
    parquet.write_table(pa.Table.from_pylist(rows, schema), out, row_group_size=1000)
    return out.getvalue()


def as_workbook(rows: list[dict[str, Any]]) -> bytes:
    """With a title above the header, days and moments as such, and a sheet that is no log."""
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True})
    book.add_worksheet("Notes").write(0, 0, "What we changed this year")
    sheet = book.add_worksheet("Jobs")
    formats = {
        date: book.add_format({"num_format": "dd/mm/yyyy"}),
        datetime: book.add_format({"num_format": "dd/mm/yyyy hh:mm"}),
    }
    sheet.write(0, 0, "Everything of three years")
    sheet.write_row(2, 0, rows[0])
    for number, row in enumerate(rows, start=3):
        for column, value in enumerate(row.values()):
            if isinstance(value, date):
                sheet.write_datetime(number, column, value, formats[type(value)])
            elif isinstance(value, str):
                sheet.write_string(number, column, value)
            elif value is not None:
                sheet.write_number(number, column, value)
    book.close()
    return out.getvalue()


def as_json_lines(rows: list[dict[str, Any]]) -> bytes:
    return b"".join(json.dumps(job).encode() + b"\n" for job in nested(rows, NESTED))


def nested(rows: list[dict[str, Any]], levels: tuple[tuple[str, ...], ...]) -> Iterator[dict[str, Any]]:
    """Neighbouring rows that agree on all of a level as one record with the rest inside."""
    here, *inside = levels
    names = [name for name in rows[0] if COLUMNS[name].level in here]
    if not inside:
        yield from (present(row, names) for row in rows)
        return
    for _, group in groupby(rows, key=lambda row: [row[name] for name in names]):
        members = list(group)
        yield present(members[0], names) | {f"{inside[0][0]}s": list(nested(members, tuple(inside)))}


def present(row: dict[str, Any], names: list[str]) -> dict[str, Any]:
    return {name: written(row[name]) for name in names if row[name] is not None}


def written(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date) else value
